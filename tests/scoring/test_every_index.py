"""What holds for every index: order and side do not matter, lines explain the points, less detail changes nothing."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.readings import Sheet, check
from portfolio.sources import SOURCES
from scoring import registry
from scoring.frozen import freeze, thaw
from scoring.kernel import Detail
from scoring.result import Score
from scoring.shapes import plain
from tests.scoring.sheets import Case, cases, mirrored

ALL = [(key, case) for key in registry.INDEXES for case in cases(key)]
NAMED = [pytest.param(key, case, id=f"{key}: {case.name}") for key, case in ALL]


def scored(key: str, case: Case, sheet: Sheet | None = None, detail: Detail = "all") -> Score:
    return registry.score(key, case.sheet if sheet is None else sheet, case.edition, case.choices, detail)


@pytest.mark.parametrize(("key", "case"), NAMED)
def test_a_worked_case_gives_what_it_says(key: str, case: Case) -> None:
    score = scored(key, case)
    assert score.total == case.total
    assert score.complete is case.complete
    assert {name: value for name, value in score.categories.items() if value} == case.points
    assert [f"{m.quantity} {' '.join(m.sites)}" for m in score.missing] == case.missing
    printed = score.as_dict("sheet")
    assert {name: printed[name] for name in case.says} == case.says


@pytest.mark.parametrize(("key", "case"), NAMED)
def test_left_and_right_exchanged_score_the_same(key: str, case: Case) -> None:
    other = mirrored(case.sheet)
    assert [str(f) for f in check(other)] == []
    before, after = scored(key, case), scored(key, case, other)
    assert (after.total, after.categories, after.complete) == (
        before.total,
        before.categories,
        before.complete,
    )
    assert after.other_totals == before.other_totals


@given(st.sampled_from(ALL), st.randoms(use_true_random=False))
def test_the_order_of_findings_does_not_matter(named: tuple[str, Case], shuffler: object) -> None:
    key, case = named
    findings = list(case.sheet.findings)
    shuffler.shuffle(findings)  # type: ignore[attr-defined]
    before = scored(key, case)
    after = scored(key, case, replace(case.sheet, findings=tuple(findings)))
    assert (after.total, after.categories, after.missing) == (before.total, before.categories, before.missing)
    assert (after.other_totals, after.extra, after.verdicts) == (
        before.other_totals,
        before.extra,
        before.verdicts,
    )


@pytest.mark.parametrize(("key", "case"), NAMED)
def test_the_lines_of_a_category_sum_to_its_points_and_beaten_ones_give_none(key: str, case: Case) -> None:
    score = scored(key, case)
    assert all(line.points == 0 for line in score.lines if line.beaten_by)
    for category, points in score.categories.items():
        lines = [line for line in score.lines if line.category == category]
        assert sum((line.points for line in lines), Decimal(0)) == (points or 0)
    if score.categories and score.total is not None:
        assert score.total == sum((v for v in score.categories.values() if v is not None), Decimal(0))


@pytest.mark.parametrize(("key", "case"), NAMED)
def test_every_line_names_a_source_and_a_certainty(key: str, case: Case) -> None:
    cited = {str(source) for source in SOURCES.values()}
    for line in scored(key, case).lines:
        assert line.source in cited
        assert line.certainty in ("read", "memory", "derived", "practice")
        assert line.rule


@pytest.mark.parametrize(("key", "case"), NAMED)
def test_less_detail_and_keeping_it_change_nothing(key: str, case: Case) -> None:
    whole, short = scored(key, case), scored(key, case, detail="totals")
    assert (short.total, short.categories, short.missing) == (whole.total, whole.categories, whole.missing)
    assert (short.extra, short.verdicts) == (whole.extra, whole.verdicts)
    assert short.lines == ()
    assert thaw(freeze(whole, registry.index(key))) == whole


@pytest.mark.parametrize(("key", "case"), NAMED)
def test_the_next_step_lies_toward_more_points_and_the_step_before_toward_fewer(key: str, case: Case) -> None:
    for line in scored(key, case).lines:
        here = line.raw * _weight(key, case, line.category)
        for step, side in ((line.next_step, 1), (line.previous_step, -1)):
            if step is not None and step.points != here:
                assert (step.points - here) * side > 0, (line, plain(here))


def _weight(key: str, case: Case, category: str) -> Decimal:
    return registry.index(key).terms(case.edition, case.choices).weight(category)


@pytest.mark.parametrize("key", list(registry.INDEXES))
def test_worked_cases_say_where_their_values_come_from_and_use_every_edition_and_choice(key: str) -> None:
    index, found = registry.index(key), cases(key)
    origins = {"published", "handbook", "practice", "memory", "constructed"}
    assert {case.origin for case in found} <= origins
    assert [case.name for case in found if case.origin == "published" and not case.source] == []
    assert len({case.name for case in found}) == len(found)
    used = {(c.id, case.choices.get(c.id, c.default)) for case in found for c in index.choices}
    assert used == {(c.id, value) for c in index.choices for value in c.values}
    assert {index.edition(case.edition) for case in found} >= set(index.editions)
