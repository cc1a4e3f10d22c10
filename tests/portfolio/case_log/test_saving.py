"""Rows of the log: saved field by field, added once, deleted, and each step taken back or refused in words."""

from __future__ import annotations

import uuid

import pytest

from accounts.models import User
from portfolio import services as portfolio_services
from portfolio.case_log import services
from portfolio.case_log.selectors import next_undo
from portfolio.case_log.services import Added, Changed, Entry, Refused, Saved, Undone
from portfolio.models import Case, LogChange, LogLine, Patient, Portfolio
from tests.factories.accounts import person
from tests.factories.portfolio import NOON, PortfolioFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def portfolio(owner: User) -> Portfolio:
    return PortfolioFactory(owner=owner)


def key() -> str:
    return uuid.uuid4().hex


def added(owner: User, portfolio: Portfolio, code: str = "") -> Case:
    answer = services.add_row(owner, portfolio, uuid.uuid4(), code, key(), NOON)
    assert isinstance(answer, Added), answer
    return answer.case


def save(owner: User, case: Case, name: str, typed: str, seen: str = "", request: str = "") -> object:
    entry = Entry(name, typed, seen)
    return services.save_fields(owner, case, [entry], "go_me", request or key(), NOON)


def estimate(case: Case) -> dict[str, str]:
    return Case.objects.get(pk=case.pk).estimate or {}


def undone(owner: User, portfolio: Portfolio) -> Undone | Refused:
    found = next_undo(owner, portfolio)
    assert found
    return services.undo(owner, portfolio, found.number, key(), NOON)


def test_a_row_is_a_possible_case_with_a_coded_patient_and_no_records(
    owner: User, portfolio: Portfolio
) -> None:
    public_id, request = uuid.uuid4(), key()
    for _ in range(2):
        answer = services.add_row(owner, portfolio, public_id, " fa78hk23 ", request, NOON)
        assert isinstance(answer, Added)
    case = Case.objects.get()
    assert (case.code, case.state, case.estimate) == ("FA78HK23", "possible", None)
    assert case.patient.portfolio == portfolio
    assert not case.record_sets.exists()
    assert Patient.objects.count() == 1


def test_a_typed_code_must_be_a_code_and_unused(owner: User, portfolio: Portfolio) -> None:
    added(owner, portfolio, "FA78HK23")
    for code, words in (("FA78HK23", "in use"), ("ANNA1990", "8 characters"), ("BS01", "easily mistaken")):
        answer = services.add_row(owner, portfolio, uuid.uuid4(), code, key(), NOON)
        assert isinstance(answer, Refused)
        assert words in answer.faults["code"]
    assert Case.objects.count() == Patient.objects.count() == 1


def test_fields_are_saved_once_and_rounded_in_words(owner: User, portfolio: Portfolio) -> None:
    case, request = added(owner, portfolio), key()
    for _ in range(2):
        answer = save(owner, case, "overjet", "3,04 mm", request=request)
        assert isinstance(answer, Saved)
    assert estimate(case) == {"overjet": "3"}
    first = services.save_fields(owner, case, [Entry("anb", "4.26", "")], "go_me", key(), NOON)
    assert isinstance(first, Saved)
    assert first.said == {"anb": "4.26 recorded as 4.3°"}
    assert LogChange.objects.count() == 3


def test_a_fault_keeps_what_stands(owner: User, portfolio: Portfolio) -> None:
    case = added(owner, portfolio)
    save(owner, case, "overbite", "3")
    for name, typed, words in (
        ("overjet", "99", "out of range"),
        ("open_teeth", "3", "Open teeth are counted only"),
        ("state", "lost", "possible, chosen, done, left out"),
    ):
        answer = save(owner, case, name, typed, seen="possible" if name == "state" else "")
        assert isinstance(answer, Refused)
        assert words in answer.faults[name]
    assert estimate(case) == {"overbite": "3"}


def test_two_windows_change_different_fields_and_are_told_about_the_same_one(
    owner: User, portfolio: Portfolio
) -> None:
    case = added(owner, portfolio)
    save(owner, case, "overjet", "4")
    save(owner, case, "crowding", "2")
    late = save(owner, case, "overjet", "6")
    assert isinstance(late, Changed)
    assert late.stored == {"overjet": "4"}
    assert isinstance(save(owner, case, "overjet", "4"), Saved), "the same value is no conflict"
    assert isinstance(save(owner, case, "overjet", "6", seen="4"), Saved)
    assert estimate(case) == {"overjet": "6", "crowding": "2"}


