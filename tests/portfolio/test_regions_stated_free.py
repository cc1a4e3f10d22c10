"""One key states that a region, or the rest of it, is free; a value typed later makes room for itself."""

from __future__ import annotations

import uuid

import pytest

from portfolio import services
from portfolio.models import Sheet, SheetChange
from portfolio.services import Entry
from tests.factories.accounts import PersonFactory
from tests.factories.portfolio import NOON, recorded, refused, save, sheet_of, values

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet() -> Sheet:
    return sheet_of(PersonFactory())


def state(sheet: Sheet, *statements: tuple[str, str], key: str = "") -> services.Answer:
    return services.state_free(sheet.reader, sheet, statements, key or uuid.uuid4().hex, NOON)


def test_an_empty_region_is_stated_none_for_every_quantity_in_one_change(sheet: Sheet) -> None:
    answer = recorded(state(sheet, ("missing", "mouth"), ("crossbite", "right"), ("midline_offset", "mouth")))
    assert values(sheet) == {
        "missing mouth": "none",
        "crossbite right": "none",
        "midline_offset mouth": "none",
    }
    assert answer.number == 1
    assert SheetChange.objects.get(sheet=sheet).action == "none_region"


def test_a_region_with_a_value_in_it_is_stated_rest_none(sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "16", typed="edge"))
    recorded(state(sheet, ("crossbite", "right"), ("crossbite", "left")))
    assert values(sheet)["crossbite right"] == "rest_none"
    assert values(sheet)["crossbite left"] == "none"


def test_a_value_that_says_nothing_is_there_does_not_stop_none(sheet: Sheet) -> None:
    save(sheet, Entry("posterior_open_bite", "16", typed="0"))
    recorded(state(sheet, ("posterior_open_bite", "mouth")))
    assert values(sheet)["posterior_open_bite mouth"] == "none"


def test_overjet_takes_rest_none_only_and_only_beside_a_listed_incisor(sheet: Sheet) -> None:
    assert "incisor" in refused(state(sheet, ("overjet", "mouth"))).faults[0].message
    save(sheet, Entry("overjet", "11", typed="4"))
    recorded(state(sheet, ("overjet", "mouth")))
    assert values(sheet) == {"overjet 11": "4", "overjet mouth": "rest_none"}


def test_what_is_recorded_at_the_region_itself_stays(sheet: Sheet) -> None:
    save(sheet, Entry("midline_offset", "mouth", typed="2"))
    answer = recorded(state(sheet, ("midline_offset", "mouth"), ("missing", "mouth")))
    assert values(sheet) == {"midline_offset mouth": "2", "missing mouth": "none"}
    assert {one.quantity: one.changed_in for one in answer.findings} == {"midline_offset": 1, "missing": 2}


def test_crowding_of_the_mouth_beside_one_crowded_arch_is_stated_for_the_other_arch(sheet: Sheet) -> None:
    save(sheet, Entry("crowding", "upper", typed="4"))
    recorded(state(sheet, ("crowding", "mouth")))
    assert values(sheet) == {"crowding upper": "4", "crowding lower": "none"}


@pytest.mark.parametrize(
    "statement", [("incisor_class", "mouth"), ("nonsense", "mouth"), ("crossbite", "upper-right")]
)
def test_what_cannot_be_stated_free_is_refused_and_nothing_is_written(
    sheet: Sheet, statement: tuple[str, str]
) -> None:
    answer = refused(state(sheet, ("missing", "mouth"), statement))
    assert answer.faults[0].quantity == statement[0]
    assert values(sheet) == {}


def test_a_value_inside_a_none_turns_it_into_rest_none_in_the_same_change_and_says_so(sheet: Sheet) -> None:
    state(sheet, ("crossbite", "mouth"))
    answer = recorded(save(sheet, Entry("crossbite", "16", typed="edge")))
    assert values(sheet) == {"crossbite mouth": "rest_none", "crossbite 16": "edge"}
    (beside,) = answer.also
    assert (beside.site, beside.value, beside.changed_in) == ("mouth", "rest_none", 2)
    assert "rest none" in beside.words
    assert answer.number == 2


def test_a_crowded_arch_inside_a_none_of_the_mouth_leaves_none_for_the_other_arch(sheet: Sheet) -> None:
    state(sheet, ("crowding", "mouth"))
    answer = recorded(save(sheet, Entry("crowding", "upper", typed="4")))
    assert values(sheet) == {"crowding upper": "4", "crowding lower": "none"}
    assert {(one.site, one.value) for one in answer.also} == {("mouth", ""), ("lower", "none")}


def test_undo_of_a_value_brings_the_none_back(sheet: Sheet) -> None:
    state(sheet, ("crossbite", "mouth"))
    answer = recorded(save(sheet, Entry("crossbite", "16", typed="edge")))
    recorded(services.undo(sheet.reader, sheet, answer.number, "undo", NOON))
    assert values(sheet) == {"crossbite mouth": "none"}


def test_undo_keeps_rest_none_while_another_value_stands_in_the_region(sheet: Sheet) -> None:
    state(sheet, ("crossbite", "mouth"))
    answer = recorded(save(sheet, Entry("crossbite", "16", typed="edge")))
    save(sheet, Entry("crossbite", "17", typed="edge"))
    recorded(services.undo(sheet.reader, sheet, answer.number, "undo", NOON))
    assert values(sheet) == {"crossbite mouth": "rest_none", "crossbite 17": "edge"}


def test_undo_of_a_one_key_statement_restores_all_of_it(sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "16", typed="edge"))
    answer = recorded(state(sheet, ("crossbite", "right"), ("missing", "mouth"), ("gap", "mouth")))
    recorded(services.undo(sheet.reader, sheet, answer.number, "undo", NOON))
    assert values(sheet) == {"crossbite 16": "edge"}


def test_a_statement_sent_again_changes_nothing(sheet: Sheet) -> None:
    first = recorded(state(sheet, ("missing", "mouth"), key="same"))
    again = recorded(state(sheet, ("missing", "mouth"), key="same"))
    assert again.repeated
    assert again.findings == first.findings
    assert SheetChange.objects.filter(sheet=sheet).count() == 1
