"""Points that follow from the printed inputs of case reports never exceed the printed total.

Sources: the seven case reports named in tests/data/published_discrepancy_cases.toml.
"""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from scoring import registry
from tests.scoring.sheets import sheet

CASES = tomllib.loads((Path(__file__).parents[1] / "data" / "published_discrepancy_cases.toml").read_text())[
    "case"
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["id"])
def test_points_of_a_published_case_follow_from_its_inputs(case: dict[str, Any]) -> None:
    score = registry.score("discrepancy", sheet(case["findings"]))
    recorded = {key: value for key, value in score.categories.items() if key in case["points"]}
    assert recorded == {key: Decimal(value) for key, value in case["points"].items()}


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["id"])
def test_points_of_a_published_case_never_exceed_its_printed_total(case: dict[str, Any]) -> None:
    score = registry.score("discrepancy", sheet(case["findings"]))
    assert not score.complete
    assert score.total is not None
    assert 0 < score.total <= case["printed_total"]


def test_all_seven_reports_are_there_with_their_source() -> None:
    assert len(CASES) == 7
    assert all(case["source"] for case in CASES)
