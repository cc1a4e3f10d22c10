"""Which tracing repeats which.

Fields and constraints only: writing is in `repeats.services`, reading in `repeats.selectors`.
"""

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from imaging.tracing.models import Tracing


class RepeatTracing(models.Model):
    """A tracing made again, blind to the first; its order is `tracing.repeat`.

    `first_then` is the first tracing as it stood when this one was begun (`points`, `forward`, `mandibular_plane`,
    `version`): a change made after a look at the repeat does not enter the pair.
    """

    tracing = models.OneToOneField(Tracing, on_delete=models.CASCADE, related_name="as_repeat")
    first = models.ForeignKey(Tracing, on_delete=models.CASCADE, related_name="repeats")
    first_then = models.JSONField()
    begun_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(finished_at__isnull=True) | Q(finished_at__gte=F("begun_at")),
                name="repeat_tracing_finished_after_begun",
            ),
            models.CheckConstraint(condition=~Q(tracing=F("first")), name="repeat_tracing_of_another"),
        ]

    def __str__(self) -> str:
        return f"repeat {self.tracing_id} of {self.first_id}"
