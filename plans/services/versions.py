"""Keeping the draft of a plan as a version that is never changed."""

from datetime import datetime

from django.db import transaction

from accounts.models import User
from plans import plan_file
from plans.models import Plan, PlanVersion
from portfolio.services.saving import ChangedMeanwhile, checked


class NothingNew(Exception):
    """The draft says the same as the newest version; carries that version."""

    def __init__(self, version: PlanVersion) -> None:
        self.version = version
        super().__init__(f"nothing differs from version {version.number}")


def keep_version(by: User, row: Plan, seen_version: int, note: str, at: datetime) -> PlanVersion:
    """Keep the draft as the next version.

    Raises ChangedMeanwhile where the draft is no longer the one the page had shown, and NothingNew.
    """
    with transaction.atomic():
        locked = Plan.objects.select_for_update().get(pk=row.pk)
        if locked.version != seen_version:
            raise ChangedMeanwhile
        newest = locked.versions.order_by("number").last()
        kept = _version(by, locked, newest.number + 1 if newest else 1, note, at)
        if newest and newest.digest == kept.digest:
            raise NothingNew(newest)
        kept.save(force_insert=True)
    return kept


def first_version(by: User, row: Plan, note: str, at: datetime) -> PlanVersion:
    """Version 1 of a plan that was made in the same transaction."""
    kept = _version(by, row, 1, note, at)
    kept.save(force_insert=True)
    return kept


def _version(by: User, row: Plan, number: int, note: str, at: datetime) -> PlanVersion:
    plan = plan_file.read_plan(row.draft)
    return checked(
        PlanVersion(
            plan=row,
            number=number,
            document=plan_file.as_json(plan),
            digest=plan_file.digest(plan),
            made_by=by,
            made_at=at,
            note=note,
        )
    )
