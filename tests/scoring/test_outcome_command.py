"""What the command line prints of the outcome evaluation, word for word."""

import json
from pathlib import Path

import pytest
from django.core.management import call_command

from portfolio.sources import cite
from portfolio.teeth import DEFAULT_PERMANENT

FINDINGS = [
    ("alignment_step", "mouth", "rest_none"),
    ("alignment_step", "43", "1.0"),
    ("ridge_step", "mouth", "none"),
    ("inclination_step", "mouth", "none"),
    ("occlusal_gap", "mouth", "rest_none"),
    ("occlusal_gap", "36.mb", "1.5"),
    ("occlusal_gap", "36.db", "0.5"),
    ("relation_target", "left", "full2"),
    ("relation_step", "mouth", "none"),
    ("facing_gap", "mouth", "none"),
    ("gap", "mouth", "none"),
    ("gap_plan", "24-25", "keep"),
    ("eruption", "17", "partial"),
    ("root_angulation", "mouth", "not_taken"),
]
MANUAL, SETTLED = cite("outcome_2012"), cite("outcome_settled")


def printed(tmp_path: Path, capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, object]:
    file = tmp_path / "final.json"
    found = [{"quantity": q, "site": s, "value": v} for q, s, v in FINDINGS]
    sheet = {"sheet": 1, "stage": "final", "dentition": "permanent", "medium": "plaster", "findings": found}
    file.write_text(json.dumps(sheet))
    call_command("score", str(file), "--index", "outcome", "--json", *options)
    answer: dict[str, object] = json.loads(capsys.readouterr().out)
    return answer


def line(
    category: str,
    site: str,
    findings: list[tuple[str, str, str]],
    rule: str,
    points: str = "0",
    steps: tuple[tuple[str, str, str] | None, tuple[str, str, str] | None] = (None, None),
    certainty: str = "memory",
    **other: str,
) -> dict[str, object]:
    keys = ("at", "points", "distance")
    more, fewer = (step and dict(zip(keys, step, strict=True)) for step in steps)
    told: dict[str, object] = {
        "category": category,
        "site": site,
        "findings": [{"quantity": q, "site": s, "value": v} for q, s, v in findings],
        "rule": rule,
        "raw": points,
        "points": points,
        "source": MANUAL if certainty == "memory" else SETTLED,
        "certainty": certainty,
        "next_step": more,
        "previous_step": fewer,
    }
    return told | other


def test_the_whole_of_it_is_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answer = printed(tmp_path, capsys)
    lines, verdicts = answer.pop("lines"), answer.pop("verdicts")
    assert answer == {
        "sheet": "final.json",
        "index": "outcome",
        "edition": "manual2012",
        "total": "3",
        "complete": True,
        "missing": [],
        "categories": {
            "alignment": "1",
            "ridges": "0",
            "inclination": "0",
            "contacts": "2",
            "relation": "0",
            "overjet": "0",
            "interproximal": "0",
            "roots": None,
        },
        "choices": {"exact_limit": "lower"},
        "other_totals": [{"choice": "exact_limit=upper", "total": "4"}],
        "conventions": [
            {"quantity": "root_angulation", "site": "mouth", "taken_as": "casts only", "source": SETTLED}
        ],
        "teeth_scored": [tooth for tooth in DEFAULT_PERMANENT if tooth != "17"],
        "left_out": [
            {"tooth": "17", "why": "not fully erupted"},
            {"site": "24-25", "why": "space to be kept"},
            {"site": "mouth", "why": "roots: no panoramic radiograph, casts only"},
        ],
    }
    assert isinstance(verdicts, list)
    assert [set(v) for v in verdicts] == [{"key", "says", "source"}] * 7
    assert [v["key"] for v in verdicts] == [
        "casts_only",
        "second_molars",
        "pass_experience",
        "pass_experience_other",
        "panel_casts",
        "board_limit",
        "method_shift",
    ]
    assert lines == _lines()


