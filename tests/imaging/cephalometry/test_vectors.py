"""The vector file: it is what plain trigonometry gives, and the product gives the same."""

import json
from typing import Any

import pytest

from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.reading import read_tracing
from imaging.cephalometry.registry import MEASURES
from imaging.cephalometry.trace_print import as_dict
from tests.imaging.cephalometry import vectors

HELD: dict[str, Any] = json.loads(vectors.FILE.read_text())


def test_the_file_is_what_its_recipe_makes() -> None:
    assert json.loads(json.dumps(vectors.made())) == HELD


@pytest.mark.parametrize("case", HELD["cases"], ids=lambda case: case["name"])
def test_the_product_gives_what_the_file_expects(case: dict[str, Any]) -> None:
    printed = as_dict(*measure_face(read_tracing(json.dumps(case["tracing"]))))
    assert {r["key"]: r["why"] for r in printed["refused"]} == case["refused"]
    told = {m.pop("key"): m for m in printed["measures"]}
    assert told.keys() | case["refused"].keys() == set(MEASURES)
    assert told == case["measures"]
