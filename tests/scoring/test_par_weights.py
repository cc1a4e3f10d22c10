"""Weights and editions of PAR, judgements published on its totals, stages, what is asked.

Table: form and instructions for the evaluation of treatment by PAR (undated public copy); values marked
`from memory` are of Richmond et al., Eur J Orthod 1992;14:125-139, as passed on.
"""

from decimal import Decimal
from functools import partial

import pytest

from portfolio.readings import Sheet
from portfolio.sources import cite
from scoring import kernel, registry
from scoring.index import ChoiceRefused
from tests.scoring import scored_lines
from tests.scoring.scored_lines import line
from tests.scoring.sheets import cases, neutral_with

INDEX = registry.index("par")
OFFSETS = "contact_offset mouth rest_none"
scored = partial(scored_lines.scored, "par")
raw = partial(scored_lines.raw, "par")


def test_nothing_recorded_leaves_every_category_open() -> None:
    score = registry.score("par", Sheet("initial", "permanent"))
    assert set(score.categories.values()) == {None}
    assert (score.total, score.complete, score.verdicts) == (Decimal(0), False, ())
    assert score.extra == {"totals": {"uk1992": "0", "us1995": "0"}}


@pytest.mark.parametrize(
    ("edition", "weights"),
    [
        ("uk1992", "1 1 1 6 2 4"),
        ("us1995", "1 0 2 5 3 3"),
        ("site:A-1_b:1,2,4.5,3,3.5", "1 1 2 4.5 3 3.5"),
        ("site:clinic:0,20,1.25,2,3,4", "0 20 1.25 2 3 4"),
    ],
)
def test_weights_of_an_edition(edition: str, weights: str) -> None:
    terms = INDEX.terms(edition, {})
    assert [terms.weight(category) for category in INDEX.categories] == [Decimal(w) for w in weights.split()]
    assert (
        list(INDEX.categories) == "upper_anterior lower_anterior buccal overjet overbite centreline".split()
    )


@pytest.mark.parametrize(
    ("edition", "says"),
    [
        ("us1994", "par has no edition 'us1994'; allowed: uk1992, us1995, site:NAME:WEIGHTS"),
        ("site:clinic", "par has no weights for site:clinic; write site:NAME:WEIGHTS with five weights"),
        ("site:clinic:", "par has no weights for site:clinic"),
        ("site:", "'' is not a name of own weights; it takes up to 20 letters, digits, - and _"),
        ("site::1,1,1,1,1", "is not a name"),
        ("site:our clinic:1,1,1,1,1", "'our clinic' is not a name"),
        ("site:" + "a" * 21 + ":1,1,1,1,1", "is not a name"),
        ("site:clinic:1,1,1,1", "has 4 weights; write"),
        ("site:clinic:1,1,1,1,1,1,1", "has 7 weights"),
        ("site:clinic:1,1,1,1,20.01", "'20.01' is not a weight; it takes a number of 0 to 20"),
        ("site:clinic:1,1,1,1,21", "is not a weight"),
        ("site:clinic:1,1,1,1,1.005", "is not a weight"),
        ("site:clinic:1,1,1,1,-1", "is not a weight"),
        ("site:clinic:1,1,1,1,NaN", "is not a weight"),
        ("site:clinic:1,1,1,1,", "'' is not a weight"),
        ("site:clinic:1 1 1 1 1", "is not a weight"),
        ("site:clinic:1,1,1,1,\u0661", "is not a weight"),
        ("site:clinic\n:1,1,1,1,1", "is not a name"),
    ],
)
def test_an_edition_that_cannot_be_read_is_refused_in_words(edition: str, says: str) -> None:
    with pytest.raises(ChoiceRefused) as refused:
        INDEX.edition(edition)
    assert says in str(refused.value)


def test_an_unknown_choice_or_value_is_refused() -> None:
    with pytest.raises(ChoiceRefused, match="space_and_offset, transverse_single"):
        scored(choices={"spaces": "straight"})
    with pytest.raises(ChoiceRefused, match="form, papers"):
        scored(choices={"transverse_single": "book"})


def test_totals_by_every_set_of_weights_stand_beside_and_a_weight_of_0_takes_no_steps() -> None:
    own = "site:clinic:2,1,1,1,0.5"
    changes = (OFFSETS, "contact_offset 41-31 3", "midline_share mouth 60")
    score = scored(*changes, edition=own)
    assert score.total == 5
    assert score.extra == {"totals": {"uk1992": "10", "us1995": "6", own: "5"}}
    free = line(scored(*changes, edition="us1995"), "lower_anterior", "41-31")
    assert (free.raw, free.points, free.next_step, free.previous_step) == (Decimal(2), Decimal(0), None, None)


