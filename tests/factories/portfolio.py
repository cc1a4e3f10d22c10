"""Rows of the portfolio room for tests, made through the services a page would use."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

import factory

from accounts.models import User
from portfolio import services
from portfolio.models import Case, Consent, Finding, Patient, Portfolio, RecordSet, Sheet
from portfolio.services import Changed, Recorded, Refused
from tests.factories.accounts import PersonFactory

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


class PortfolioFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Portfolio

    owner = factory.SubFactory(PersonFactory)
    name = "Harbour portfolio"


class PatientFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Patient

    portfolio = factory.SubFactory(PortfolioFactory)


class ConsentFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Consent

    patient = factory.SubFactory(PatientFactory)
    purposes = factory.LazyFunction(lambda: ["examination"])
    media = factory.LazyFunction(lambda: ["mouth", "casts"])
    signer = "patient"
    signed_on = NOON.date()


def case_of(owner: User, **start: Any) -> Case:
    """A case with its first record set and an empty working sheet."""
    portfolio = Portfolio.objects.filter(owner=owner).first() or PortfolioFactory(owner=owner)
    return services.create_case(owner, portfolio, services.CaseStart(**start))


def deleted_case_of(owner: User) -> Case:
    """A case its owner has deleted."""
    case = case_of(owner)
    services.delete_case(case, NOON)
    return case


def record_set_of(case: Case) -> RecordSet:
    return case.record_sets.order_by("pk")[0]


def sheet_of(owner: User, **start: Any) -> Sheet:
    """The empty working sheet of a new case."""
    return Sheet.objects.get(record_set__case=case_of(owner, **start))


def save(sheet: Sheet, *entries: services.Entry, by: User | None = None, key: str = "") -> services.Answer:
    """Record entries as the sheet's reader, with a fresh request key unless one is given."""
    return services.record_findings(by or sheet.reader, sheet, entries, key or uuid.uuid4().hex, NOON)


def recorded(answer: services.Answer) -> Recorded:
    """The answer, which must be that everything was saved."""
    assert isinstance(answer, Recorded), answer
    return answer


def refused(answer: services.Answer) -> Refused:
    """The answer, which must be a refusal."""
    assert isinstance(answer, Refused), answer
    return answer


def changed(answer: services.Answer) -> Changed:
    """The answer, which must be that somebody else was there before."""
    assert isinstance(answer, Changed), answer
    return answer


def values(sheet: Sheet) -> dict[str, str]:
    """All findings of a sheet: quantity and site against value."""
    return {f"{one.quantity} {one.site}": one.value for one in Finding.objects.filter(sheet=sheet)}
