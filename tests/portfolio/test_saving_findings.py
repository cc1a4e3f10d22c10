"""Findings are saved whole or not at all, on whatever database."""

from __future__ import annotations

import threading
import uuid

import pytest
from django.db import connection

from portfolio import services
from portfolio.models import Finding, Sheet, SheetChange
from portfolio.services import Changed, Entry, Recorded
from tests.factories.accounts import PersonFactory
from tests.factories.portfolio import NOON, changed, recorded, refused, save, sheet_of, values

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet() -> Sheet:
    return sheet_of(PersonFactory(name="Orla Quist"))


def test_a_typed_value_is_stored_rounded_to_the_step_and_the_text_stays_in_the_history(sheet: Sheet) -> None:
    answer = recorded(save(sheet, Entry("overjet", "11", typed="3,02 mm")))
    (stored,) = answer.findings
    assert (stored.value, stored.typed, stored.rounded, stored.changed_in) == ("3.0", "3,02 mm", True, 1)
    row = Finding.objects.get(sheet=sheet)
    assert (row.value, row.hundredths, row.state, row.changed_in) == ("3.0", 300, "measured", 1)
    item = SheetChange.objects.get(sheet=sheet).items[0]
    assert (item["typed"], item["old"], item["new"]["value"]) == ("3,02 mm", None, "3.0")


def test_the_step_of_the_sheet_decides_the_rounding(sheet: Sheet) -> None:
    services.edit_sheet(sheet, medium="plaster", step="0.5")
    assert recorded(save(sheet, Entry("overjet", "11", typed="3.3"))).findings[0].value == "3.5"


def test_hundredths_are_whole_numbers_for_sorting(sheet: Sheet) -> None:
    services.edit_sheet(sheet, medium="plaster", step="0.01")
    save(sheet, Entry("overjet", "11", typed="-2.35"), Entry("molar_relation", "right", typed="end2"))
    rows = {one.quantity: one.hundredths for one in Finding.objects.filter(sheet=sheet)}
    assert rows == {"overjet": -235, "molar_relation": None}


def test_the_version_of_the_sheet_is_the_number_of_its_last_change(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="3"))
    answer = recorded(save(sheet, Entry("overjet", "12", typed="4")))
    sheet.refresh_from_db()
    assert (sheet.version, answer.version, answer.number) == (2, 2, 2)


def test_a_resend_after_a_lost_answer_gives_the_same_answer_and_no_second_change(sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "mouth", typed="none"))
    entry = Entry("crossbite", "16", typed="edge")
    first = recorded(save(sheet, entry, key="lost"))
    save(sheet, Entry("overjet", "11", typed="4"))
    again = recorded(save(sheet, entry, key="lost"))
    assert again.repeated
    assert (again.version, again.number, again.findings, again.also) == (
        first.version,
        first.number,
        first.findings,
        first.also,
    )
    assert first.also
    assert SheetChange.objects.filter(sheet=sheet).count() == 3


def test_saving_what_stands_already_leaves_no_line_in_the_history(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="3"))
    answer = recorded(save(sheet, Entry("overjet", "11", typed="3.0", seen=1)))
    assert (answer.number, answer.version, answer.findings[0].changed_in) == (0, 1, 1)
    assert SheetChange.objects.filter(sheet=sheet).count() == 1


def test_an_unchanged_finding_saved_beside_a_changed_one_keeps_its_number(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="3"))
    answer = recorded(
        save(sheet, Entry("overjet", "11", typed="3", seen=1), Entry("overjet", "12", typed="4"))
    )
    assert [(one.site, one.changed_in) for one in answer.findings] == [("11", 1), ("12", 2)]
    assert recorded(save(sheet, Entry("overjet", "11", typed="5", seen=1))).version == 3


def test_a_finding_changed_by_somebody_else_is_told_with_value_name_and_time(sheet: Sheet) -> None:
    other = PersonFactory(name="Tomas Wren")
    save(sheet, Entry("overjet", "11", typed="4"), by=other)
    (theirs,) = changed(save(sheet, Entry("overjet", "11", typed="5", seen=0))).theirs
    assert (theirs.value, theirs.by_name, theirs.at, theirs.changed_in) == ("4", "Tomas Wren", NOON, 1)
    assert values(sheet) == {"overjet 11": "4"}