@pytest.mark.parametrize(
    ("stage", "edition", "overjet", "changes", "says"),
    [
        ("initial", None, "9.1", (), "17 or more: need for treatment"),
        ("initial", "us1995", "9.1", (), "17 or more: need for treatment"),
        (
            "initial",
            None,
            "7",
            ("buccal_interdigitation left off", "midline_share mouth 30"),
            "17 or more: need for treatment",
        ),
        ("initial", None, "7", ("midline_share mouth 30",), "under 17: no need for treatment"),
        ("interim", None, "2", (), "under 17: no need for treatment"),
        ("initial", None, "9.1", ("- overbite_cover mouth",), "17 or more: need for treatment"),
        ("initial", None, "2", ("- overbite_cover mouth",), ""),
        ("initial", "site:own:1,1,6,2,4", "9.1", (), ""),
        ("final", None, "2", (), "5 or less: near ideal result (from memory)"),
        ("final", None, "3.1", (), "10 or less: acceptable result (from memory)"),
        ("retention", None, "5.1", (), "over 10: past the limit of an acceptable result (from memory)"),
        (
            "final",
            None,
            "5.1",
            ("- overbite_cover mouth",),
            "over 10: past the limit of an acceptable result (from memory)",
        ),
        ("final", None, "3.1", ("- overbite_cover mouth",), ""),
        ("final", "us1995", "2", (), ""),
    ],
)
def test_published_judgements_on_one_record_set(
    stage: str, edition: str | None, overjet: str, changes: tuple[str, ...], says: str
) -> None:
    """Need: Firestone et al. 2002, at 17 by UK and US weights alike; results of 10 and 5: from memory."""
    score = scored(f"overjet 11 {overjet}", *changes, edition=edition, stage=stage)
    assert [v.says for v in score.verdicts] == ([says] if says else [])
    assert {v.source for v in score.verdicts} <= {cite("par_need_2002"), cite("par_1992_rules")}


@pytest.mark.parametrize(
    ("stage", "dentition", "inside"),
    [(stage, "permanent", True) for stage in ("initial", "interim", "final", "retention", "post_retention")]
    + [("initial", "mixed", True), ("initial", "primary", False)],
)
def test_it_is_meant_for_every_stage_and_not_for_the_primary_dentition(
    stage: str, dentition: str, inside: bool
) -> None:
    sheet = Sheet(stage, dentition)
    assert ("par" in registry.meant_for(sheet)) is inside
    assert bool(registry.score("par", sheet).outside) is not inside


@pytest.mark.parametrize(
    ("changes", "category", "site", "certainty"),
    [
        (("overbite_cover mouth 30",), "overbite", "mouth", "memory"),
        (("overbite_cover mouth 50",), "overbite", "mouth", "read"),
        (("overbite 11 -2",), "overbite", "11", "read"),
        (("overbite 11 -3",), "overbite", "11", "memory"),
        (("overbite 11 -3.5",), "overbite", "11", "practice"),
        (("overbite 11 -4",), "overbite", "11", "memory"),
        (("midline_share mouth 30",), "centreline", "mouth", "memory"),
        (("overjet 11 4",), "overjet", "11", "read"),
    ],
)
def test_what_is_from_memory_or_our_reading_says_so(
    changes: tuple[str, ...], category: str, site: str, certainty: str
) -> None:
    assert line(scored(*changes), category, site).certainty == certainty


def test_what_is_asked_names_the_sites_that_stand_and_is_enough() -> None:
    for case in cases("par"):
        asked = {a.quantity: a for a in kernel.asks(INDEX, case.sheet, case.choices, case.edition)}
        if case.complete:
            assert {f.quantity for f in case.sheet.findings} <= set(asked), case.name
    asked = {
        a.quantity: a
        for a in registry.needs(["par"], neutral_with(["gap mouth rest_none", "gap 12-11 2"], "par"))
    }
    assert asked["contact_offset"].sites == (
        "13-12",
        "12-11",
        "11-21",
        "21-22",
        "22-23",
        "43-42",
        "42-41",
        "41-31",
        "31-32",
        "32-33",
    )
    assert (asked["overbite_cover"].needed, asked["overbite"].needed) == (True, False)
    assert not asked["impacted"].needed
    assert "eruption_space" not in asked
    assert "anb" not in asked


def test_only_what_a_value_makes_needed_is_asked() -> None:
    open_ = [
        "- overbite_cover mouth",
        "overbite 11 -1",
        "midline_offset mouth 2",
        "eruption 13 unerupted",
        "- overjet 13",
    ]
    asked = {a.quantity: a for a in registry.needs(["par"], neutral_with(open_, "par"))}
    assert (asked["overbite_cover"].needed, asked["overbite"].needed) == (False, True)
    assert (asked["midline_share"].needed, asked["midline_offset"].needed, asked["tooth_width"].needed) == (
        False,
        True,
        True,
    )
    assert asked["eruption_space"].sites == ("13",)
    assert asked["support_zone"].sites == ("upper-right-back",)
    assert "14-12" in asked["gap"].sites


def test_a_band_that_is_not_printed_is_cited_as_our_reading() -> None:
    for value, source in (("-3", "par_form"), ("-3.5", "par_settled"), ("-4", "par_form")):
        assert line(scored(f"overbite 11 {value}"), "overbite", "11").source == cite(source)
