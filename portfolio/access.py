"""Who may see which rows: the one door to other people's records.

Every function takes the person who asks and gives a queryset. Only the owner of a portfolio sees what is
in it; being the administrator of the installation opens nobody's records. Cases their owner has deleted,
and everything that hangs on them, are seen only through `deleted_cases`.
"""

from typing import TypeAlias

from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet

from accounts.models import User
from portfolio.models import (
    Case,
    Consent,
    ItemKind,
    Patient,
    Portfolio,
    RecordItem,
    RecordSet,
    Sheet,
    SheetPurpose,
)

Asker: TypeAlias = User | AnonymousUser
"""Whoever sent the request, signed in or not."""


def _number(user: Asker) -> int | None:
    """Primary key of somebody who may see anything at all, else None."""
    return user.pk if isinstance(user, User) and user.is_active else None


def visible_portfolios(user: Asker) -> QuerySet[Portfolio]:
    """Portfolios the person owns."""
    return Portfolio.objects.filter(owner=number) if (number := _number(user)) else Portfolio.objects.none()


def visible_patients(user: Asker) -> QuerySet[Patient]:
    """Coded patients in the person's portfolios."""
    return Patient.objects.filter(portfolio__in=visible_portfolios(user))


def visible_consents(user: Asker) -> QuerySet[Consent]:
    """Consents of the person's coded patients."""
    return Consent.objects.filter(patient__portfolio__in=visible_portfolios(user))


def visible_cases(user: Asker) -> QuerySet[Case]:
    """Cases in the person's portfolios that are not deleted."""
    return Case.objects.filter(patient__portfolio__in=visible_portfolios(user), deleted_at__isnull=True)


def deleted_cases(user: Asker) -> QuerySet[Case]:
    """Cases the owner has deleted and may restore or erase."""
    return Case.objects.filter(patient__portfolio__in=visible_portfolios(user), deleted_at__isnull=False)


def visible_record_sets(user: Asker) -> QuerySet[RecordSet]:
    """Record sets of visible cases."""
    return RecordSet.objects.filter(case__in=visible_cases(user))


def visible_sheets(user: Asker) -> QuerySet[Sheet]:
    """Sheets on visible record sets but repeats, which `portfolio.repeating.access` shows on their own pages alone."""
    return Sheet.objects.filter(record_set__in=visible_record_sets(user)).exclude(purpose=SheetPurpose.REPEAT)


def visible_items(user: Asker) -> QuerySet[RecordItem]:
    """Pictures of visible record sets, and what is stated of views; neither casts nor papers."""
    return visible_records(user).filter(kind=ItemKind.PHOTOGRAPH)


def visible_records(user: Asker) -> QuerySet[RecordItem]:
    """All records of visible record sets: pictures, casts, papers."""
    return RecordItem.objects.filter(record_set__in=visible_record_sets(user))
