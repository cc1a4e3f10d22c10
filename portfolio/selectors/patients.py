"""Coded patients and their consents in plain values, for their owner."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.core.paginator import Page, Paginator

from portfolio.access import Asker, visible_patients
from portfolio.models import Case, Consent, Patient, Portfolio
from portfolio.searching import folded
from portfolio.services.patients import MEDIA, PURPOSES

ON_A_PAGE = 50


@dataclass(frozen=True, slots=True)
class ConsentFacts:
    """One consent; `standing` says in a word whether it holds today."""

    public_id: UUID
    purposes: tuple[str, ...]
    media: tuple[str, ...]
    signer: str
    signed_on: date
    expires: date | None
    withdrawn_on: date | None
    paper_lies: str
    standing: str


@dataclass(frozen=True, slots=True)
class CaseLink:
    """A case of a patient."""

    public_id: UUID
    code: str
    state: str


@dataclass(frozen=True, slots=True)
class PatientFacts:
    """A coded patient for the owner's page; locator and birth date are private."""

    public_id: UUID
    code: str
    sex: str
    locator: str
    birth_date: date | None
    cases: tuple[CaseLink, ...]
    deleted_cases: int
    consents: tuple[ConsentFacts, ...]


@dataclass(frozen=True, slots=True)
class PatientRow:
    """One line of the list of patients."""

    public_id: UUID
    code: str
    sex: str
    locator: str
    cases: tuple[CaseLink, ...]
    consents: int


def patient_facts(patient: Patient, today: date) -> PatientFacts:
    """A coded patient with cases and consents, the newest consent first."""
    cases = list(Case.objects.filter(patient=patient).order_by("code"))
    consents = Consent.objects.filter(patient=patient).order_by("-signed_on", "-pk")
    return PatientFacts(
        public_id=patient.public_id,
        code=patient.code,
        sex=patient.get_sex_display() or "",
        locator=patient.locator,
        birth_date=patient.birth_date,
        cases=tuple(_link(case) for case in cases if case.deleted_at is None),
        deleted_cases=sum(case.deleted_at is not None for case in cases),
        consents=tuple(_consent(one, today) for one in consents),
    )


def patient_list(
    user: Asker, portfolio: Portfolio, search: str = "", page: str | int = 1
) -> tuple[Page[Patient], tuple[PatientRow, ...]]:
    """One page of the coded patients of a portfolio whose code or locator holds every word looked for."""
    found = visible_patients(user).filter(portfolio=portfolio).order_by("code")
    for word in folded(search).split():
        found = found.filter(searchable__contains=word)
    shown = Paginator(found.prefetch_related("cases", "consents"), ON_A_PAGE).get_page(page)
    rows = tuple(
        PatientRow(
            public_id=one.public_id,
            code=one.code,
            sex=one.get_sex_display() or "",
            locator=one.locator,
            cases=tuple(_link(case) for case in one.cases.all() if case.deleted_at is None),
            consents=len(one.consents.all()),
        )
        for one in shown.object_list
    )
    return shown, rows


def _link(case: Case) -> CaseLink:
    return CaseLink(case.public_id, case.code, case.get_state_display())


def _consent(one: Consent, today: date) -> ConsentFacts:
    if one.withdrawn_on and one.withdrawn_on <= today:
        standing = "withdrawn"
    elif one.expires and one.expires < today:
        standing = "expired"
    elif one.signed_on > today:
        standing = "not yet in force"
    else:
        standing = "in force"
    return ConsentFacts(
        public_id=one.public_id,
        purposes=tuple(PURPOSES.get(key, key) for key in one.purposes),
        media=tuple(MEDIA.get(key, key) for key in one.media),
        signer=one.get_signer_display(),
        signed_on=one.signed_on,
        expires=one.expires,
        withdrawn_on=one.withdrawn_on,
        paper_lies=one.paper_lies,
        standing=standing,
    )
