"""Which case a stored file belongs to, for the administrator's health check."""

from collections.abc import Sequence

from django.db.models import Q

from portfolio.models import RecordItem


def cases_of_files(files: Sequence[int]) -> dict[int, str]:
    """`case CODE` by the primary key of each stored file that is an original or a rendition of a case's picture.

    Case codes are random and name nobody; deleted cases are among them, because their bytes are still kept.
    """
    rows = RecordItem.objects.filter(
        Q(file__in=files) | Q(screen_file__in=files) | Q(print_file__in=files)
    ).values_list("file", "screen_file", "print_file", "record_set__case__code")
    wanted = set(files)
    return {file: f"case {code}" for *three, code in rows for file in three if file in wanted}
