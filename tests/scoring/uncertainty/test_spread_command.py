"""`manage.py score --spread`: the exact chances of the true total in the format of the sheet file's command line."""

import json
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from portfolio.finding_sheet import Sheet
from portfolio.readings import write_json
from scoring import registry
from scoring.uncertainty.normal import below
from tests.scoring.sheets import finding, neutral_with


def printed(folder: Path, sheet: Sheet, *arguments: str) -> list[dict[str, Any]]:
    path = folder / "sheet.json"
    path.write_text(write_json(sheet), "utf-8")
    out = StringIO()
    call_command("score", str(path), "--json", *arguments, stdout=out)
    return [json.loads(line) for line in out.getvalue().splitlines()]


def certain_but(*changes: str) -> Sheet:
    sheet = neutral_with(changes)
    own = {tuple(c.split()[:2]) for c in changes}
    found = tuple(f if (f.quantity, f.site) in own else replace(f, sd="0") for f in sheet.findings)
    return replace(sheet, findings=found)


def test_pairs_of_total_and_chance_to_six_decimals_by_the_deviations_of_the_findings(tmp_path: Path) -> None:
    sheet = certain_but("overjet 11 5.2", "anb mouth 5.4")
    told = [
        replace(f, sd="0.30") if f.quantity == "overjet" and f.site == "11" else f for f in sheet.findings
    ]
    (one,) = printed(tmp_path, replace(sheet, findings=tuple(told)), "--index", "discrepancy", "--spread")
    over, big = float(below(0.2 / 0.3)), float(below(-0.1 / 0.7))
    spread = dict(one["spread"])
    assert spread["2"] == f"{(1 - over) * (1 - big):.6f}"
    assert spread["3"] == f"{over * (1 - big):.6f}"
    assert dict(one["spread_categories"]["overjet"]) == {"2": f"{1 - over:.6f}", "3": f"{over:.6f}"}
    assert one["spread_categories"]["impa"] == [["0", "1.000000"]]
    assert sum(float(p) for _, p in one["spread"]) == pytest.approx(1, abs=1e-5)
    assert one["total"] == "3", "the recorded total stays as it is"


def test_every_index_has_a_spread_or_says_why_not(tmp_path: Path) -> None:
    sheet = neutral_with(["overjet 11 5.2", "overbite 13 -3"])
    for one in printed(tmp_path, sheet, "--spread", *(a for k in registry.KEYS for a in ("--index", k))):
        if one["spread"] is None:
            assert one["spread_refused"]
            assert one["total"] is None
        else:
            assert sum(float(p) for _, p in one["spread"]) == pytest.approx(1, abs=2e-3)
            assert set(one["spread_categories"]) == {k for k, v in one["categories"].items() if v is not None}
    assert "spread" not in printed(tmp_path, sheet, "--index", "par")[0]


def test_as_text_it_says_the_range_and_what_was_assumed(tmp_path: Path) -> None:
    path = tmp_path / "part.json"
    path.write_text(write_json(Sheet("initial", "permanent", (finding("overbite 13 -3"),))), "utf-8")
    out = StringIO()
    call_command("score", str(path), "--index", "discrepancy", "--spread", stdout=out)
    assert "spread of what was recorded, so at least: 5 to 95 % from" in out.getvalue()
    assert "our judgement, not published" in out.getvalue()
