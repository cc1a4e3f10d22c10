"""Every change can be taken back, by a change that is itself in the history."""

from __future__ import annotations

import pytest

from portfolio import readings, services
from portfolio.models import Finding, Sheet, SheetChange
from portfolio.services import Entry
from tests.factories.accounts import PersonFactory
from tests.factories.portfolio import NOON, changed, recorded, refused, save, sheet_of, values

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet() -> Sheet:
    return sheet_of(PersonFactory(name="Orla Quist"))


def undo(sheet: Sheet, number: int, key: str = "") -> services.Answer:
    return services.undo(
        sheet.reader, sheet, number, key or f"undo-{number}-{SheetChange.objects.count()}", NOON
    )


def test_undo_of_a_first_value_clears_it(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    answer = recorded(undo(sheet, 1))
    assert values(sheet) == {}
    assert (answer.number, answer.findings[0].changed_in) == (2, 0)


def test_undo_of_a_correction_restores_value_and_particulars(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4", method="caliper", note="first"))
    save(sheet, Entry("overjet", "11", typed="5", seen=1, method="ruler", note="second"))
    recorded(undo(sheet, 2))
    row = Finding.objects.get(sheet=sheet)
    assert (row.value, row.method, row.note, row.hundredths, row.changed_in) == (
        "4",
        "caliper",
        "first",
        400,
        3,
    )


def test_undo_of_a_clearing_brings_the_value_back(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    save(sheet, Entry("overjet", "11", typed="", seen=1))
    recorded(undo(sheet, 2))
    assert values(sheet) == {"overjet 11": "4"}


def test_an_undo_is_in_the_history_and_names_what_it_undoes(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    undo(sheet, 1)
    change = SheetChange.objects.get(sheet=sheet, number=2)
    assert change.action == "undo"
    assert change.undoes is not None
    assert change.undoes.number == 1


def test_an_undo_can_be_undone(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    undo(sheet, 1)
    recorded(undo(sheet, 2))
    assert values(sheet) == {"overjet 11": "4"}


def test_undoing_twice_is_refused_with_the_name_of_who_did_it_first(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    undo(sheet, 1)
    assert "already been undone by Orla Quist" in refused(undo(sheet, 1)).faults[0].message


def test_undo_is_not_done_when_somebody_has_changed_the_finding_since(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"), Entry("overjet", "12", typed="4"))
    save(sheet, Entry("overjet", "12", typed="6", seen=1), by=PersonFactory(name="Tomas Wren"))
    (theirs,) = changed(undo(sheet, 1)).theirs
    assert (theirs.site, theirs.value, theirs.by_name) == ("12", "6", "Tomas Wren")
    assert values(sheet) == {"overjet 11": "4", "overjet 12": "6"}


def test_undo_of_a_clearing_is_not_done_when_the_finding_was_entered_anew_and_cleared_again(
    sheet: Sheet,
) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    save(sheet, Entry("overjet", "11", typed="", seen=1))
    save(sheet, Entry("overjet", "11", typed="7"))
    save(sheet, Entry("overjet", "11", typed="", seen=3))
    changed(undo(sheet, 2))
    assert values(sheet) == {}


def test_later_changes_of_other_findings_do_not_stop_an_undo(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    save(sheet, Entry("overjet", "12", typed="6"))
    recorded(undo(sheet, 1))
    assert values(sheet) == {"overjet 12": "6"}


def test_an_undo_sent_again_gives_the_same_answer(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    first = recorded(undo(sheet, 1, key="same"))
    again = recorded(undo(sheet, 1, key="same"))
    assert again.repeated
    assert again.findings == first.findings
    assert SheetChange.objects.filter(sheet=sheet).count() == 2


def test_an_undo_that_would_contradict_the_sheet_is_refused(sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "14", typed="edge"))
    save(sheet, Entry("crossbite", "14", typed="", seen=1))
    save(sheet, Entry("missing", "14", typed="extracted"))
    refused(undo(sheet, 2))
    assert values(sheet) == {"missing 14": "extracted"}


def test_a_change_that_is_not_there_is_refused(sheet: Sheet) -> None:
    assert "no change 7" in refused(undo(sheet, 7)).faults[0].message


def test_undo_of_an_import_restores_everything_it_touched(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"), Entry("crossbite", "mouth", typed="none"))
    findings = (
        readings.Finding("overjet", "11", "5.25"),
        readings.Finding("overjet", "12", "6"),
        readings.Finding("crossbite", "16", "edge"),
    )
    file = readings.Sheet(stage="initial", dentition="permanent", findings=findings)
    answer = recorded(services.import_sheet(sheet.reader, sheet, file, "import", NOON))
    assert values(sheet)["crossbite mouth"] == "rest_none"
    recorded(undo(sheet, answer.number))
    assert values(sheet) == {"overjet 11": "4", "crossbite mouth": "none"}


def test_several_values_of_one_finding_are_taken_back_one_by_one(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    save(sheet, Entry("overjet", "11", typed="5", seen=1))
    save(sheet, Entry("overjet", "11", typed="", seen=2))
    for number, left in ((3, "5"), (2, "4")):
        recorded(undo(sheet, number))
        assert values(sheet) == {"overjet 11": left}
    recorded(undo(sheet, 1))
    assert values(sheet) == {}


def test_a_change_under_one_that_was_undone_and_done_again_is_not_taken_back(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    save(sheet, Entry("overjet", "11", typed="5", seen=1))
    recorded(undo(sheet, 2))
    recorded(undo(sheet, 3))
    assert changed(undo(sheet, 1)).theirs[0].value == "5"
    assert values(sheet) == {"overjet 11": "5"}
