"""What a finding rests on is kept with it, frozen, and comes and goes with its value."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db import IntegrityError
from django.db.models import RestrictedError

from portfolio import services
from portfolio.models import Evidence, Finding, RecordItem, Sheet
from portfolio.selectors import evidence_of, findings_resting_on, history, reading
from portfolio.services import Entry, EvidencePiece
from portfolio.services.record_items import ItemRefused, remove_item
from scoring.frozen import freeze_findings, thaw_findings
from tests.factories.accounts import PersonFactory, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON, case_of, record_set_of, recorded, refused, save, sheet_of
from tests.imaging.made_pictures import corner, jpeg

pytestmark = pytest.mark.django_db
PLACE = ("anb", "mouth", 1)
PARTS = {"tracing/a/N.x": "0.3", "tracing/a/A.x": "-0.4"}


@pytest.fixture
def sheet() -> Sheet:
    return sheet_of(PersonFactory(name="Orla Quist"))


@pytest.fixture
def picture(sheet: Sheet) -> RecordItem:
    return taken(sheet.reader, sheet.record_set, jpeg(corner()))


def piece(picture: RecordItem | None, **more: Any) -> EvidencePiece:
    given: dict[str, Any] = {
        "kind": "tracing",
        "item": picture.public_id if picture else None,
        "source": "imaging.tracing/a@3",
        "marks": {"N": [812.5, 430], "A": (790, 700)},
        "scale": {"across": "0.1", "down": "0.1"},
    }
    return EvidencePiece(**{**given, **more})


def anb(value: str, picture: RecordItem | None, seen: int = 0, **more: Any) -> Entry:
    given = {"method": "tracing", "sd": "0.5", "error_parts": PARTS, "evidence": (piece(picture),)}
    return Entry("anb", "mouth", typed=value, seen=seen, **{**given, **more})


def row(sheet: Sheet) -> Finding:
    return Finding.objects.get(sheet=sheet, quantity="anb")


def undo(sheet: Sheet, number: int) -> services.Answer:
    return services.undo(sheet.reader, sheet, number, uuid.uuid4().hex, NOON)


def test_evidence_and_parts_are_kept_as_they_were_given(sheet: Sheet, picture: RecordItem) -> None:
    recorded(save(sheet, anb("4.2", picture)))
    (kept,) = evidence_of(sheet)[PLACE]
    assert kept == piece(picture, marks={"N": [812.5, 430], "A": [790, 700]})
    assert row(sheet).error_parts == PARTS
    (finding,) = reading(sheet).findings
    assert finding.error_parts == (("tracing/a/A.x", "-0.4"), ("tracing/a/N.x", "0.3"))


def test_a_value_entered_by_hand_loses_evidence_parts_and_their_deviation(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    recorded(save(sheet, Entry("anb", "mouth", typed="5", seen=1)))
    now = row(sheet)
    assert (now.value, now.error_parts, now.evidence_at, now.sd) == ("5", {}, 0, "")
    assert evidence_of(sheet) == {}


def test_the_same_value_typed_again_keeps_its_evidence(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    recorded(save(sheet, Entry("anb", "mouth", typed="4.2", seen=1, note="looked at twice")))
    now = row(sheet)
    assert (now.error_parts, now.sd, now.note) == (PARTS, "0.5", "looked at twice")
    assert len(evidence_of(sheet)[PLACE]) == 1


def test_another_plane_for_the_same_value_takes_the_evidence_away(sheet: Sheet, picture: RecordItem) -> None:
    entry = Entry(
        "sn_mp", "mouth", typed="33", plane="go_me", sd="0.5", error_parts=PARTS, evidence=(piece(picture),)
    )
    save(sheet, entry)
    recorded(save(sheet, Entry("sn_mp", "mouth", typed="33", seen=1, plane="go_gn")))
    now = Finding.objects.get(sheet=sheet, quantity="sn_mp")
    assert (now.plane, now.evidence_at, now.error_parts, now.sd) == ("go_gn", 0, {}, "")


def test_another_deviation_drops_the_parts_of_the_old_one_and_keeps_the_evidence(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    save(sheet, Entry("anb", "mouth", typed="4.2", seen=1, sd="1"))
    now = row(sheet)
    assert (now.error_parts, now.sd, now.evidence_at) == ({}, "1", 1)


def test_undo_brings_the_old_evidence_back_and_undoing_that_the_new(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    save(sheet, anb("4.4", picture, 1, evidence=(piece(picture, source="imaging.tracing/a@4"),)))
    assert [one.source for one in evidence_of(sheet)[PLACE]] == ["imaging.tracing/a@4"]
    recorded(undo(sheet, 2))
    assert [one.source for one in evidence_of(sheet)[PLACE]] == ["imaging.tracing/a@3"]
    assert (row(sheet).value, row(sheet).error_parts) == ("4.2", PARTS)
    recorded(undo(sheet, 3))
    assert [one.source for one in evidence_of(sheet)[PLACE]] == ["imaging.tracing/a@4"]
    assert row(sheet).value == "4.4"


def test_undo_of_a_clearing_brings_evidence_and_parts_back(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    save(sheet, Entry("anb", "mouth", typed="", seen=1))
    assert evidence_of(sheet) == {}
    recorded(undo(sheet, 2))
    assert len(evidence_of(sheet)[PLACE]) == 1
    assert row(sheet).error_parts == PARTS


def test_the_same_value_on_a_newer_state_of_its_source_is_a_change(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    answer = recorded(save(sheet, anb("4.2", picture, 1, evidence=(piece(picture, source="b@1"),))))
    assert answer.number == 2
    assert [one.source for one in evidence_of(sheet)[PLACE]] == ["b@1"]


def test_the_history_says_what_changed_beside_an_unchanged_value(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    save(sheet, anb("4.2", picture, 1, evidence=(piece(picture, source="b@1"),)))
    save(sheet, anb("4.4", picture, 2, method="computed"))
    newest, middle, first = history(sheet)
    assert [one.lines[0].particulars for one in (first, middle, newest)] == ["", "evidence", ""]
    pages = signed_in(sheet.reader)
    assert "other evidence" in pages.get(f"/sheets/{sheet.public_id}/history/").content.decode()


def test_the_same_value_with_the_same_evidence_is_no_change(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    assert recorded(save(sheet, anb("4.2", picture, 1))).number == 0
    assert Evidence.objects.count() == 1


def test_a_repeated_request_writes_its_evidence_once(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture), key="once-and-only")
    assert recorded(save(sheet, anb("4.2", picture), key="once-and-only")).repeated
    assert Evidence.objects.count() == 1


def test_a_piece_can_be_added_to_what_stands(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    both = (*evidence_of(sheet)[PLACE], EvidencePiece("witness", picture.public_id))
    recorded(save(sheet, Entry("anb", "mouth", typed="4.2", seen=1, evidence=both)))
    assert [one.kind for one in evidence_of(sheet)[PLACE]] == ["tracing", "witness"]
    assert row(sheet).error_parts == PARTS


def test_evidence_can_be_taken_away_and_the_value_stays(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    save(sheet, Entry("anb", "mouth", typed="4.2", seen=1, evidence=()))
    assert (row(sheet).value, evidence_of(sheet)) == ("4.2", {})


def test_an_import_with_another_value_takes_the_evidence_away_and_can_be_undone(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    plain = reading(sheet)
    (finding,) = plain.findings
    file = type(plain)(plain.stage, plain.dentition, (type(finding)("anb", "mouth", "6"),))
    recorded(services.import_sheet(sheet.reader, sheet, file, "import-other", NOON))
    assert (row(sheet).value, row(sheet).error_parts, evidence_of(sheet)) == ("6", {}, {})
    recorded(undo(sheet, 2))
    assert (row(sheet).error_parts, len(evidence_of(sheet)[PLACE])) == (PARTS, 1)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"sd": "0.6"}, "The parts of the error come to 0.500, the deviation is 0.6."),
        ({"sd": None}, "need the deviation"),
        ({"error_parts": {"N x": "0.5"}}, "is not a part of an error"),
        ({"error_parts": {"N.x": "1e3"}}, "is not a part of an error"),
        ({"error_parts": {f"p/{n}": "0" for n in range(201)}}, "201 parts"),
        ({"evidence": (EvidencePiece("rumour"),)}, "no kind of evidence"),
        ({"evidence": (EvidencePiece("marks", uuid.uuid4()),)}, "not among the pictures of these records"),
        ({"evidence": (EvidencePiece("marks", marks={"N": [float("nan"), 1]}),)}, "not plain numbers"),
        ({"evidence": (EvidencePiece("marks", marks={"N": "x" * 130_000}),)}, "too long"),
        ({"evidence": (EvidencePiece("marks", marks={"N": "\x00"}),)}, "too long"),
        ({"evidence": (EvidencePiece("marks", source="x" * 121),)}, "source of evidence is too long"),
        ({"evidence": (EvidencePiece("marks"),) * 13}, "13 pieces"),
    ],
)
def test_what_is_no_evidence_is_refused_in_words_and_nothing_is_saved(
    sheet: Sheet, picture: RecordItem, more: dict[str, Any], words: str
) -> None:
    (fault,) = refused(save(sheet, anb("4.2", picture, **more))).faults
    assert words in fault.message
    assert (fault.quantity, fault.site) == ("anb", "mouth")
    assert not Finding.objects.exists()
    assert not Evidence.objects.exists()


def test_a_picture_of_other_records_is_no_evidence(sheet: Sheet) -> None:
    other = taken(sheet.reader, record_set_of(case_of(sheet.reader)), jpeg(corner()))
    (fault,) = refused(save(sheet, anb("4.2", other))).faults
    assert "not among the pictures of these records" in fault.message


def test_evidence_is_frozen(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    with pytest.raises(TypeError, match="frozen"):
        Evidence.objects.update(marks={})
    with pytest.raises(TypeError, match="only with their sheet"):
        Evidence.objects.all().delete()


def test_an_unknown_kind_is_refused_by_the_database(sheet: Sheet) -> None:
    with pytest.raises(IntegrityError):
        Evidence.objects.create(sheet=sheet, quantity="anb", site="mouth", at_change=1, kind="rumour")


def test_a_picture_on_which_a_finding_rests_is_not_deleted_without_a_word(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    with pytest.raises(RestrictedError):
        picture.delete()
    with pytest.raises(ItemRefused, match="findings rest on this picture"):
        remove_item(picture, picture.version)
    assert RecordItem.objects.filter(pk=picture.pk).exists()


def test_a_picture_that_goes_all_the_same_leaves_the_frozen_marks(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    remove_item(picture, picture.version, though_evidence=True)
    (kept,) = evidence_of(sheet)[PLACE]
    assert (kept.item, kept.marks["N"]) == (None, [812.5, 430])
    assert row(sheet).value == "4.2"


def test_findings_that_rest_on_a_picture_are_told_with_those_of_the_history(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    save(sheet, Entry("impa", "mouth", typed="95", evidence=(piece(picture),)))
    save(sheet, Entry("impa", "mouth", typed="97", seen=2))
    told = findings_resting_on(picture)
    assert [(one.value, one.reader, one.stands) for one in told] == [
        ("4.2", "Orla Quist", True),
        ("", "Orla Quist", False),
    ]


def test_the_page_that_deletes_a_picture_names_the_findings_and_asks_for_a_tick(
    sheet: Sheet, picture: RecordItem
) -> None:
    save(sheet, anb("4.2", picture))
    pages, address = signed_in(sheet.reader), f"/pictures/{picture.public_id}/delete/"
    page = pages.get(address).content.decode()
    assert "Findings rest on it" in page
    assert "ANB: 4.2" in page
    answer = pages.post(address, {"version": picture.version})
    assert answer.status_code == 422
    assert "Tick below" in answer.content.decode()
    assert RecordItem.objects.filter(pk=picture.pk).exists()
    assert pages.post(address, {"version": picture.version, "though_evidence": "on"}).status_code == 302
    assert not RecordItem.objects.filter(pk=picture.pk).exists()


def test_evidence_goes_with_its_records(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    case = sheet.record_set.case
    services.delete_case(case, NOON)
    services.erase_case(case, case.code)
    assert not Evidence.objects.exists()
    assert not RecordItem.objects.exists()


def test_evidence_goes_with_a_record_set_that_is_removed(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    here = sheet.record_set
    services.remove_record_set(here, here.version)
    assert not Evidence.objects.exists()


def test_a_kept_score_gives_findings_back_with_their_parts(sheet: Sheet, picture: RecordItem) -> None:
    save(sheet, anb("4.2", picture))
    findings = reading(sheet).findings
    assert thaw_findings(freeze_findings(findings)) == findings
    old = [{"quantity": "anb", "site": "mouth", "value": "4.2"}]
    assert thaw_findings(old)[0].error_parts == ()
