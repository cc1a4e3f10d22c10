"""Repeats from beginning to figures: what is shown, what is not, who may, and what own errors change."""

from __future__ import annotations

import json
import random
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from accounts.models import User
from imaging.cephalometry.landmarks import DEFAULT_POINT_SD_MM
from imaging.models import RepeatTracing, Tracing
from imaging.repeats import selectors, services
from imaging.repeats.own_errors import own_point_sds
from imaging.tracing.as_face import point_sd
from imaging.tracing.selectors import read, tracing_on
from portfolio.models import RecordItem
from portfolio.repeats import FEWEST_PAIRS_USED
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON
from tests.factories.repeats import FEW, LATER, finished, placed_again, repeat_of
from tests.factories.tracing import (
    MM_PER_PIXEL,
    ON_PICTURE,
    calibrated,
    pixel,
    placed,
    put,
    radiograph_of,
    traced,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def item(owner: User) -> RecordItem:
    return calibrated(radiograph_of(owner))


def page(owner: User, name: str, repeat: RepeatTracing) -> str:
    answer = signed_in(owner).get(reverse(f"imaging:{name}", args=[repeat.tracing.public_id]))
    assert answer.status_code == 200
    return answer.content.decode()


def save(browser: Client, repeat: RepeatTracing, points: dict[str, Any], seen: int = 0) -> Any:
    return browser.post(
        reverse("imaging:save_repeat", args=[repeat.tracing.public_id]),
        json.dumps({"seen": seen, "points": points, "request_key": uuid.uuid4().hex}),
        content_type="application/json",
    )


def shifted(by: float = 0.4) -> dict[str, Any]:
    return {
        "S": placed(*pixel(0, 0)),
        "N": placed(*pixel(70.5, 8.7)),
        "A": placed(*pixel(69.5 + by, -48.3)),
        "B": placed(*pixel(65.4, -88.2 - by)),
    }


def test_a_repeat_begins_empty_beside_the_first_and_is_gone_on_with(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    assert (repeat.tracing.repeat, repeat.tracing.points) == (1, {})
    assert repeat.first_then["points"] == FEW
    assert repeat.tracing.forward == repeat.first.forward
    again = services.begin_repeat(owner, item, uuid.uuid4(), LATER)
    assert again.pk == repeat.pk
    assert tracing_on(owner, item) == repeat.first


def test_nothing_of_the_first_tracing_stands_on_the_page_of_its_repeat(owner: User, item: RecordItem) -> None:
    """Coordinates, values and findings are looked for as text; the names of points are told, no others are asked."""
    odd = {**FEW, "A": placed(421.37, 638.91), "B": placed(413.53, 751.29, uncertain=True)}
    repeat = repeat_of(item, odd)
    put(repeat.first, {"Pog": placed(423.11, 791.83)})
    whole = page(owner, "repeat", repeat)
    for number in ("421.37", "638.91", "413.53", "751.29", "423.11", "791.83", "uncertain\\u0022: true"):
        assert number not in whole, number
    assert '"points": {}' in whole
    assert 'data-key="A"' in whole
    assert 'data-key="Pog"' not in whole, "placed after the repeat was begun"
    assert str(repeat.first.public_id) not in whole
    answer = save(signed_in(owner), repeat, {"S": placed(300, 200)}).json()
    assert answer == {"version": 1, "points": {"S": placed(300, 200)}}


def test_the_page_of_the_first_warns_while_a_repeat_is_open(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    browser, address = signed_in(owner), reverse("imaging:tracing_of", args=[item.public_id])
    assert "A repeat is under way." in browser.get(address).content.decode()
    finished(repeat, shifted())
    assert "A repeat is under way." not in browser.get(address).content.decode()


def test_the_first_may_change_and_the_pair_stays_as_it_was(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    put(repeat.first, {"A": placed(*pixel(60, -48.3))})
    told = selectors.pair_told(owner, finished(repeat, shifted()))
    assert ("A", "Point A (subspinale)", "0.4", "0.0") in told.points
    assert ("B", "Point B (supramentale)", "0.0", "\N{MINUS SIGN}0.4") in told.points


def test_a_finished_repeat_is_shown_with_both_and_is_not_changed_any_more(
    owner: User, item: RecordItem
) -> None:
    repeat = finished(repeat_of(item), shifted(2))
    shown = page(owner, "repeat", repeat)
    for words in (
        "First tracing and repeat 1",
        "counted",
        "ANB",
        "Findings are taken from the first tracing.",
    ):
        assert words in shown, words
    refused = save(signed_in(owner), repeat, {"S": placed(1, 1)})
    assert refused.status_code == 422
    assert "finished" in refused.json()["message"]
    with pytest.raises(services.CannotRepeat, match="stays"):
        services.discard_repeat(repeat)


def test_finishing_needs_three_shared_points(owner: User, item: RecordItem) -> None:
    repeat = placed_again(repeat_of(item), {"S": FEW["S"], "Me": placed(*pixel(56.5, -106.4))})
    answer = signed_in(owner).post(
        reverse("imaging:finish_repeat", args=[repeat.tracing.public_id]), follow=True
    )
    assert "1 points are placed of those" in answer.content.decode()
    repeat.refresh_from_db()
    assert repeat.finished_at is None


def test_an_unfinished_repeat_is_thrown_away_after_a_question(owner: User, item: RecordItem) -> None:
    repeat = placed_again(repeat_of(item), shifted())
    address = reverse("imaging:discard_repeat", args=[repeat.tracing.public_id])
    browser = signed_in(owner)
    assert "Throw this repeat away?" in browser.get(address).content.decode()
    assert RepeatTracing.objects.count() == 1
    browser.post(address)
    assert list(Tracing.objects.values_list("repeat", flat=True)) == [0]


def test_only_the_first_repeat_of_a_radiograph_counts(owner: User, item: RecordItem) -> None:
    one = finished(repeat_of(item), shifted(1))
    two = finished(repeat_of(item), shifted(0))
    assert two.tracing.repeat == 2
    assert selectors.pair_told(owner, one).counts
    assert not selectors.pair_told(owner, two).counts
    assert selectors.figures(owner).pairs == 1


def test_what_is_not_traced_is_not_repeated(owner: User, item: RecordItem) -> None:
    address = reverse("imaging:begin_repeat", args=[item.public_id])
    answer = signed_in(owner).post(address, {"public_id": uuid.uuid4()}, follow=True)
    assert "Trace this radiograph first" in answer.content.decode()
    assert not RepeatTracing.objects.exists()


def test_a_form_sent_twice_begins_one_repeat(owner: User, item: RecordItem) -> None:
    traced(item)
    address, key = reverse("imaging:begin_repeat", args=[item.public_id]), uuid.uuid4()
    first, second = (signed_in(owner).post(address, {"public_id": key}) for _ in range(2))
    assert first.headers["Location"] == second.headers["Location"]
    assert RepeatTracing.objects.count() == 1


def test_an_id_of_another_tracing_begins_nothing(owner: User, item: RecordItem) -> None:
    first = traced(item)
    address = reverse("imaging:begin_repeat", args=[item.public_id])
    answer = signed_in(owner).post(address, {"public_id": first.public_id}, follow=True)
    assert "This page was out of date." in answer.content.decode()
    assert not RepeatTracing.objects.exists()


def test_a_point_of_no_landmark_refuses_the_whole(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    answer = save(signed_in(owner), repeat, {"S": placed(300, 200), "nose": placed(1, 1)})
    assert answer.status_code == 422
    assert "nose is not a landmark." in answer.json()["faults"][0]["message"]
    repeat.tracing.refresh_from_db()
    assert repeat.tracing.points == {}


def test_two_tracings_of_one_number_are_refused_by_the_database(owner: User, item: RecordItem) -> None:
    first = traced(item)
    with pytest.raises(IntegrityError), transaction.atomic():
        Tracing.objects.create(item=item, reader=owner, repeat=0, forward=first.forward)


def test_a_stale_page_is_told_what_stands(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    browser = signed_in(owner)
    assert save(browser, repeat, {"S": placed(300, 200)}).status_code == 200
    stale = save(browser, repeat, {"S": placed(301, 200)}, seen=0)
    assert stale.status_code == 409
    assert stale.json()["points"]["S"] == placed(300, 200)


def test_the_list_says_what_can_be_repeated_and_what_is_early(owner: User, item: RecordItem) -> None:
    traced(item)
    (row,) = selectors.repeatable(owner, NOON + timedelta(days=3))
    assert (row.points, row.early, row.finished) == (len(ON_PICTURE), True, ())
    assert not selectors.repeatable(owner, NOON + timedelta(days=15))[0].early
    shown = signed_in(owner).get(reverse("imaging:repeats")).content.decode()
    assert "Trace again" in shown
    assert "How far you repeat yourself" not in shown
    assert "Nothing traced yet" in signed_in(person()).get(reverse("imaging:repeats")).content.decode()


def many_pairs(owner: User, count: int) -> None:
    """So many radiographs of one case, each traced and repeated with an error of 0.8 mm."""
    chance = random.Random(5)
    first = traced(calibrated(radiograph_of(owner)))
    for number in range(count):
        if number:
            item = first.item
            item.pk, item.public_id, item.position = None, uuid.uuid4(), number + 1
            item.save()
            first = traced(calibrated(item))
        made = services.begin_repeat(owner, first.item, uuid.uuid4(), LATER)
        points = {
            key: {**at, "x": at["x"] + chance.gauss(0, 5.6), "y": at["y"] + chance.gauss(0, 5.6)}
            for key, at in ON_PICTURE.items()
        }
        Tracing.objects.filter(pk=made.tracing.pk).update(points=points)
        RepeatTracing.objects.filter(pk=made.pk).update(finished_at=LATER)


def test_from_twenty_pairs_on_own_errors_stand_in_the_propagated_ones(owner: User) -> None:
    """Repeats shaken by 5.6 pixels of 0.2 mm differ by 1.12 mm: an error of 0.8 mm for one tracing."""
    many_pairs(owner, FEWEST_PAIRS_USED - 1)
    tracing = Tracing.objects.filter(repeat=0)[0]
    before = read(tracing).face
    assert before
    assert own_point_sds(owner) == {}
    assert {spot.sd for spot in before.points.values()} == {DEFAULT_POINT_SD_MM}
    assert "until then the default of 0.5 mm stands" in figures_page(owner)

    many_pairs(owner, 1)
    own = own_point_sds(owner)
    assert set(own) == set(ON_PICTURE)
    assert sum(own.values()) / len(own) == pytest.approx(0.8, rel=0.1)
    after = read(tracing).face
    assert after
    assert {key: spot.sd for key, spot in after.points.items()} == pytest.approx(own)
    shown = figures_page(owner)
    assert "your own error stands in place of the default" in shown
    assert "shown only" not in shown
    assert own_point_sds(person()) == {}

    half = sum(own.values()) / 2
    for item in RecordItem.objects.all():
        calibrated(item, mm=MM_PER_PIXEL / 2)
    assert sum(own_point_sds(owner).values()) == pytest.approx(half), "scales that were changed since"


def figures_page(owner: User) -> str:
    shown = signed_in(owner).get(reverse("imaging:repeats")).content.decode()
    for words in ("Dahlberg", "Bias (95 %)", "Front and back", "SNA", "Houston"):
        assert words in shown, words
    return shown


def test_an_uncertain_point_errs_twice_as_much_as_the_reader_does() -> None:
    assert point_sd(0.3, uncertain=False) == 0.3
    assert point_sd(0.3, uncertain=True) == pytest.approx(0.6)
    assert point_sd(None, uncertain=False) == DEFAULT_POINT_SD_MM
    assert point_sd(None, uncertain=True) == pytest.approx(1.0)


def test_repeats_are_seen_by_their_reader_alone(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    stranger = signed_in(person())
    for name in ("repeat", "finish_repeat", "discard_repeat"):
        address = reverse(f"imaging:{name}", args=[repeat.tracing.public_id])
        assert {stranger.get(address).status_code, stranger.post(address).status_code} <= {404, 405}
    assert save(stranger, repeat, {}).status_code == 404


def test_the_pages_of_a_first_tracing_do_not_open_its_repeat(owner: User, item: RecordItem) -> None:
    repeat = repeat_of(item)
    browser = signed_in(owner)
    for name in ("stable_structures", "save_stable_structures", "save_tracing", "take_over"):
        address = reverse(f"imaging:{name}", args=[repeat.tracing.public_id])
        body = json.dumps({"seen": 0, "points": {}, "request_key": "k" * 32, "take": {"anb": 0}})
        statuses = {
            browser.get(address).status_code,
            browser.post(address, body, content_type="application/json").status_code,
        }
        assert statuses <= {404, 405}, name
