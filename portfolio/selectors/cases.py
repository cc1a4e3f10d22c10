"""Cases for lists: the deleted ones, and the key list to print."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from portfolio.access import Asker, deleted_cases, visible_cases, visible_patients
from portfolio.models import Portfolio
from portfolio.services.retention import KEPT_AFTER_DELETION


@dataclass(frozen=True, slots=True)
class DeletedCase:
    """A case among the deleted ones, and when it will be erased for good."""

    public_id: UUID
    code: str
    patient_code: str
    deleted_at: datetime
    erased_at: datetime


@dataclass(frozen=True, slots=True)
class KeyLine:
    """One line of the key list; the name is filled in by pen and never stored."""

    patient_code: str
    case_codes: str
    locator: str


def deleted_list(user: Asker, portfolio: Portfolio) -> tuple[DeletedCase, ...]:
    """Cases of a portfolio its owner has deleted, the last one first."""
    rows = deleted_cases(user).filter(patient__portfolio=portfolio).select_related("patient")
    return tuple(
        DeletedCase(
            one.public_id, one.code, one.patient.code, one.deleted_at, one.deleted_at + KEPT_AFTER_DELETION
        )
        for one in rows.order_by("-deleted_at")
        if one.deleted_at is not None
    )


def key_list(user: Asker, portfolio: Portfolio) -> tuple[KeyLine, ...]:
    """Coded patients with their case codes and locators, by code."""
    codes: defaultdict[int, list[str]] = defaultdict(list)
    for patient, code in visible_cases(user).values_list("patient_id", "code").order_by("code"):
        codes[patient].append(code)
    rows = visible_patients(user).filter(portfolio=portfolio).order_by("code")
    return tuple(KeyLine(one.code, ", ".join(codes[one.pk]), one.locator) for one in rows)
