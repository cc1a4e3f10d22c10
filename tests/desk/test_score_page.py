"""The score page: lines, what is missing, rule choices for the whole portfolio, kept scores."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.http import HttpResponseBase
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from portfolio import teeth
from portfolio.models import Sheet
from scoring import selectors
from scoring.models import ScoreRun
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import sheet_of
from tests.factories.scoring import OPEN_FRONT, change, loaded, measured_sheet, other_teeth

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return measured_sheet(owner, *OPEN_FRONT)


def address(sheet: Sheet, name: str = "score") -> str:
    return reverse(f"desk:{name}", args=[sheet.public_id, "discrepancy"])


def words(answer: HttpResponseBase) -> str:
    html = getattr(answer, "content").decode()  # noqa: B009
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def shown(client: Client, sheet: Sheet) -> str:
    answer = client.get(address(sheet))
    assert answer.status_code == 200
    return words(answer)


def choose(client: Client, sheet: Sheet, **what: str) -> str:
    return words(client.post(address(sheet, "choose"), what, follow=True))


def keep(client: Client, sheet: Sheet) -> str:
    now = selectors.scored(loaded(sheet), "discrepancy")
    return words(client.post(address(sheet, "keep"), seen(now), follow=True))


def seen(now: selectors.Scored) -> dict[str, str | int]:
    """What the page sends back of the state it had shown."""
    return {"version": now.sheet_version, "choices": now.chosen.digest, "frame": now.frame_digest}


def test_the_page_explains_every_point(client: Client, sheet: Sheet) -> None:
    text = shown(client, sheet)
    assert "35 points" in text
    assert "Complete: every finding this index needs is on the sheet." in text
    assert (
        "13 3 mm open Open bite in front, from edge to edge on: 1 for each full mm, at least 1 3 "
        "1 mm more (at 4 mm open) scores 4 just under 3 mm open scores 2" in text
    )
    assert "common practice, no source" in text


def test_rows_stand_in_the_order_of_the_form(client: Client, sheet: Sheet) -> None:
    html = client.get(address(sheet)).content.decode()
    rows = re.findall(r'<tbody class="category" id="row-(\w+)">', html)
    assert rows[:4] == ["overjet", "negative_overjet", "overbite", "anterior_open_bite"]
    assert rows[-1] == "other"


def test_lines_without_points_are_folded_under_their_row(client: Client, sheet: Sheet) -> None:
    html = client.get(address(sheet)).content.decode()
    (row,) = re.findall(r'id="row-anb">(.*?)</tbody>', html, re.S)
    assert "<summary>1 line without points</summary>" in row
    assert "<details>" in row


def test_an_incomplete_score_is_a_floor_and_leads_to_the_fields_that_lack(
    client: Client, owner: User
) -> None:
    sheet = measured_sheet(owner, "overjet 11 11", "- anb mouth")
    html = client.get(address(sheet)).content.decode()
    assert "A floor: findings are missing" in html
    assert f"{reverse('desk:measure', args=[sheet.public_id])}#q-anb" in html
    assert "at least 5 points" in shown(client, sheet)


def test_an_unmeasured_sheet_leads_to_the_measuring_page(client: Client, owner: User) -> None:
    text = shown(client, sheet_of(owner))
    assert "Not measured yet" in text
    assert "Keep this score" not in text


def test_conventions_in_force_are_told(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, "sn_mp mouth 32")
    assert "SN to mandibular plane: taken to the plane in force, Go–Me" in shown(client, sheet)


def test_records_outside_the_meaning_of_the_index_say_so(client: Client, owner: User) -> None:
    assert "Outside its meaning." in shown(client, sheet_of(owner, stage="final"))


def test_the_cautions_stand_on_the_page(client: Client, sheet: Sheet) -> None:
    text = shown(client, sheet)
    assert "A score counts what is wrong; it is no measure of difficulty and no diagnosis." in text
    assert "current instructions prevail. Treatment decisions belong to the licensed clinician." in text


def test_other_readings_show_the_total_they_would_give(client: Client, sheet: Sheet) -> None:
    assert "1 for edge to edge and 1 for each millimetre beyond it would give 41" in shown(client, sheet)


def test_a_set_is_put_in_force_for_the_whole_portfolio_with_one_click(client: Client, sheet: Sheet) -> None:
    other = measured_sheet(sheet.reader, "overbite 11 -4")
    said = choose(client, sheet, choice_set="as_printed")
    assert "Rule choices in force: as printed. It holds for every case of Harbour portfolio" in said
    assert "41 points" in said
    assert "5 points" in shown(client, other)
    assert "35 points" in choose(client, sheet, choice_set="as_shipped")


def test_one_choice_makes_an_own_set(client: Client, sheet: Sheet) -> None:
    said = choose(client, sheet, choice="open_bite_start=edge_point_plus")
    assert "In force now: Anterior open bite starts, 1 for edge to edge" in said
    assert "Own in force 1 choice other than as shipped." in said
    assert "41 points" in said


@pytest.mark.parametrize(
    "what", [{}, {"choice": "diastema=always"}, {"choice": "x"}, {"choice_set": "strict"}]
)
def test_what_is_no_choice_changes_nothing_and_says_so(
    client: Client, sheet: Sheet, what: dict[str, str]
) -> None:
    assert "That is no rule choice of this index; nothing was changed." in choose(client, sheet, **what)
    assert "35 points" in shown(client, sheet)


def test_a_kept_score_is_listed_and_a_second_click_keeps_no_second(client: Client, sheet: Sheet) -> None:
    assert "The score is kept." in keep(client, sheet)
    assert "This score had been kept before" in keep(client, sheet)
    assert ScoreRun.objects.count() == 1
    assert "Odile Marchetti 35 still holds" in shown(client, sheet)


def test_a_page_that_is_out_of_date_keeps_nothing(client: Client, sheet: Sheet) -> None:
    now = selectors.scored(loaded(sheet), "discrepancy")
    change(sheet, "overbite", "13", "o 5")
    assert "Nothing was kept" in words(client.post(address(sheet, "keep"), seen(now), follow=True))
    assert "nothing was kept" in words(client.post(address(sheet, "keep"), {}, follow=True))
    assert not ScoreRun.objects.exists()


def test_a_page_that_had_shown_other_teeth_keeps_nothing(client: Client, sheet: Sheet) -> None:
    now = selectors.scored(loaded(sheet), "discrepancy")
    other_teeth(sheet, dentition="permanent", teeth=tuple(t for t in teeth.DEFAULT_PERMANENT if t != "17"))
    assert "Nothing was kept" in words(client.post(address(sheet, "keep"), seen(now), follow=True))
    assert not ScoreRun.objects.exists()
    assert "The score is kept." in keep(client, sheet)


def test_a_stale_kept_score_says_what_moved_line_by_line(client: Client, sheet: Sheet) -> None:
    keep(client, sheet)
    change(sheet, "overbite", "13", "o 5")
    choose(client, sheet, choice_set="as_printed")
    assert "stale 1 finding changed since; other rule choices, 43 now" in shown(client, sheet)
    text = words(client.get(reverse("desk:kept", args=[ScoreRun.objects.get().public_id])))
    assert "Kept score: 35" in text
    assert "Kept 35, today 43 (+8)" in text
    assert "Overbite 13 3 mm open 5 mm open" in text
    assert "Anterior open bite 13 Overbite: 3 mm open 3 Overbite: 5 mm open 6 +3" in text
    assert (
        "Anterior open bite starts full millimetres alone; a tooth edge to edge counts 1 1 for edge to edge"
        in text
    )


def test_a_kept_score_that_holds_says_so(client: Client, sheet: Sheet) -> None:
    keep(client, sheet)
    text = words(client.get(reverse("desk:kept", args=[ScoreRun.objects.get().public_id])))
    assert "Nothing has moved since" in text


def test_an_index_that_nobody_knows_does_not_exist(client: Client, sheet: Sheet) -> None:
    for name in ("score", "tally"):
        assert client.get(reverse(f"desk:{name}", args=[sheet.public_id, "nothing"])).status_code == 404


def test_somebody_elses_score_does_not_exist_and_is_not_changed(client: Client, sheet: Sheet) -> None:
    keep(client, sheet)
    stranger = signed_in(person(name="Piet Vandermeulen"))
    run = ScoreRun.objects.get()
    assert stranger.get(address(sheet)).status_code == 404
    assert stranger.get(address(sheet, "tally")).status_code == 404
    assert stranger.get(reverse("desk:kept", args=[run.public_id])).status_code == 404
    assert stranger.post(address(sheet, "choose"), {"choice_set": "as_printed"}).status_code == 404
    assert stranger.post(address(sheet, "keep"), {"version": 1, "choices": "x"}).status_code == 404
    assert "35 points" in shown(client, sheet)


def test_the_pages_take_few_queries_whatever_was_kept(client: Client, sheet: Sheet) -> None:
    client.get(address(sheet))
    keep(client, sheet)
    run = ScoreRun.objects.get()
    for n in range(4, 9):
        change(sheet, "overbite", "13", f"o {n}")
        keep(client, sheet)
    for path in (address(sheet), address(sheet, "tally"), reverse("desk:kept", args=[run.public_id])):
        with CaptureQueriesContext(connection) as asked:
            client.get(path)
        assert len(asked) < 12, (path, "\n".join(q["sql"][:150] for q in asked))
