"""What is read: sheets for rules, histories in words, lists that find the same rows on every database."""

from __future__ import annotations

import pytest

from accounts.models import User
from portfolio import readings, selectors, services
from portfolio.models import Patient, Portfolio
from portfolio.searching import folded
from portfolio.selectors.sheets import round_the_casts
from portfolio.services import Entry
from portfolio.wording import site_words, value_words
from tests.factories.accounts import person
from tests.factories.portfolio import NOON, PortfolioFactory, case_of, record_set_of, recorded, save, sheet_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def found(owner: User, portfolio: Portfolio, search: str) -> list[str]:
    return [row.locator for row in selectors.patient_list(owner, portfolio, search)[1]]


def test_a_sheet_is_read_with_all_that_rules_need(owner: User) -> None:
    sheet = sheet_of(owner, age_months=164)
    save(
        sheet,
        Entry("crossbite", "mouth", typed="none"),
        Entry("overjet", "21", typed="3"),
        Entry("overjet", "12", typed="4.5", method="gauge"),
    )
    plain = selectors.reading(sheet)
    assert [(one.quantity, one.site, one.value) for one in plain.findings] == [
        ("overjet", "12", "4.5"),
        ("overjet", "21", "3"),
        ("crossbite", "mouth", "none"),
    ]
    assert (plain.stage, plain.dentition, plain.age_months, plain.medium) == (
        "initial",
        "permanent",
        164,
        "plaster",
    )
    assert plain.findings[0].method == "gauge"
    assert len(plain.teeth) == 28


def test_the_history_says_who_did_what_in_words_newest_first(owner: User) -> None:
    sheet = sheet_of(owner)
    save(sheet, Entry("overjet", "11", typed="3,02"))
    save(sheet, Entry("overjet", "11", typed="x 2", seen=1))
    services.undo(owner, sheet, 2, "undo", NOON)
    undo, second, first = selectors.history(sheet)
    assert (first.by_name, first.at, first.done) == ("Odile Marchetti", NOON, "entered")
    assert (first.lines[0].before, first.lines[0].after, first.lines[0].typed) == ("", "3.0 mm", "3,02")
    assert (second.lines[0].before, second.lines[0].after) == ("3.0 mm", "2 mm reverse")
    assert (undo.done, undo.undoes, second.undone_by, second.can_be_undone) == ("took back", 2, 3, False)
    assert first.can_be_undone


def test_a_change_whose_undo_was_undone_stands_again_in_the_history(owner: User) -> None:
    sheet = sheet_of(owner)
    save(sheet, Entry("overjet", "11", typed="3"))
    services.undo(owner, sheet, 1, "a", NOON)
    recorded(services.undo(owner, sheet, 2, "b", NOON))
    assert [one.undone_by for one in selectors.history(sheet)] == [None, 3, None]


@pytest.mark.parametrize("search", ["müller", "MULLER", "Müll", "mull box"])
def test_accents_and_case_do_not_matter_to_the_search_on_any_database(owner: User, search: str) -> None:
    portfolio = PortfolioFactory(owner=owner)
    for locator in ("MÜLLER-01 box", "Muller-02 box", "somewhere else"):
        services.create_patient(owner, portfolio, services.PatientDetails(locator=locator))
    assert set(found(owner, portfolio, search)) == {"MÜLLER-01 box", "Muller-02 box"}


def test_signs_of_the_database_mean_themselves_in_a_search(owner: User) -> None:
    portfolio = PortfolioFactory(owner=owner)
    for locator in ("100% full", "half full"):
        services.create_patient(owner, portfolio, services.PatientDetails(locator=locator))
    assert found(owner, portfolio, "100%") == ["100% full"]
    assert found(owner, portfolio, "_") == []


def test_what_is_searched_follows_every_edit(owner: User) -> None:
    case = case_of(owner, note="Zürich before")
    assert case.searchable == f"{case.code.lower()} zurich before"
    services.edit_case(case, state="chosen", note="After", seen_version=1)
    case.refresh_from_db()
    assert case.searchable == f"{case.code.lower()} after"
    patient = Patient.objects.get(pk=case.patient.pk)
    services.edit_patient(patient, services.PatientDetails(locator="Drawer"), patient.version)
    patient.refresh_from_db()
    assert patient.searchable == f"{patient.code.lower()} drawer"


def test_somebody_elses_patients_are_never_found(owner: User) -> None:
    theirs = case_of(person())
    assert found(owner, theirs.patient.portfolio, "") == []


def test_record_sets_are_told_in_the_order_of_treatment_with_ages_and_findings(owner: User) -> None:
    case = case_of(owner, age_months=164)
    for stage in ("final", "interim"):
        services.add_record_set(owner, case, services.RecordSetDetails(stage=stage))
    sheet = record_set_of(case).sheets.get()
    save(sheet, Entry("overjet", "11", typed="3"))
    facts = selectors.record_set_facts(case)
    assert [(one.label, one.age, one.findings) for one in facts] == [
        ("initial", "13 y 8 m", 1),
        ("interim 1", "", 0),
        ("final", "", 0),
    ]
    assert facts[0].sheet == sheet.public_id


def test_contradictions_of_a_record_set_are_told_from_all_its_sheets(owner: User) -> None:
    sheet = sheet_of(owner)
    save(sheet, Entry("crossbite", "14", typed="edge"))
    row = sheet.record_set
    assert selectors.record_set_contradictions(row) == ()
    without = [one for one in row.teeth.split() if one != "14"]
    services.edit_record_set(row, services.RecordSetDetails(teeth=without), row.version)
    (words,) = selectors.record_set_contradictions(row)
    assert "crossbite behind the canines 14: 14 has not erupted" in words


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("overjet", "-3.5", "3.5 mm reverse"),
        ("overjet", "3", "3 mm"),
        ("overbite", "-2", "2 mm open"),
        ("overbite", "0", "0 mm"),
        ("crowding", "4.5", "4.5 mm short of space"),
        ("crowding", "-2", "2 mm spaced"),
        ("anb", "-2.7", "−2.7°"),
        ("overbite_cover", "100", "100 %"),
        ("crossbite", "rest_none", "rest none"),
        ("overjet", "", ""),
    ],
)
def test_values_are_said_with_unit_and_direction(key: str, value: str, words: str) -> None:
    assert value_words(key, value) == words


def test_sites_are_said_in_the_notation_asked_for() -> None:
    assert site_words("16", "palmer") == "UR6"
    assert site_words("mouth", "palmer") == "whole mouth"


def test_folding_makes_letters_alike_that_people_type_alike() -> None:
    assert folded("  MÜLLER  Straße Ørsted ") == "muller strasse orsted"


def test_sides_and_arches_follow_each_other_as_on_the_casts() -> None:
    places = [
        ("crowding", "lower"),
        ("crowding", "upper"),
        ("molar_relation", "left"),
        ("molar_relation", "right"),
    ]
    found = sorted((readings.Finding(q, s, "0") for q, s in places), key=round_the_casts)
    assert [f.site for f in found] == ["right", "left", "upper", "lower"]
