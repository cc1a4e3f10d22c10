"""The demo's radiographs in their records: every stage of the board's cases, in the states that its pages tell apart."""

from __future__ import annotations

import pytest
from django.utils import timezone

from accounts.models import User
from demo import scenario
from demo.radiographing import HAND_MM
from demo.radiographs.film import RULER_MM
from demo.scenario.faces import radiograph, record_of
from imaging.calibrating.selectors import scale_of
from imaging.cephalometry.landmarks import LANDMARKS
from imaging.cephalometry.measuring import measure_face
from imaging.evidence import shown_evidence
from imaging.file_names import looks_private
from imaging.models import Tracing
from imaging.repeats.selectors import figures, repeatable
from imaging.superimposing.selectors import stage_lines, traced_stages
from imaging.tracing.access import visible_tracings
from imaging.tracing.offers import MAIN, on_sheet
from imaging.tracing.selectors import read
from portfolio.access import visible_cases, visible_items, visible_sheets
from portfolio.models import Case, RecordItem
from portfolio.selectors import reading

pytestmark = pytest.mark.django_db
DEEP, OPEN, REVERSE, MIXED = (case.note for case in scenario.CASES)


def laterals(candidate: User) -> dict[tuple[str, str], RecordItem]:
    rows = visible_items(candidate).filter(view="lateral").select_related("record_set__case", "file")
    return {(row.record_set.case.note, row.record_set.stage): row for row in rows}


def tracing(candidate: User, note: str, stage: str) -> Tracing:
    rows = visible_tracings(candidate).filter(repeat=0).select_related("item__record_set__case")
    return rows.get(item__record_set__case__note=note, item__record_set__stage=stage)


def case(candidate: User, note: str) -> Case:
    return visible_cases(candidate).get(note=note)


def test_every_stage_of_every_case_has_one_lateral_radiograph_that_is_traced(candidate: User) -> None:
    found = laterals(candidate)
    plans = [plan for portfolio in scenario.PORTFOLIOS for plan in portfolio.cases]
    wanted = [(plan.note, sheet.stage) for plan in plans for sheet in plan.sheets]
    assert sorted(found) == sorted(wanted)
    assert visible_items(candidate).filter(view="lateral").count() == len(wanted)
    assert visible_tracings(candidate).filter(repeat=0).count() == len(wanted)


def test_what_is_traced_measures_what_the_sheet_says(candidate: User) -> None:
    for plan in scenario.CASES:
        for sheet in plan.sheets:
            face = read(tracing(candidate, plan.note, sheet.stage)).face
            assert face is not None
            told = {one.measure.key: one.value for one in measure_face(face)[0]}
            for key in MAIN:
                if (plan.note, key) == (REVERSE, "impa"):
                    assert key not in told
                else:
                    assert f"{told[key]:.1f}" == sheet.at(key, "mouth").value, (plan.note, key)  # type: ignore[union-attr]


def test_no_file_is_called_after_anybody_and_nothing_had_to_be_removed_from_it(candidate: User) -> None:
    for row in laterals(candidate).values():
        assert row.file is not None
        assert not looks_private(row.file.shown_name)
        assert row.removed == []


def test_scales_are_those_of_the_rulers_and_one_radiograph_has_none(candidate: User) -> None:
    none = []
    for plan in scenario.CASES:
        for sheet in plan.sheets:
            scale = scale_of(laterals(candidate)[plan.note, sheet.stage])
            if scale is None:
                none.append((plan.note, sheet.stage))
                continue
            (_x, top), (_, foot) = radiograph(plan, sheet).film.ruler_ends()
            assert scale.across == scale.down == pytest.approx(RULER_MM / (foot - top))
    assert none == [(OPEN, "final")]


def test_one_tracing_was_left_after_the_bones(candidate: User) -> None:
    whole = {landmark.key for landmark in LANDMARKS}
    counts = {
        (row.item.record_set.case.note, row.item.record_set.stage): set(row.points)
        for row in visible_tracings(candidate).select_related("item__record_set__case")
    }
    half = {landmark.key for landmark in LANDMARKS if landmark.kind in ("bony", "constructed")} - {
        "OPm",
        "OPi",
        "OPp",
    }
    assert counts.pop((REVERSE, "initial")) == half
    assert all(points == whole for points in counts.values())


