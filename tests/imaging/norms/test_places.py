"""Norms stand in places; the portfolio's own come first, and what moves with age is told for an age."""

from __future__ import annotations

import pytest

from imaging.cephalometry.measure import Norm
from imaging.cephalometry.registry import ANALYSES
from imaging.norms.places import (
    Figures,
    Place,
    certainty_words,
    every_place,
    in_force,
    norm_words,
    places_of,
    published_at,
    value_at,
)

SNA = Place("steiner", "sna")


def test_every_published_norm_has_one_place_and_every_place_one_key() -> None:
    for analysis in ANALYSES.values():
        found = [published_at(place) for place in places_of(analysis.key)]
        assert sorted(map(repr, filter(None, found))) == sorted(map(repr, analysis.norms))
    assert len(every_place()) == sum(len(places_of(key)) for key in ANALYSES)


def test_measures_without_a_published_norm_have_a_place_too() -> None:
    place = every_place()["bjork_jarabak-n_me-1"]
    found = in_force(place, {})
    assert (found.norm, found.source, found.own) == (None, "", False)


def test_an_own_norm_comes_in_the_place_of_the_published_one() -> None:
    own = Figures("81", "3.2", source="Ward measurements, 2024, our clinic")
    found = in_force(SNA, {SNA: own})
    assert found.norm is not None
    assert (found.norm.value, found.norm.sd, found.source) == ("81", "3.2", own.source)
    assert found.own
    assert found.published == published_at(SNA)
    assert not in_force(Place("downs", "sna"), {SNA: own}).own


@pytest.mark.parametrize(
    ("months", "value"),
    # 26 at 9 years, −0.3 a year: after Ricketts, notes on the twelve factors; change with age from memory.
    [(9 * 12, "26.0"), (12 * 12, "25.1"), (13 * 12 + 6, "24.7"), (3 * 12, "27.8"), (16 * 12, "23.9")],
)
def test_a_norm_that_moves_with_age_is_told_for_the_age(months: int, value: str) -> None:
    norm = published_at(every_place()["ricketts-fma-1"])
    assert norm is not None
    assert value_at(norm, months) == value


@pytest.mark.parametrize("months", [None, 35, 193])
def test_without_an_age_within_growth_such_a_norm_has_no_value(months: int | None) -> None:
    norm = published_at(every_place()["ricketts-fma-1"])
    assert norm is not None
    assert value_at(norm, months) == ""


def test_a_norm_that_stands_is_the_same_at_every_age() -> None:
    norm = published_at(SNA)
    assert norm is not None
    assert value_at(norm, None) == value_at(norm, 100) == "82"


@pytest.mark.parametrize(
    ("norm", "words"),
    [
        (Norm("sna", "82", "3.5"), "82° ± 3.5"),
        (Norm("facial_angle", "87.8", "3.6", "82", "95"), "87.8° ± 3.6 (82 to 95)"),
        (Norm("snd", low="76", high="77"), "76 to 77°"),
        (Norm("eline_upper", low="-4", high="-3", sd="2"), "−4 to −3 mm ± 2"),
        (Norm("fma", "26", "4.5", age_years=9, per_year="-0.3"), "26° at 9 years, −0.3 a year, ± 4.5"),
        (Norm("facial_depth", "87", age_years=9, per_year="0.33"), "87° at 9 years, +0.33 a year"),
        (Norm("holdaway_ratio", "1"), "1"),
        (None, ""),
    ],
)
def test_figures_are_told_in_words_with_their_unit(norm: Norm | None, words: str) -> None:
    assert norm_words(norm) == words


def test_a_figure_from_memory_keeps_its_mark_also_where_only_the_deviation_is() -> None:
    assert certainty_words(published_at(SNA)) == "read; deviation from memory"
    assert certainty_words(published_at(Place("bjork_jarabak", "saddle"))) == "from memory"
