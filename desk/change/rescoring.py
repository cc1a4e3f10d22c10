"""Standing scores of a caseload that are no longer those of their sheets: worked out at once, or as a job."""

from collections.abc import Sequence
from datetime import datetime

from django.urls import reverse

from accounts.models import User
from jobs import services
from jobs.handle import JobHandle
from jobs.models import Job
from jobs.registry import Kind
from portfolio.access import visible_sheets
from portfolio.models import SheetPurpose
from scoring.selectors import caseload, sheet_frames, standing_scores

KEY = "rescoring"
AT_ONCE = 200
"""Up to so many scores a page works out itself; more are a job."""
TOGETHER = 100
"""Sheets read at one time by the job, so that memory stays small."""


def stale_sheets(user: User, index: str) -> list[int]:
    """Primary keys of the person's working sheets whose standing score by an index no longer holds."""
    sheets = visible_sheets(user).filter(purpose=SheetPurpose.WORKING)
    return [pk for pk, _ in caseload(sheets, sheet_frames(sheets), (index,)).stale]


def score_anew(user: User, index: str, pks: Sequence[int]) -> None:
    """Work the standing scores of sheets out and store them."""
    rows = visible_sheets(user).filter(pk__in=pks).select_related("record_set__case__patient")
    standing_scores(list(rows), index)


def ask(by: User, index: str, at: datetime) -> Job:
    """The job that works out every score of the person by an index; one for a double click."""
    return services.ask(by, KEY, index, index, at)


def _work(handle: JobHandle) -> None:
    index = handle.subject
    waiting = stale_sheets(handle.asked_by, index)
    for start in range(0, len(waiting), TOGETHER):
        handle.progress(100 * start // len(waiting), f"{start} of {len(waiting)} scores")
        score_anew(handle.asked_by, index, waiting[start : start + TOGETHER])


def _page(subject: str) -> str:
    return f"{reverse('desk:changes')}?index={subject}"


RESCORING = Kind(KEY, "Scores of the caseload", _work, _page)
