"""Kinds of jobs: rooms above name theirs in the setting JOB_KINDS, each as the dotted name of a `Kind`."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.utils.module_loading import import_string

from filing.models import StoredFile
from jobs.handle import JobHandle
from jobs.models import Job


class UnknownKind(LookupError):
    """No room offers this kind of job."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of work.

    `label` names it on pages ("Print of one case"). `work` does it and gives the stored result, if there is one;
    it raises JobFailed with words for what the person can mend. `page` gives the address of the page of a subject.
    `again` asks anew for what an ended job was about as it is now, and raises JobFailed with words; without it the same
    inputs are asked for. `withheld` says why a result may not be handed out any more, empty while it may.
    """

    key: str
    label: str
    work: Callable[[JobHandle], StoredFile | None]
    page: Callable[[str], str] | None = None
    again: Callable[[Job, datetime], Job] | None = None
    withheld: Callable[[Job, datetime], str] | None = None


def kind(key: str) -> Kind:
    """The kind of this key; raises UnknownKind."""
    for name in settings.JOB_KINDS:
        found: Kind = import_string(name)
        if found.key == key:
            return found
    raise UnknownKind(key)
