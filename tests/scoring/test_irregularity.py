"""The irregularity index: the five contacts, the bands, and when there is no total.

Source: Little, Am J Orthod 1975;68:554-563, as told by an encyclopaedia page; bands between whole
millimetres are closed by us.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.readings import Sheet
from scoring import kernel, registry
from scoring.hits import Missing
from scoring.index import ChoiceRefused
from scoring.indices.irregularity.rules import SIX_NEEDED, SUM
from scoring.kernel import tallies
from scoring.result import Score
from tests.scoring.rule_cells import fired_cells, held_cells
from tests.scoring.sheets import cases, neutral_with, sheet

INDEX = registry.index("irregularity")
CONTACTS = ("43-42", "42-41", "41-31", "31-32", "32-33")
OFFSETS = st.lists(st.integers(0, 1500).map(lambda n: Decimal(n) / 100), min_size=5, max_size=5)


def scored(*findings: str, **frame: str) -> Score:
    return registry.score("irregularity", sheet(findings, **frame))


def measured(offsets: list[Decimal]) -> Score:
    return scored(*(f"contact_offset {c} {v}" for c, v in zip(CONTACTS, offsets, strict=True)))


@pytest.mark.parametrize(
    ("offset", "band"),
    [
        ("0", "perfect"), ("0.01", "minimal"), ("1", "minimal"), ("3", "minimal"), ("3.99", "minimal"),
        ("4", "moderate"), ("4.01", "moderate"), ("6", "moderate"), ("6.99", "moderate"), ("7", "severe"),
        ("7.01", "severe"), ("9", "severe"), ("9.99", "severe"), ("10", "very_severe"), ("10.01", "very_severe"),
    ],
)  # fmt: skip
def test_a_sum_has_the_published_word_with_the_gaps_closed_upwards(offset: str, band: str) -> None:
    score = scored("contact_offset lower rest_none", f"contact_offset 41-31 {offset}")
    assert (score.extra["band"], score.complete) == (band, True)
    assert score.total == Decimal(offset)


@given(OFFSETS)
def test_the_total_is_the_sum_of_five_contacts(offsets: list[Decimal]) -> None:
    score = measured(offsets)
    assert score.total == sum(offsets)
    assert [line.site for line in score.lines] == list(CONTACTS)
    assert [line.points for line in score.lines] == offsets


@given(OFFSETS, st.integers(0, 4), st.integers(0, 500))
def test_more_displacement_never_gives_a_smaller_sum_or_a_better_word(
    offsets: list[Decimal], at: int, more: int
) -> None:
    worse = [*offsets]
    worse[at] = min(worse[at] + Decimal(more) / 100, Decimal(15))
    before, after = measured(offsets), measured(worse)
    assert before.total is not None
    assert after.total is not None
    assert before.total <= after.total
    assert SUM.points(before.total) <= SUM.points(after.total)


@pytest.mark.parametrize("tooth", ["43", "42", "41", "31", "32", "33"])
@pytest.mark.parametrize("gone", ["missing {} extracted", "eruption {} unerupted", "impacted {} yes"])
def test_without_all_six_teeth_there_is_no_total_and_the_reason_is_said(tooth: str, gone: str) -> None:
    score = scored("contact_offset lower rest_none", gone.format(tooth))
    assert (score.total, score.complete, score.extra["band"]) == (None, False, None)
    untold = tuple(c for c in CONTACTS if tooth in c.split("-"))
    assert score.missing == (Missing("contact_offset", untold, "contact_offset", lacks=SIX_NEEDED),)
    assert kernel.asks(INDEX, sheet([gone.format(tooth)]))[0].quantity != "contact_offset"


def test_a_contact_that_closes_up_does_not_stand_in_for_two() -> None:
    score = scored(
        "missing 41 extracted", *(f"contact_offset {c} 1" for c in ("43-42", "42-31", "31-32", "32-33"))
    )
    assert score.total is None


def test_statements_count_as_looked_at_and_give_one_line() -> None:
    whole = scored("contact_offset mouth none")
    assert (str(whole.total), whole.complete, whole.extra["band"]) == ("0", True, "perfect")
    assert [(line.site, str(line.points)) for line in whole.lines] == [("mouth", "0")]
    half = scored("contact_offset lower-right-front none", "contact_offset 31-32 2")
    assert [m.sites for m in half.missing] == [("41-31", "32-33")]
    assert (str(half.total), half.complete, half.extra["band"]) == ("2", False, None)


def test_nothing_recorded_is_a_floor_of_nothing() -> None:
    score = registry.score("irregularity", Sheet("initial", "permanent"))
    assert (str(score.total), score.complete, score.lines) == ("0", False, ())
    assert [m.sites for m in score.missing] == [CONTACTS]


def test_it_asks_for_its_five_contacts_and_nothing_else_as_needed() -> None:
    asked = kernel.asks(INDEX, Sheet("initial", "permanent"))
    assert [(a.quantity, a.sites) for a in asked if a.needed] == [("contact_offset", CONTACTS)]
    assert {a.quantity for a in asked if not a.needed} == {"missing", "eruption"}


def test_it_has_a_meaning_in_the_permanent_dentition_at_every_stage() -> None:
    for stage in ("initial", "interim", "final", "retention", "post_retention"):
        assert INDEX.outside(Sheet(stage, "permanent")) == ""
    assert "mixed" in INDEX.outside(Sheet("initial", "mixed"))
    assert "primary" in INDEX.outside(Sheet("initial", "primary"))


def test_there_is_one_edition_and_nothing_to_choose() -> None:
    with pytest.raises(ChoiceRefused, match="1975"):
        registry.score("irregularity", Sheet("initial", "permanent"), edition="1976")
    with pytest.raises(ChoiceRefused, match="none"):
        registry.score("irregularity", Sheet("initial", "permanent"), choices={"band": "open"})


def test_printed_it_has_the_settled_fields() -> None:
    printed = registry.score("irregularity", neutral_with(index="irregularity")).as_dict("a.json")
    assert (printed["index"], printed["edition"], printed["total"]) == ("irregularity", "1975", "0")
    assert (printed["band"], printed["categories"], printed["choices"]) == ("perfect", {}, {})
    none = scored("missing 41 lost").as_dict("b.json")
    assert (none["total"], none["complete"], none["band"]) == (None, False, None)


def test_every_band_fires_in_a_worked_case() -> None:
    found: set[str] = set()
    for case in cases("irregularity"):
        found |= fired_cells(tallies(INDEX, case.sheet, INDEX.terms(None, {})))
    assert held_cells(INDEX, "1975", {}) == found
    assert {case.says["band"] for case in cases("irregularity") if "band" in case.says} == {
        "perfect", "minimal", "moderate", "severe", "very_severe",
    }  # fmt: skip