def test_a_finding_cleared_by_somebody_else_is_told_as_cleared(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    save(sheet, Entry("overjet", "11", typed="", seen=1), by=PersonFactory(name="Tomas Wren"))
    (theirs,) = changed(save(sheet, Entry("overjet", "11", typed="5", seen=1))).theirs
    assert (theirs.value, theirs.by_name, theirs.changed_in) == ("", "Tomas Wren", 0)
    assert values(sheet) == {}


def test_two_people_on_different_teeth_do_not_disturb_each_other(sheet: Sheet) -> None:
    recorded(save(sheet, Entry("overjet", "11", typed="4")))
    recorded(save(sheet, Entry("overjet", "12", typed="5"), by=PersonFactory()))
    assert values(sheet) == {"overjet 11": "4", "overjet 12": "5"}


@pytest.mark.parametrize("text", ["1e3", "9.999", "1.234,5", "99", "abc", "NaN"])
def test_what_is_no_number_in_range_is_refused_and_nothing_of_the_request_is_written(
    sheet: Sheet, text: str
) -> None:
    answer = refused(save(sheet, Entry("overjet", "12", typed="3"), Entry("overjet", "11", typed=text)))
    assert [(one.quantity, one.site) for one in answer.faults] == [("overjet", "11")]
    assert values(sheet) == {}
    sheet.refresh_from_db()
    assert sheet.version == 0


def test_all_faults_of_one_request_are_told_together(sheet: Sheet) -> None:
    answer = refused(
        save(
            sheet,
            Entry("overjet", "11", typed="x"),
            Entry("nonsense", "11", typed="1"),
            Entry("overjet", "12", typed="1"),
            Entry("overjet", "12", typed="2"),
        )
    )
    assert {one.quantity for one in answer.faults} == {"overjet", "nonsense"}
    assert len(answer.faults) == 3


@pytest.mark.parametrize("key", ["", "k" * 65])
def test_a_request_without_a_usable_key_is_refused(sheet: Sheet, key: str) -> None:
    answer = services.record_findings(sheet.reader, sheet, [Entry("overjet", "11", typed="1")], key, NOON)
    assert refused(answer).faults[0].where == "request"


def test_a_finding_on_a_missing_tooth_is_refused_over_the_whole_sheet(sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "14", typed="edge"))
    answer = refused(save(sheet, Entry("missing", "14", typed="extracted")))
    assert any(one.quantity == "crossbite" for one in answer.faults)
    assert values(sheet) == {"crossbite 14": "edge"}


def test_a_contradiction_that_stood_before_does_not_stop_other_work(sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "14", typed="edge"))
    record_set = sheet.record_set
    without_14 = [one for one in record_set.teeth.split() if one != "14"]
    details = services.RecordSetDetails(stage=record_set.stage, teeth=without_14)
    services.edit_record_set(record_set, details, record_set.version)
    recorded(save(sheet, Entry("overjet", "11", typed="3")))
    assert values(sheet) == {"crossbite 14": "edge", "overjet 11": "3"}


def test_a_closed_sheet_takes_nothing(sheet: Sheet) -> None:
    Sheet.objects.filter(pk=sheet.pk).update(sealed=True)
    assert "closed" in refused(save(sheet, Entry("overjet", "11", typed="3"))).faults[0].message


def test_clearing_removes_the_row_and_says_so_in_the_history(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    answer = recorded(save(sheet, Entry("overjet", "11", typed=None, seen=1)))
    assert (answer.findings[0].value, answer.findings[0].changed_in) == ("", 0)
    assert values(sheet) == {}
    assert SheetChange.objects.get(sheet=sheet, number=2).action == "clear"


def test_particulars_not_given_stay_as_they_were(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4", method="caliper", note="right central"))
    save(sheet, Entry("overjet", "11", typed="5", seen=1))
    save(sheet, Entry("overjet", "11", typed="5", seen=2, note=""))
    row = Finding.objects.get(sheet=sheet)
    assert (row.method, row.note, row.changed_in) == ("caliper", "", 3)


def test_the_history_is_append_only(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    with pytest.raises(TypeError):
        SheetChange.objects.filter(sheet=sheet).update(number=9)
    with pytest.raises(TypeError):
        SheetChange.objects.filter(sheet=sheet).delete()


@pytest.mark.django_db(transaction=True)
def test_of_eight_simultaneous_saves_of_one_finding_one_is_saved_and_seven_are_told() -> None:
    sheet = sheet_of(PersonFactory(name="Orla Quist"))
    people = [PersonFactory(name=f"Person {number}") for number in range(8)]
    start = threading.Barrier(8)
    answers: list[services.Answer | BaseException] = []

    def save_one(number: int) -> None:
        try:
            start.wait(timeout=20)
            entry = Entry("overjet", "11", typed=str(number))
            answers.append(services.record_findings(people[number], sheet, [entry], uuid.uuid4().hex, NOON))
        except BaseException as error:
            answers.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=save_one, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)

    saved = [one for one in answers if isinstance(one, Recorded)]
    told = [one for one in answers if isinstance(one, Changed)]
    assert (len(saved), len(told)) == (1, 7), answers
    row = Finding.objects.get(sheet=sheet)
    winner = people[int(row.value)]
    for one in told:
        (theirs,) = one.theirs
        assert (theirs.value, theirs.by_name, theirs.at) == (row.value, winner.name, NOON)
    assert SheetChange.objects.filter(sheet=sheet).count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_eight_simultaneous_sends_of_one_request_one_changes_and_all_get_the_same_answer() -> None:
    sheet = sheet_of(PersonFactory())
    start = threading.Barrier(8)
    answers: list[services.Answer | BaseException] = []

    def send() -> None:
        try:
            start.wait(timeout=20)
            entry = Entry("overjet", "11", typed="3,02")
            answers.append(services.record_findings(sheet.reader, sheet, [entry], "one-key", NOON))
        except BaseException as error:
            answers.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)

    assert {type(one) for one in answers} == {Recorded}, answers
    assert len({(one.version, one.findings) for one in answers if isinstance(one, Recorded)}) == 1
    assert SheetChange.objects.filter(sheet=sheet).count() == 1
