"""The invented cases by themselves: possible, probable, complete, and scored as they were when they were made."""

from decimal import Decimal

import pytest

from demo import scenario
from demo.scenario.results import TABLE
from scoring import registry

BOARD_TOTALS = {
    "deep-overjet-initial": {"discrepancy": "28", "par": "44", "icon": "82", "iotn": "5a", "irregularity": "8.3"},
    "deep-overjet-final": {"outcome": "18", "par": "1", "icon": "14", "irregularity": "1.2"},
    "open-bite-initial": {"discrepancy": "51", "par": "22", "icon": "85", "iotn": "4e", "irregularity": "3.3"},
    "open-bite-final": {"outcome": "27", "par": "10", "icon": "29", "irregularity": "1.8"},
    "reverse-overjet-initial": {"discrepancy": "34", "par": "45", "icon": "66", "iotn": "4h", "irregularity": "4"},
    "palatal-canine-final": {"outcome": "13", "par": "2", "icon": "17", "irregularity": "1.6"},
}  # fmt: skip
RESULT_TOTALS = {
    "Overjet of 10 mm, lips apart": (36, 2, 76, 17),
    "Upright central incisors, deep bite": (36, 2, 80, 18),
    "Crowding of both arches, canines high": (40, 1, 84, 14),
    "Front teeth in reverse, mild": (29, 1, 51, 24),
    "Open bite of 3 mm after thumb sucking": (26, 8, 65, 24),
    "Right side crossed, jaw slides over": (18, 1, 48, 17),
    "Spaced upper front teeth": (20, 1, 62, 17),
    "Moved away, appliance taken off early": (33, 28, 64, 55),
    "Canine out of line, final casts half measured": (16, None, 54, None),
}
"""PAR before and after, ICON before and after; None where findings are missing on purpose."""


@pytest.mark.parametrize("name", BOARD_TOTALS)
def test_the_shipped_sheets_score_as_they_did_when_they_were_made(name: str) -> None:
    sheet = scenario.sheet_file(name)
    for index, wanted in BOARD_TOTALS[name].items():
        score = registry.score(index, sheet)
        assert score.complete, (index, score.missing)
        if index == "iotn":
            assert score.extra["grade"] == wanted
        else:
            assert score.total == Decimal(wanted), index


def test_every_row_of_the_results_has_its_totals_in_this_test() -> None:
    assert [row.note for row in TABLE] == list(RESULT_TOTALS)


@pytest.mark.parametrize("case", scenario.PORTFOLIOS[1].cases, ids=lambda case: case.note)
def test_the_short_cases_score_as_they_did_when_they_were_made(case: scenario.DemoCase) -> None:
    scores = [registry.score(index, sheet) for index in ("par", "icon") for sheet in case.sheets]
    found = tuple(
        int(score.total) if score.complete and score.total is not None else None for score in scores
    )
    assert found == RESULT_TOTALS[case.note]


def test_the_first_case_is_finished_to_a_full_step_after_upper_premolars_were_taken_out() -> None:
    final = scenario.sheet_file("deep-overjet-final")
    assert final.missing_teeth == {"14", "24"}
    assert {final.at("relation_target", side).value for side in ("right", "left")} == {"full2"}  # type: ignore[union-attr]
    widths = registry.score("tooth_size", final)
    assert (widths.extra["overall_percent"], widths.extra["anterior_percent"]) == (None, "77.46")


def test_what_the_mixed_dentition_leaves_room_for_is_told_from_predicted_teeth() -> None:
    space = registry.score("space", scenario.sheet_file("palatal-canine-initial"))
    assert space.complete
    assert {arch: space.extra[arch]["discrepancy"] for arch in ("upper", "lower")} == {  # type: ignore[index,call-overload]
        "upper": "-0.1",
        "lower": "-4.2",
    }
