"""`manage.py trace`: what it prints, what it refuses, and with which status."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from imaging.cephalometry.face import STRUCTURES
from imaging.cephalometry.registry import MEASURES

PAIR: dict[str, Any] = json.loads((Path(__file__).parents[1] / "data" / "two_tracings.json").read_text())
POINTS = {"S": [0, 0], "N": [70.5, 8.7], "A": [70, -48], "B": [64, -88], "Go": [-12, -70], "Me": [55, -108]}
MARKS = {"one": [4.5, 1.0], "two": [30.0, 8.0], "three": [12.0, -20.0]}


def tracing(folder: Path, name: str = "first.json", **entries: Any) -> str:
    """A calibrated tracing file; an entry of None is left out."""
    content = {"tracing": 1, "y": "up", "faces": "right", "mm_per_unit": "1", "points": POINTS, **entries}
    file = folder / name
    file.write_text(json.dumps({key: value for key, value in content.items() if value is not None}))
    return str(file)


def trace(*arguments: str) -> tuple[int, str, str]:
    """Status, what was printed, and what was said on stderr."""
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("trace", *arguments, stdout=out, stderr=err)
    except SystemExit as end:
        return int(str(end.code)), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def printed(*arguments: str) -> dict[str, Any]:
    status, out, err = trace(*arguments, "--json")
    assert (status, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


def test_every_measure_is_told_or_refused_with_two_decimals(tmp_path: Path) -> None:
    found = printed(tracing(tmp_path))
    told, refused = ([one["key"] for one in found[part]] for part in ("measures", "refused"))
    assert sorted(told + refused) == sorted(MEASURES)
    anb = next(one for one in found["measures"] if one["key"] == "anb")
    assert set(anb) == {"key", "value", "unit", "sd"}
    assert anb["unit"] == "deg"
    assert all(len(one["value"].partition(".")[2]) == 2 for one in found["measures"])
    assert next(one["plane"] for one in found["measures"] if one["key"] == "sn_mp") == "go_me"
    assert "over" not in found


def test_without_a_scale_lengths_are_refused_and_nothing_has_an_error(tmp_path: Path) -> None:
    found = printed(tracing(tmp_path, mm_per_unit=None))
    assert {one["key"]: one["why"] for one in found["refused"]}["n_me"] == "not calibrated"
    assert not any("sd" in one or one["unit"] == "mm" for one in found["measures"])


def test_lines_for_a_reader_name_norm_source_and_certainty(tmp_path: Path) -> None:
    status, out, _ = trace(tracing(tmp_path))
    assert status == 0
    assert any(
        line.startswith("anb ") and "Steiner" in line and "[read]" in line for line in out.splitlines()
    )


@pytest.mark.parametrize("on", ["sn", *STRUCTURES])
def test_a_tracing_laid_on_itself_has_not_moved(tmp_path: Path, on: str) -> None:
    file = tracing(tmp_path, fiducials=dict.fromkeys(STRUCTURES, MARKS))
    over = printed(file, "--over", file, "--on", on)["over"]
    assert over["on"] == on
    assert over["rms_mm"] == (None if on == "sn" else "0.00")
    assert set(over["displacements"]) == set(POINTS)
    assert {value for moved in over["displacements"].values() for value in moved.values()} == {"0.00"}


def test_a_second_film_moved_by_a_known_step_shows_that_step(tmp_path: Path) -> None:
    marks = {"cranial_base": MARKS}
    first = tracing(tmp_path, fiducials=marks)
    moved = {**POINTS, "A": [71.5, -50.0]}
    second = tracing(tmp_path, "second.json", points=moved, fiducials=marks)
    over = printed(second, "--over", first, "--on", "cranial_base")["over"]
    assert (over["displacements"]["A"]["x"], over["displacements"]["A"]["y"]) == ("1.50", "-2.00")
    assert over["displacements"]["B"]["x"] == "0.00"


def test_uncalibrated_films_are_laid_with_every_displacement_refused(tmp_path: Path) -> None:
    file = tracing(tmp_path, mm_per_unit=None)
    over = printed(file, "--over", file, "--on", "sn")["over"]
    assert over["displacements"] == {}
    assert {one["key"] for one in over["refused"]} == set(POINTS)


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"points": {**POINTS, "S": [float("nan"), 0]}}, "NaN"),
        ({"points": {**POINTS, "Q": [1, 2]}}, "is not a landmark"),
        ({"y": "sideways"}, "up"),
        ({"points": {**POINTS, "Me": [55, 108]}}, "mirror"),
    ],
)
def test_a_refused_file_ends_with_2_and_prints_nothing(
    tmp_path: Path, entries: dict[str, Any], words: str
) -> None:
    status, out, err = trace(tracing(tmp_path, **entries), "--json")
    assert (status, out) == (2, "")
    assert err.startswith(str(tmp_path / "first.json"))
    assert words in err


def test_all_faults_of_both_files_are_told_a_line_each(tmp_path: Path) -> None:
    first, second = tracing(tmp_path, y="sideways"), tracing(tmp_path, "second.json", faces="up")
    status, out, err = trace(second, "--over", first, "--on", "sn")
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--over", "FILE"), "--over and --on go together"),
        (("--on", "sn"), "--over and --on go together"),
        (("--over", "FILE", "--on", "maxilla"), "fiducials"),
        (("--over", "nowhere.json", "--on", "sn"), "cannot be read"),
    ],
)
def test_what_cannot_be_laid_ends_with_2_and_says_why(
    tmp_path: Path, arguments: tuple[str, ...], words: str
) -> None:
    file = tracing(tmp_path)
    status, out, err = trace(file, *(file if one == "FILE" else one for one in arguments))
    assert (status, out) == (2, "")
    assert words in err
