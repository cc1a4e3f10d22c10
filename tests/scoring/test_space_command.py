"""What the command line prints of space analysis, word for word."""

import json
from pathlib import Path

import pytest
from django.core.management import call_command

from portfolio.sources import cite
from tests.scoring.test_space import MIXED

WIDTHS = {"12": "7.5", "11": "10", "21": "10", "22": "7.5", "42": "5.5", "41": "5", "31": "5.5", "32": "6"}


def _printed(tmp_path: Path, capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    # a student's model analysis (shared document, read): incisors, and segments as lengths in one piece
    lengths = (("upper", "80.5"), ("lower", "68"))
    findings = [{"quantity": "tooth_width", "site": t, "value": w} for t, w in WIDTHS.items()]
    findings += [
        {"quantity": "arch_available", "site": arch, "value": length, "method": "wire"}
        for arch, length in lengths
    ]
    file = tmp_path / "case.json"
    sheet = {"sheet": 1, "stage": "initial", "dentition": "mixed", "teeth": MIXED.split()}
    file.write_text(json.dumps({**sheet, "findings": findings}))
    call_command("score", str(file), "--index", "space", *arguments)
    return capsys.readouterr().out


def test_the_command_line_prints_the_whole_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed = json.loads(_printed(tmp_path, capsys, "--json"))
    lines = printed.pop("lines")
    upper = {"available": "80.5", "required": "79", "discrepancy": "1.5", "method": "wire"}
    assert printed == {
        "sheet": "case.json",
        "index": "space",
        "edition": "1",
        "total": None,
        "complete": True,
        "missing": [],
        "categories": {},
        "choices": {"prediction": "tanaka_johnston"},
        "other_totals": [
            {
                "choice": "prediction=moyers_1973_75",
                "upper": upper,
                "lower": {"available": "68", "required": "65.2", "discrepancy": "2.8", "method": "wire"},
            }
        ],
        "conventions": [],
        "verdicts": [],
        "upper": upper,
        "lower": {"available": "68", "required": "65", "discrepancy": "3", "method": "wire"},
    }
    assert [(x["category"], x["site"], x["points"]) for x in lines[:7]] == [
        ("upper", "upper", "80.5"),
        ("upper", "12", "-7.5"),
        ("upper", "11", "-10"),
        ("upper", "21", "-10"),
        ("upper", "22", "-7.5"),
        ("upper", "upper-right-back", "-22"),
        ("upper", "upper-left-back", "-22"),
    ]
    assert lines[5] == {
        "category": "upper",
        "site": "upper-right-back",
        "findings": [
            {"quantity": "tooth_width", "site": t, "value": WIDTHS[t]} for t in ("42", "41", "31", "32")
        ],
        "rule": "canine and premolars of this side, predicted: half of 22 mm (the four lower incisors) and 11 mm",
        "raw": "-22",
        "points": "-22",
        "source": cite("tanaka_johnston_1974"),
        "certainty": "read",
        "next_step": None,
        "previous_step": None,
    }


def test_the_terminal_says_the_other_prediction_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = _printed(tmp_path, capsys)
    assert "upper: available 80.5, required 79, discrepancy 1.5, method wire" in printed
    other = "with prediction=moyers_1973_75: upper available 80.5, required 79, discrepancy 1.5, method wire; lower"
    assert other in printed
