"""The lines nearest to a step, in deviations, against a search that tries values one by one."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from portfolio.errors import error_of
from portfolio.finding_sheet import Finding, Sheet
from scoring import registry
from scoring.line_names import form_order, line_names
from scoring.other_readings import under_other_readings
from scoring.result import Line, Score
from scoring.weakest import steps_apart, weakest
from tests.scoring.sheets import neutral_with

OPEN_FRONT = ("overbite 13 -3", "overbite 12 -6", "overbite 11 -8", "overbite 23 -3.8", "overjet 11 3.6")
HUNDREDTH = Decimal("0.01")
FARTHEST = 400


def scored(sheet: Sheet) -> Score:
    return registry.score("discrepancy", sheet, detail="lines")


def with_value(sheet: Sheet, finding: Finding, value: Decimal) -> Sheet:
    after = replace(finding, value=format(value, "f"))
    return replace(sheet, findings=tuple(after if f == finding else f for f in sheet.findings))


def tried(sheet: Sheet, line: Line, name: tuple[str, str, int], finding: Finding, way: int) -> Decimal | None:
    """How far the number has to go this way until the line scores otherwise, by trying each hundredth."""
    for count in range(1, FARTHEST + 1):
        moved = scored(with_value(sheet, finding, finding.number + way * count * HUNDREDTH))
        lines = form_order(moved)
        then = dict(zip(line_names(lines), lines, strict=True)).get(name)
        if then is None or then.points != line.points:
            return count * HUNDREDTH
    return None


def test_the_weakest_lines_are_those_a_search_by_hundredths_finds() -> None:
    sheet = neutral_with(OPEN_FRONT)
    lines = form_order(scored(sheet))
    listed = weakest(lines, error_of)
    assert len(listed) == 10
    distances = [one.nearest[0].sds for one in listed]
    assert distances == sorted(distances)
    assert [(one.nearest[0].sds, one.place) for one in listed] == sorted(
        (one.nearest[0].sds, one.place) for one in listed
    ), "equals stand in the order of the form"
    names, searched = line_names(lines), 0
    for weak in listed:
        if weak.line.site not in ("13", "12", "11", "23"):
            continue
        finding = weak.nearest[0].finding
        searched += 1
        found = [tried(sheet, weak.line, names[weak.place], finding, way) for way in (1, -1)]
        nearest = min(one for one in found if one is not None)
        assert abs(nearest - weak.nearest[0].distance) <= HUNDREDTH, weak
        assert weak.nearest[0].sds == float(weak.nearest[0].distance) / error_of(finding).sd
    assert searched >= 3


def test_every_line_with_a_step_is_no_nearer_than_those_listed() -> None:
    lines = form_order(scored(neutral_with(OPEN_FRONT)))
    listed = weakest(lines, error_of)
    places = {one.place for one in listed}
    rest = [
        one.sds
        for place, line in enumerate(lines)
        if place not in places
        for one in steps_apart(line, error_of)
    ]
    assert all(one >= listed[-1].nearest[0].sds for one in rest)


def test_distances_are_told_in_the_deviation_of_the_finding_itself() -> None:
    sheet = neutral_with(("overbite 23 -3.8",))
    sure = replace(
        sheet, findings=tuple(replace(f, sd="0.10") if f.site == "23" else f for f in sheet.findings)
    )
    (line,) = (one for one in form_order(scored(sure)) if one.site == "23" and one.points)
    assert {one.sds for one in steps_apart(line, error_of)} == {2.0, 8.0}
    certain = line._replace(findings=tuple(replace(f, sd="0") for f in line.findings))
    assert steps_apart(certain, error_of) == ()


def test_every_line_has_a_name_of_its_own_in_the_order_of_the_form() -> None:
    score = scored(neutral_with(OPEN_FRONT))
    lines = form_order(score)
    assert sorted(map(id, lines)) == sorted(map(id, score.lines))
    assert len(set(line_names(lines))) == len(lines)
    rows = list(score.categories)
    at = [rows.index(line.category) for line in lines if line.category in rows]
    assert at == sorted(at)


def test_other_readings_of_a_rule_choice_are_told_at_the_lines_they_change() -> None:
    sheet = neutral_with(OPEN_FRONT)
    score = registry.score("discrepancy", sheet)
    told = under_other_readings(registry.index("discrepancy"), sheet, score)
    assert told
    names = line_names(form_order(score))
    assert set(told) <= set(names)
    for others in told.values():
        assert all(one.value != score.choices[one.choice] for one in others)
