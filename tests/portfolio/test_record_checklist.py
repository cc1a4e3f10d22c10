"""The record checklist: three states for every record, casts and papers without a file, nothing urged."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from portfolio import records, services
from portfolio.access import visible_items
from portfolio.models import RecordItem, RecordSet
from portfolio.records import ASKED, CASTS, NOTHING_TOLD, RECORDS, RecordState, state_words, told_of
from portfolio.selectors import checklist, record_states
from portfolio.services.record_items import state_absent
from portfolio.services.record_states import Stated, StatedMeanwhile, seen_words, state_records
from tests.factories.accounts import PersonFactory, person, signed_in
from tests.factories.imaging import picture_of
from tests.factories.portfolio import case_of, record_set_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def here(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


def stage_form(here: RecordSet, owner: User, **fields: str | list[str]) -> dict[str, str | list[str]]:
    """What the page sends: every field as it stands, changed by `casts_state=…` and the like."""
    states = record_states(owner, here)
    sent: dict[str, str | list[str]] = {}
    for record in RECORDS:
        state = states.get(record.key, NOTHING_TOLD)
        sent |= {
            f"{record.key}-state": state.stated,
            f"{record.key}-words": state.words,
            f"{record.key}-seen": seen_words(state),
        }
        if not record.picture:
            sent[f"{record.key}-ticks"] = list(state.ticks)
    return sent | {name.replace("__", "-"): value for name, value in fields.items()}


def words(answer: object) -> str:
    html = answer.content.decode()  # type: ignore[attr-defined]
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_a_stage_is_stated_in_one_form_and_shown_in_the_grid(owner: User, here: RecordSet) -> None:
    pages = signed_in(owner)
    grid = reverse("portfolio:case_records", args=[here.case.public_id])
    stage = reverse("portfolio:stage_records", args=[here.public_id])
    assert f"0 of {len(ASKED)} told" in words(pages.get(grid))
    sent = stage_form(
        here,
        owner,
        casts__state="present",
        casts__words="Shelf 4, box 2",
        casts__ticks=["whole", "labelled"],
        panoramic__state="not_taken",
        lateral__state="not_filed",
        lateral__words="Hospital archive",
        history__state="not_taken",
        history__words="never asked for",
    )
    answer = pages.post(stage, sent, follow=True)
    text = words(answer)
    assert "The initial records are saved: 4 records." in text
    assert f"3 of {len(ASKED)} told" in text
    for told in (
        "here: Shelf 4, box 2",
        "2 of 4 quality ticks",
        "not taken: no clinical indication",
        "taken, not filed here: Hospital archive",
        "none: never asked for",
    ):
        assert told in text, told
    row = RecordItem.objects.get(view="casts")
    assert (row.kind, row.state, row.file_id, row.quality) == (CASTS, "present", None, ["whole", "labelled"])
    taken_back = stage_form(here, owner, casts__state="", casts__words="", casts__ticks=[])
    assert "1 record." in words(pages.post(stage, taken_back, follow=True))
    assert not RecordItem.objects.filter(view="casts").exists()


def test_words_without_a_state_and_states_a_record_cannot_have_are_refused(
    owner: User, here: RecordSet
) -> None:
    pages = signed_in(owner)
    stage = reverse("portfolio:stage_records", args=[here.public_id])
    for fields in (
        {"casts__words": "Shelf 4"},
        {"front__state": "present"},
        {"casts__state": "here"},
        {"casts__state": "present", "casts__ticks": ["sharp"]},
        {"casts__state": "present", "casts__words": "x" * 201},
    ):
        answer = pages.post(stage, stage_form(here, owner, history__state="present", **fields))
        assert answer.status_code == 422, fields
        assert "Nothing was saved." in words(answer)
    assert not RecordItem.objects.exists()


def test_a_late_window_is_told_what_stands_stored_and_replaces_it_when_sent_again(
    owner: User, here: RecordSet
) -> None:
    pages = signed_in(owner)
    stage = reverse("portfolio:stage_records", args=[here.public_id])
    old = stage_form(here, owner, casts__state="present", casts__words="Shelf 1")
    state_records(here, {"casts": Stated("not_filed", "Shelf 9")}, {"casts": seen_words(NOTHING_TOLD)})
    late = pages.post(stage, old)
    assert late.status_code == 409
    assert "stored now: taken, kept elsewhere: Shelf 9" in words(late)
    seen = re.search(r'name="casts-seen" value="([^"]*)"', late.content.decode())
    assert seen
    assert pages.post(stage, {**old, "casts-seen": seen[1]}).status_code == 302
    assert RecordItem.objects.get().reason == "Shelf 1"


def test_a_picture_is_never_touched_by_a_statement(owner: User) -> None:
    picture = picture_of(owner)
    here = picture.record_set
    RecordItem.objects.filter(pk=picture.pk).update(view="front", quality=["sharp", "lit"])
    state = record_states(owner, here)["front"]
    assert (state.pictures, state.state, state.ticks) == (1, "present", ("sharp", "lit"))
    for seen in (NOTHING_TOLD, state):
        with pytest.raises(StatedMeanwhile):
            state_records(here, {"front": Stated("not_taken")}, {"front": seen_words(seen)})
    pages = signed_in(owner)
    stage = reverse("portfolio:stage_records", args=[here.public_id])
    page = pages.get(stage).content.decode()
    assert 'name="front-state"' not in page
    assert "Filed as pictures and so told: Front." in page
    pages.post(stage, {"front-state": "not_taken", "front-seen": ""})
    assert RecordItem.objects.get().file_id == picture.file_id
    grid = words(pages.get(reverse("portfolio:case_records", args=[here.case.public_id])))
    assert "1 picture of Front, initial 2 of 5 quality ticks" in grid


def test_casts_are_no_picture_to_the_pages_of_pictures(owner: User, here: RecordSet) -> None:
    state_records(here, {"casts": Stated("present", "Shelf 1")}, {"casts": seen_words(NOTHING_TOLD)})
    row = RecordItem.objects.get()
    pages = signed_in(owner)
    assert not visible_items(owner).exists()
    for name in ("picture", "scale", "marks"):
        assert pages.get(reverse(f"imaging:{name}", args=[row.public_id])).status_code == 404
    board = pages.get(reverse("imaging:pictures", args=[here.public_id]))
    assert board.status_code == 200
    assert "Shelf 1" not in board.content.decode()


def test_only_a_picture_needs_a_file_and_only_a_picture_has_one(owner: User, here: RecordSet) -> None:
    RecordItem(record_set=here, view="casts", kind="casts", state="present").full_clean()
    with pytest.raises(ValidationError):
        RecordItem(record_set=here, view="front", state="present").full_clean()
    picture = picture_of(owner)
    with pytest.raises(IntegrityError), transaction.atomic():
        RecordItem.objects.filter(pk=picture.pk).update(kind="casts")


def test_the_grid_costs_the_same_for_many_stages(owner: User, here: RecordSet) -> None:
    state_absent(here, "front", "not_taken", "moved away")
    with CaptureQueriesContext(connection) as queries:
        checklist(owner, here.case)
    few = len(queries)
    for stage in ("interim", "interim", "final", "retention"):
        more = services.add_record_set(owner, here.case, services.RecordSetDetails(stage=stage))
        state_absent(more, "front", "not_filed", "")
    with CaptureQueriesContext(connection) as queries:
        grid = checklist(owner, here.case)
    assert len(queries) == few == 2
    assert [one.label for one in grid.columns] == ["Initial", "Interim 1", "Interim 2", "Final", "Retention"]
    assert [one.told for one in grid.columns] == [1, 1, 1, 1, 1]


def test_a_radiograph_not_taken_is_told_and_no_page_urges_one(owner: User, here: RecordSet) -> None:
    told = {
        key: RecordState(stated="not_taken", words="no clinical indication")
        for key in ("panoramic", "lateral")
    }
    assert told_of(told) == 2
    assert state_words(records.BY_KEY["panoramic"], told["panoramic"]) == "not taken: no clinical indication"
    folder = Path(settings.BASE_DIR) / "templates" / "portfolio"
    urging = re.compile(r"(missing|needed|required|take|add|lacks?|still)[^.<]{0,40}radiograph", re.I)
    never = re.compile(r"never to complete a portfolio")
    for name in ("case_records.html", "stage_records.html", "treatment.html"):
        text = never.sub("", (folder / name).read_text(encoding="utf-8"))
        assert not urging.search(text.replace("radiographs are taken for the patient's care", "")), name
    pages = signed_in(owner)
    grid = words(pages.get(reverse("portfolio:case_records", args=[here.case.public_id])))
    assert "No clinical indication” is a complete answer" in grid


@pytest.mark.django_db(transaction=True)
def test_of_two_windows_that_state_the_same_record_at_once_one_is_told() -> None:
    owner = PersonFactory()
    here = record_set_of(case_of(owner))
    answers: list[object] = []
    start = threading.Barrier(2)

    def state(where: str) -> None:
        try:
            start.wait(10)
            seen = {"casts": seen_words(NOTHING_TOLD)}
            answers.append(state_records(here, {"casts": Stated("present", where)}, seen))
        except StatedMeanwhile as late:
            answers.append(late.keys)
        finally:
            connection.close()

    both = [threading.Thread(target=state, args=[where]) for where in ("Shelf 1", "Shelf 2")]
    for one in both:
        one.start()
    for one in both:
        one.join(60)
    assert sorted(map(str, answers)) == ["('casts',)", "1"]
    assert RecordItem.objects.filter(view="casts").count() == 1
