"""What the command line prints of the tooth-width ratios, word for word."""

import json
from pathlib import Path

import pytest
from django.core.management import call_command

from portfolio.sources import cite
from tests.scoring.sheets import cases

KEY = "tooth_size"
CASE_REPORT = next(case for case in cases(KEY) if case.origin == "published")


def test_the_command_line_prints_the_whole_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    widths = [
        {"quantity": "tooth_width", "site": f.site, "value": f.value}
        for f in CASE_REPORT.sheet.singles("tooth_width")
    ]
    file = tmp_path / "case.json"
    file.write_text(
        json.dumps({"sheet": 1, "stage": "initial", "dentition": "permanent", "findings": widths})
    )
    call_command("score", str(file), "--index", KEY, "--json")
    printed = json.loads(capsys.readouterr().out)
    lines = printed.pop("lines")
    assert printed == {
        "sheet": "case.json",
        "index": "tooth_size",
        "edition": "1958",
        "total": None,
        "complete": True,
        "missing": [],
        "categories": {},
        "choices": {},
        "other_totals": [],
        "conventions": [],
        "verdicts": [],
        "overall_percent": "91.02",
        "anterior_percent": "78.57",
        "overall_excess": {"arch": "upper", "mm": "0.29"},
        "anterior_excess": {"arch": "lower", "mm": "0.63"},
    }
    assert len(lines) == 36
    assert lines[0] == {
        "category": "overall",
        "site": "16",
        "findings": [{"quantity": "tooth_width", "site": "16", "value": "10.0"}],
        "rule": "greatest mesiodistal width, added to those of its arch",
        "raw": "10",
        "points": "10",
        "source": cite("tooth_size_1962"),
        "certainty": "read",
        "next_step": None,
        "previous_step": None,
    }