CUSP = "gap at a functional cusp (at most 2 points a tooth)"
HALF, ONE, NONE = (("0.5", "1", "0.5"), None), (("1", "1", "1"), None), (("0", "1", "0"), None)


def _lines() -> list[dict[str, object]]:
    return [*_single_arches(), *_casts_together(), *_gaps_and_roots()]


def _single_arches() -> list[dict[str, object]]:
    return [
        line(
            "alignment",
            "43",
            [("alignment_step", "43", "1.0")],
            "deviation from alignment over 0.5 to 1 mm: 1 point",
            "1",
            (("1", "2", "0"), ("0.5", "0", "0.5")),
        ),
        line(
            "alignment",
            "mouth",
            [("alignment_step", "mouth", "rest_none")],
            "deviation from alignment up to 0.5 mm: 0 points",
            steps=HALF,
        ),
        line(
            "ridges",
            "mouth",
            [("ridge_step", "mouth", "none")],
            "step between marginal ridges up to 0.5 mm: 0 points",
            steps=HALF,
        ),
        line(
            "inclination",
            "mouth",
            [("inclination_step", "mouth", "none")],
            "step between buccal and lingual cusps up to 1 mm: 0 points",
            steps=ONE,
        ),
    ]


def _casts_together() -> list[dict[str, object]]:
    return [
        line(
            "contacts",
            "36.mb",
            [("occlusal_gap", "36.mb", "1.5")],
            f"{CUSP} over 1 mm: 2 points",
            "2",
            (None, ("1", "1", "0.5")),
        ),
        line(
            "contacts",
            "36.db",
            [("occlusal_gap", "36.db", "0.5")],
            f"{CUSP} over 0 to 1 mm: 1 point",
            steps=(("1", "2", "0.5"), ("0", "0", "0.5")),
            raw="1",
            beaten_by="occlusal_gap 36.mb",
        ),
        line(
            "contacts",
            "mouth",
            [("occlusal_gap", "mouth", "rest_none")],
            f"{CUSP} exactly 0 mm: 0 points",
            steps=NONE,
        ),
        line(
            "relation",
            "mouth",
            [("relation_step", "mouth", "none")],
            "distance from the position aimed at up to 1 mm: 0 points",
            steps=ONE,
        ),
        line(
            "relation",
            "left",
            [("relation_target", "left", "full2")],
            "position aimed at, full step Class II: 0 points",
        ),
        line(
            "overjet",
            "mouth",
            [("facing_gap", "mouth", "none")],
            "gap of the pair, or distance off centre, exactly 0 mm: 0 points",
            steps=NONE,
        ),
    ]


def _gaps_and_roots() -> list[dict[str, object]]:
    return [
        line(
            "interproximal",
            "mouth",
            [("gap", "mouth", "none")],
            "gap between neighbours up to 0.5 mm: 0 points",
            steps=HALF,
        ),
        line(
            "interproximal",
            "24-25",
            [("gap_plan", "24-25", "keep")],
            "left out: space to be kept",
            certainty="practice",
        ),
        line(
            "roots",
            "mouth",
            [("root_angulation", "mouth", "not_taken")],
            "no panoramic radiograph was taken: the total is one of the casts only",
            certainty="practice",
        ),
    ]


def test_edition_and_choice_are_taken_and_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answer = printed(
        tmp_path, capsys, "--edition", "outcome=article1998", "--choice", "outcome.exact_limit=upper"
    )
    assert (answer["edition"], answer["choices"], answer["total"]) == (
        "article1998",
        {"exact_limit": "upper"},
        "4",
    )
    assert answer["other_totals"] == [{"choice": "exact_limit=lower", "total": "3"}]


def test_a_readable_print_says_what_the_total_is_of(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    printed(tmp_path, capsys)
    call_command("score", str(tmp_path / "final.json"), "--index", "outcome")
    text = capsys.readouterr().out
    for said in (
        "casts only",
        "without second molars",
        "space to be kept",
        "5 to 9 points",
        "one board's published limit",
    ):
        assert said in text