def test_steps_are_taken_back_one_after_the_other(owner: User, portfolio: Portfolio) -> None:
    case = added(owner, portfolio)
    save(owner, case, "overbite", "o2")
    save(owner, case, "open_teeth", "4")
    save(owner, case, "overbite", "3", seen="-2")
    assert estimate(case) == {"overbite": "3"}
    found = next_undo(owner, portfolio)
    assert found
    assert found.words == f"{case.code}, overbite 2 mm open → 3 mm and 1 more"
    undone(owner, portfolio)
    assert estimate(case) == {"overbite": "-2", "open_teeth": "4"}
    undone(owner, portfolio)
    undone(owner, portfolio)
    assert estimate(case) == {}
    gone = undone(owner, portfolio)
    assert isinstance(gone, Undone)
    assert gone.gone == (str(case.public_id),)
    assert not Case.objects.exists()
    assert not Patient.objects.exists()
    assert next_undo(owner, portfolio) is None


def test_a_step_is_not_taken_back_over_a_later_change(owner: User, portfolio: Portfolio) -> None:
    case = added(owner, portfolio)
    save(owner, case, "state", "chosen", seen="possible")
    fresh = Case.objects.get(pk=case.pk)
    portfolio_services.edit_case(fresh, state="done", note="", seen_version=fresh.version)
    answer = undone(owner, portfolio)
    assert isinstance(answer, Refused)
    assert answer.faults[""] == f"Changed since: {case.code}. Nothing was taken back."
    assert Case.objects.get(pk=case.pk).state == "done"


def test_adding_is_not_taken_back_once_records_hang_on_the_case(owner: User, portfolio: Portfolio) -> None:
    case = added(owner, portfolio)
    portfolio_services.add_record_set(
        owner, case, portfolio_services.RecordSetDetails(stage="initial", age_months=160)
    )
    answer = undone(owner, portfolio)
    assert isinstance(answer, Refused)
    assert "More hangs by now" in answer.faults[""]
    assert Case.objects.filter(pk=case.pk).exists()


def test_adding_is_not_taken_back_once_something_hangs_on_the_patient(
    owner: User, portfolio: Portfolio
) -> None:
    case = added(owner, portfolio)
    portfolio_services.edit_patient(case.patient, portfolio_services.PatientDetails(locator="shelf 4"), 1)
    assert isinstance(undone(owner, portfolio), Refused)


def test_deleting_is_soft_and_taken_back(owner: User, portfolio: Portfolio) -> None:
    case, request = added(owner, portfolio), key()
    for _ in range(2):
        services.delete_row(owner, case, request, NOON)
    assert Case.objects.get().deleted_at == NOON
    with pytest.raises(Case.DoesNotExist):
        save(owner, case, "overjet", "4")
    undone(owner, portfolio)
    assert Case.objects.get().deleted_at is None
    services.delete_row(owner, case, key(), NOON)
    portfolio_services.restore_case(case)
    answer = undone(owner, portfolio)
    assert isinstance(answer, Refused)
    assert "back already" in answer.faults[""]


def test_a_broken_estimate_is_mended_by_the_next_save(owner: User, portfolio: Portfolio) -> None:
    case = added(owner, portfolio)
    Case.objects.filter(pk=case.pk).update(estimate={"overjet": 5, "anb": "3", "junk": []})
    assert isinstance(save(owner, case, "crowding", "2"), Saved)
    assert estimate(case) == {"anb": "3", "crowding": "2"}


def test_erasing_a_case_leaves_none_of_its_answers(owner: User, portfolio: Portfolio) -> None:
    case = added(owner, portfolio)
    save(owner, case, "overjet", "4")
    services.delete_row(owner, case, key(), NOON)
    portfolio_services.erase_case(case, case.code)
    assert not LogLine.objects.exists()
    assert next_undo(owner, portfolio) is None
    with pytest.raises(TypeError):
        LogChange.objects.update(action="edit")
