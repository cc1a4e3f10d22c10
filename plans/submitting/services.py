"""Writing: a submission with everything it freezes, in one transaction; what came back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from accounts.models import User
from plans.models import PlanVersion
from plans.submitting.access import visible_submissions
from plans.submitting.frozen import digest, whole_digest
from plans.submitting.models import Submission, SubmissionResult, SubmittedCase
from portfolio.models import Case, Portfolio
from portfolio.services.saving import make_once


@dataclass(frozen=True, slots=True)
class Part:
    """One case to be frozen in its slot."""

    case: Case
    slot: str
    frozen: Mapping[str, Any]


def freeze(
    by: User,
    portfolio: Portfolio,
    version: PlanVersion,
    session: str,
    submitted_on: date,
    head: Mapping[str, Any],
    parts: Sequence[Part],
    public_id: UUID,
    at: datetime,
) -> Submission:
    """Keep a submission; the same form sent again gives the one it made before."""

    def make() -> Submission:
        digests = [digest(part.frozen) for part in parts]
        row = Submission(
            public_id=public_id,
            portfolio=portfolio,
            plan_version=version,
            session=session,
            submitted_on=submitted_on,
            made_by=by,
            made_at=at,
            head=dict(head),
            parts=len(parts),
            digest=whole_digest(head, digests),
        )
        row.full_clean(exclude=["public_id"])
        row.save(force_insert=True)
        SubmittedCase.objects.bulk_create(
            SubmittedCase(
                submission=row,
                case=part.case,
                slot=part.slot,
                place=place,
                frozen=dict(part.frozen),
                digest=mine,
            )
            for place, (part, mine) in enumerate(zip(parts, digests, strict=True), start=1)
        )
        return row

    with transaction.atomic():
        return make_once(visible_submissions(by), public_id, make)


def type_result(
    by: User,
    submitted: SubmittedCase,
    state: str,
    note: str,
    points: Mapping[str, Mapping[str, str]],
    at: datetime,
) -> SubmissionResult:
    """What came back for a case; the same again adds no row. Raises ValidationError."""
    rows = SubmissionResult.objects.filter(submitted=submitted)
    newest: SubmissionResult | None = rows.order_by("-at", "-pk").first()
    told = {index: dict(one) for index, one in points.items() if one}
    if newest and (newest.state, newest.note, newest.points) == (state, note, told):
        return newest
    row = SubmissionResult(submitted=submitted, state=state, note=note, points=told, typed_by=by, at=at)
    row.full_clean()
    row.save(force_insert=True)
    return row
