"""What the command line prints for the need index and for irregularity, word for word."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

from django.core.management import call_command

from portfolio.readings import Sheet, write_json
from portfolio.sources import cite
from tests.scoring.sheets import sheet


def printed(folder: Path, made: Sheet, key: str, *options: str) -> Any:
    """The one object that is printed for a sheet and an index."""
    path = folder / "case-01-initial.json"
    path.write_text(write_json(made), "utf-8")
    out = StringIO()
    call_command("score", str(path), "--index", key, "--json", *options, stdout=out)
    (line,) = out.getvalue().splitlines()
    return json.loads(line)


def _line(
    category: str, findings: list[tuple[str, str, str]], site: str, rule: str, raw: str, **other: Any
) -> Any:
    return {
        "category": category,
        "site": site,
        "findings": [{"quantity": q, "site": s, "value": v} for q, s, v in findings],
        "rule": rule,
        "raw": raw,
        "points": "0",
        "source": cite("iotn_lists"),
        "certainty": "read",
        "next_step": None,
        "previous_step": None,
    } | other


def test_the_need_index_is_printed_word_for_word(tmp_path: Path) -> None:
    found = ("missing 35 congenital", "overjet 11 5", "lip_competence mouth unknown", "overjet 12 3.4",
             "cleft_or_syndrome mouth no", "impacted mouth none", "supernumerary mouth none",
             "missing mouth rest_none", "aesthetic_component mouth 7")  # fmt: skip
    quadrants, lists, cards = cite("iotn_quadrants"), cite("iotn_lists"), cite("iotn_on_casts")
    shown = printed(tmp_path, sheet(found), "iotn")
    assert shown == {
        "sheet": "case-01-initial.json",
        "index": "iotn",
        "edition": "1989",
        "total": "4",
        "complete": False,
        "missing": [{"quantity": "overjet", "sites": ["21", "22"], "category": "a"}],
        "categories": {},
        "lines": [
            _line("4h", [("missing", "35", "congenital")], "35",
                  "teeth missing from one quadrant, one never formed: grade 4", "4", points="4", source=quadrants,
                  next_step={"at": "several", "points": "5", "distance": "1"},
                  previous_step={"at": "none", "points": "0", "distance": "1"}),
            _line("3a", [("overjet", "11", "5"), ("lip_competence", "mouth", "unknown")], "11",
                  "overjet over 3.5 to 6 mm, lips taken as incompetent: grade 3", "3", beaten_by="missing 35",
                  next_step={"at": "6", "points": "4", "distance": "1"},
                  previous_step={"at": "3.5", "points": "0", "distance": "1.5"}),
            _line("i", [("impacted", "mouth", "none")], "mouth", "impeded eruption, none: no letter", "0",
                  source=cite("iotn_grade_5"), next_step={"at": "yes", "points": "5", "distance": "1"}),
            _line("h", [("missing", "mouth", "rest_none")], "mouth",
                  "teeth missing from one quadrant, none: no letter", "0", source=quadrants,
                  next_step={"at": "one", "points": "4", "distance": "1"}),
            _line("p", [("cleft_or_syndrome", "mouth", "no")], "mouth",
                  "cleft or craniofacial anomaly, no: no letter", "0", source=lists,
                  next_step={"at": "yes", "points": "5", "distance": "1"}),
            _line("x", [("supernumerary", "mouth", "none")], "mouth", "extra teeth, none: no letter", "0",
                  next_step={"at": "yes", "points": "4", "distance": "1"}),
            _line("a", [("overjet", "12", "3.4")], "12", "overjet up to 3.5 mm: no letter", "0",
                  next_step={"at": "3.5", "points": "3", "distance": "0.1"}),
        ],
        "choices": {"reverse_overjet": "all_recorded"},
        "other_totals": [],
        "conventions": [
            {"quantity": "lip_competence", "site": "mouth", "taken_as": "incompetent", "source": cards}
        ],
        "verdicts": [
            {"key": "aesthetic_need", "says": "aesthetic component 7: borderline need", "source": cards}
        ],
        "grade": "4h",
        "aesthetic_component": "7",
    }  # fmt: skip


def test_a_grade_that_is_still_open_is_printed_with_what_it_waits_for(tmp_path: Path) -> None:
    found = ("impacted mouth none", "missing mouth none", "cleft_or_syndrome mouth no", "supernumerary mouth none",
             "overjet 11 4", "overjet mouth rest_none", "contact_offset mouth rest_none", "contact_offset 13-12 2.5",
             "crossbite mouth none")  # fmt: skip
    shown = printed(tmp_path, sheet(found, stage="final"), "iotn", "--choice", "iotn.reverse_overjet=any")
    assert (shown["grade"], shown["total"], shown["complete"]) == ("3d", "3", False)
    assert shown["missing"] == [
        {"quantity": "lip_competence", "sites": ["mouth"], "category": "a"},
        {"quantity": "overbite", "sites": ["13", "12", "11", "21", "22", "23"], "category": "e"},
        {
            "quantity": "posterior_open_bite",
            "sites": ["17", "16", "15", "14", "24", "25", "26", "27"],
            "category": "e",
        },
        {"quantity": "palatal_contact", "sites": ["mouth"], "category": "f"},
    ]
    assert shown["choices"] == {"reverse_overjet": "any"}
    assert (shown["aesthetic_component"], shown["verdicts"]) == (None, [])
    assert shown["outside"] == "after treatment the need index tells residual need"


def test_irregularity_is_printed_word_for_word(tmp_path: Path) -> None:
    found = ("contact_offset 43-42 1.5", "contact_offset 42-41 0", "contact_offset 41-31 2.25",
             "contact_offset lower-left-front none")  # fmt: skip
    added = {
        "category": "contact_offset",
        "rule": "displacement added in millimetres",
        "source": cite("irregularity_page"),
        "certainty": "read",
        "next_step": None,
        "previous_step": None,
    }
    lines = [
        (("43-42", "1.5"), "1.5"),
        (("42-41", "0"), "0"),
        (("41-31", "2.25"), "2.25"),
        (("lower-left-front", "none"), "0"),
    ]
    assert printed(tmp_path, sheet(found), "irregularity") == {
        "sheet": "case-01-initial.json",
        "index": "irregularity",
        "edition": "1975",
        "total": "3.75",
        "complete": True,
        "missing": [],
        "categories": {},
        "lines": [
            {
                "site": site,
                "findings": [{"quantity": "contact_offset", "site": site, "value": value}],
                "raw": points,
                "points": points,
            }
            | added
            for (site, value), points in lines
        ],
        "choices": {},
        "other_totals": [],
        "conventions": [],
        "verdicts": [],
        "band": "minimal",
    }
