"""Who sees which rows, and what the database itself does not let in."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import AnonymousUser
from django.db import IntegrityError, transaction

from portfolio import access
from portfolio.codes import ALPHABET, is_code, new_code
from portfolio.models import Case, Finding, RecordSet, Sheet, SheetChange
from tests.factories.accounts import person, the_cast
from tests.factories.portfolio import (
    NOON,
    ConsentFactory,
    PatientFactory,
    PortfolioFactory,
    case_of,
    deleted_case_of,
    record_set_of,
    sheet_of,
)

pytestmark = pytest.mark.django_db

DOORS: tuple[Callable[[Any], Any], ...] = (
    access.visible_portfolios,
    access.visible_patients,
    access.visible_consents,
    access.visible_cases,
    access.visible_record_sets,
    access.visible_sheets,
)


@pytest.mark.parametrize("door", DOORS, ids=lambda door: door.__name__)
def test_only_the_owner_sees_a_row_whoever_else_asks(door: Callable[[Any], Any]) -> None:
    cast = the_cast()
    case = case_of(cast.owner)
    ConsentFactory(patient=case.patient)
    assert door(cast.owner).count() == 1
    for somebody in (cast.another, cast.administrator, cast.deactivated, AnonymousUser()):
        assert door(somebody).count() == 0


def test_a_deactivated_owner_sees_nothing() -> None:
    cast = the_cast()
    case_of(cast.deactivated)
    assert [door(cast.deactivated).count() for door in DOORS] == [0] * len(DOORS)


def test_a_deleted_case_is_seen_only_among_the_deleted_by_its_owner() -> None:
    cast = the_cast()
    case = deleted_case_of(cast.owner)
    assert not access.visible_cases(cast.owner)
    assert not access.visible_record_sets(cast.owner)
    assert not access.visible_sheets(cast.owner)
    assert list(access.deleted_cases(cast.owner)) == [case]
    for somebody in (cast.another, cast.administrator, AnonymousUser()):
        assert not access.deleted_cases(somebody)


def test_codes_are_random_and_unmistakable() -> None:
    codes = {new_code() for _ in range(500)}
    assert len(codes) == 500
    assert all(is_code(code) for code in codes)
    assert not set(ALPHABET) & set("01OILBSZ")


Bad = tuple[str, Callable[[], object]]


def bad_findings(sheet: Sheet) -> list[Bad]:
    """Findings and changes that cannot be."""
    finding = {
        "sheet": sheet,
        "quantity": "overjet",
        "site": "11",
        "value": "3",
        "state": "measured",
        "changed_in": 1,
    }
    Finding.objects.create(**finding)
    change = {
        "sheet": sheet,
        "number": 1,
        "by": sheet.reader,
        "at": NOON,
        "action": "enter",
        "request_key": "k",
    }
    SheetChange.objects.create(**change)
    again = {**finding, "site": "12"}
    return [
        ("two findings at one place", lambda: Finding.objects.create(**finding)),
        ("a finding of an unknown state", lambda: Finding.objects.create(**again | {"state": "guessed"})),
        ("a finding without a value", lambda: Finding.objects.create(**again | {"value": ""})),
        ("a finding numbered 0", lambda: Finding.objects.create(**again | {"nth": 0})),
        ("a finding no change wrote", lambda: Finding.objects.create(**again | {"changed_in": 0})),
        ("one request key twice", lambda: SheetChange.objects.create(**change | {"number": 2})),
        ("one change number twice", lambda: SheetChange.objects.create(**change | {"request_key": "l"})),
        (
            "an unknown action",
            lambda: SheetChange.objects.create(**change | {"number": 3, "request_key": "m", "action": "x"}),
        ),
        (
            "a change without a key",
            lambda: SheetChange.objects.create(**change | {"number": 4, "request_key": ""}),
        ),
    ]


def bad_sheets(sheet: Sheet) -> list[Bad]:
    """Sheets and record sets that cannot be."""
    here = sheet.record_set
    return [
        ("a second working sheet", lambda: Sheet.objects.create(record_set=here, reader=sheet.reader)),
        ("an unknown step", lambda: Sheet.objects.create(record_set=here, reader=person(), step="0.2")),
        (
            "an unknown medium",
            lambda: Sheet.objects.create(record_set=here, reader=person(), medium="wax"),
        ),
        (
            "an unknown purpose",
            lambda: Sheet.objects.create(record_set=here, reader=sheet.reader, purpose="x"),
        ),
        (
            "one stage number twice",
            lambda: RecordSet.objects.create(case=here.case, stage="initial", ordinal=1),
        ),
        ("an unknown stage", lambda: RecordSet.objects.create(case=here.case, stage="before")),
        ("a stage numbered 0", lambda: RecordSet.objects.create(case=here.case, stage="final", ordinal=0)),
        (
            "an age beyond life",
            lambda: RecordSet.objects.create(case=here.case, stage="final", age_months=1441),
        ),
        (
            "an unknown dentition",
            lambda: RecordSet.objects.create(case=here.case, stage="final", dentition="x"),
        ),
        ("an unknown bite", lambda: RecordSet.objects.create(case=here.case, stage="final", occlusion="x")),
    ]


def bad_people_and_cases(sheet: Sheet) -> list[Bad]:
    """Cases, patients, consents and portfolios that cannot be."""
    here = sheet.record_set
    return [
        ("one case code twice", lambda: Case.objects.create(patient=here.case.patient, code=here.case.code)),
        ("an empty case code", lambda: Case.objects.create(patient=here.case.patient, code="")),
        ("an unknown case state", lambda: Case.objects.create(patient=here.case.patient, state="x")),
        ("one patient code twice", lambda: PatientFactory(code=here.case.patient.code)),
        ("an unknown sex", lambda: PatientFactory(sex="x")),
        ("a nameless portfolio", lambda: PortfolioFactory(name="")),
        ("an unknown notation", lambda: PortfolioFactory(notation="x")),
        ("an unknown paper", lambda: PortfolioFactory(paper="x")),
        ("an unknown date policy", lambda: PortfolioFactory(date_policy="x")),
        ("an unknown signer", lambda: ConsentFactory(signer="x")),
        (
            "a consent that ends before it begins",
            lambda: ConsentFactory(expires=NOON.date().replace(year=2020)),
        ),
        (
            "a withdrawal before the signing",
            lambda: ConsentFactory(withdrawn_on=NOON.date().replace(year=2020)),
        ),
    ]


@pytest.mark.parametrize("bad_rows", [bad_findings, bad_sheets, bad_people_and_cases])
def test_the_database_itself_refuses_what_cannot_be(bad_rows: Callable[[Sheet], list[Bad]]) -> None:
    for what, make in bad_rows(sheet_of(person())):
        try:
            with transaction.atomic():
                make()
        except IntegrityError:
            continue
        pytest.fail(f"the database took {what}")


def test_a_repeat_sheet_of_the_same_reader_is_taken_beside_the_working_one() -> None:
    sheet = sheet_of(the_cast().owner)
    Sheet.objects.create(record_set=sheet.record_set, reader=sheet.reader, purpose="repeat")
    assert Sheet.objects.count() == 2


def test_public_ids_are_random() -> None:
    row = record_set_of(case_of(the_cast().owner))
    assert uuid.UUID(str(row.public_id)).version == 4