def test_one_radiograph_has_not_been_looked_through_and_one_is_not_checked_for_left_and_right(
    candidate: User,
) -> None:
    found = laterals(candidate)
    assert [key for key, row in found.items() if row.no_text_at is None] == [(REVERSE, "initial")]
    assert [key for key, row in found.items() if not row.side_check] == [(MIXED, "final")]
    assert {len(row.quality) for row in found.values()} == {0, 1, 5}


def test_stages_of_a_case_are_laid_on_one_another_by_stable_marks(candidate: User) -> None:
    for note in (DEEP, MIXED):
        stages = traced_stages(stage_lines(candidate, case(candidate, note)))
        for structure in ("cranial_base", "maxilla", "mandible"):
            assert len(stages[0].marks(structure)) == len(stages[1].marks(structure)) >= 4


def test_three_radiographs_were_traced_again_after_two_weeks_and_have_figures(candidate: User) -> None:
    """Each difference is the miss of one tracing, so Dahlberg's error is HAND_MM / √2 but for chance."""
    rows = repeatable(candidate, timezone.now())
    again = [row for row in rows if row.finished]
    assert len(again) == 3
    assert not any(row.early or row.open_repeat for row in again)
    told = figures(candidate)
    assert (told.pairs, told.unreadable, told.uncalibrated, told.used) == (3, 0, 0, 0)
    mean = sum(float(row.x.dahlberg) ** 2 for row in told.points) / len(told.points)
    assert mean**0.5 == pytest.approx(HAND_MM / 2**0.5, rel=0.25)


def test_marks_and_witness_pictures_stand_behind_findings_of_the_first_case(candidate: User) -> None:
    plan = scenario.CASES[0]
    sheet = visible_sheets(candidate).get(
        record_set__case__note=plan.note, record_set__stage="initial", purpose="working"
    )
    stands = reading(sheet)
    kinds: dict[str, list[str]] = {}
    for one in shown_evidence(candidate, sheet, "iso3950"):
        for piece in one.pieces:
            kinds.setdefault(piece.kind, []).append(f"{one.quantity}, {one.site}".strip(", "))
            assert piece.picture is not None
            assert piece.crop or piece.kind == "witness"
    assert {kind: len(found) for kind, found in kinds.items()} == {"marks": 5, "witness": 2, "tracing": 3}
    marked = [("tooth_width", site) for site in ("11", "21", "41", "42")] + [("molar_relation", "right")]
    for quantity, site in [*marked, ("overjet", "11"), ("overbite", "11")]:
        here, there = stands.at(quantity, site), plan.sheets[0].at(quantity, site)
        assert here is not None
        assert there is not None
        assert here.value == there.value
        assert here.method == ("picture" if (quantity, site) in marked else "caliper")


def test_short_cases_have_the_angles_of_their_tracings_as_findings(candidate: User) -> None:
    for plan in scenario.RESULTS.cases:
        for sheet in plan.sheets:
            stands = reading(
                tracing(candidate, plan.note, sheet.stage).item.record_set.sheets.get(purpose="working")
            )
            for key in MAIN:
                found = stands.at(key, "mouth")
                assert found is not None
                assert float(found.value) == pytest.approx(record_of(plan, sheet).jaws[key], abs=0.05)
                assert found.method == "tracing"
                assert found.sd


def test_findings_of_the_first_case_rest_on_its_tracings_and_keep_their_values(candidate: User) -> None:
    for sheet in scenario.CASES[0].sheets:
        traced = tracing(candidate, DEEP, sheet.stage)
        beside = on_sheet(candidate, traced)
        assert beside.from_here >= set(MAIN)
        stands = reading(traced.item.record_set.sheets.get(purpose="working"))
        for key in MAIN:
            now, planned = stands.at(key, "mouth"), sheet.at(key, "mouth")
            assert now is not None
            assert planned is not None
            assert (now.value, now.plane) == (planned.value, planned.plane)
            assert now.sd
