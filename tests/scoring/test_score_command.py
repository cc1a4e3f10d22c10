"""The command line of `score`: what goes in, what comes out, and how it ends.

Most runs are made in this process, where any use of a database fails the test; a few in a process of
their own, with an empty data folder and nothing else in the environment.
"""

import json
import re
import subprocess
import sys
from dataclasses import dataclass
from io import StringIO
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from portfolio.readings import write_csv, write_json
from scoring import registry
from tests.scoring.sheets import neutral_with, sheet

PROJECT = Path(__file__).resolve().parents[2]
ONE = ("--json", "--index", "discrepancy")
KEYS = [
    "sheet",
    "index",
    "edition",
    "total",
    "complete",
    "missing",
    "categories",
    "lines",
    "choices",
    "other_totals",
    "conventions",
    "verdicts",
]
LINE_KEYS = "category site findings rule raw points source certainty next_step previous_step".split()
CATEGORIES = (
    "overjet negative_overjet overbite anterior_open_bite lateral_open_bite crowding molar_relation "
    "lingual_crossbite buccal_crossbite anb sn_mp impa other"
).split()
NOT_BUILT = sorted(set(registry.KEYS) - set(registry.INDEXES))


@dataclass(frozen=True)
class Ended:
    """How a run ended and what it wrote."""

    code: int
    out: str
    err: str

    @property
    def objects(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.out.splitlines()]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    whole = neutral_with(["overjet 11 11", "overbite 13 -4", "overjet 12 -2", "midline_offset mouth 4"])
    (tmp_path / "whole.json").write_text(write_json(whole), "utf-8")
    (tmp_path / "whole.csv").write_text("\ufeff" + write_csv(whole), "utf-8")
    (tmp_path / "part.json").write_text(write_json(sheet(["overbite 13 -3", "sn_mp mouth 40"])), "utf-8")
    (tmp_path / "final.json").write_text(write_json(sheet(["anb mouth 8"], stage="final")), "utf-8")
    wrong = '{"sheet": 1, "stage": "later", "dentition": "permanent", "findings": [{"quantity": "overjet", '
    (tmp_path / "wrong.json").write_text(wrong + '"site": "44", "value": "NaN"}]}', "utf-8")
    return tmp_path


def _run(*arguments: object) -> Ended:
    out, err = StringIO(), StringIO()
    try:
        call_command("score", *map(str, arguments), stdout=out, stderr=err)
    except SystemExit as ended:
        return Ended(int(ended.code or 0), out.getvalue(), err.getvalue())
    return Ended(0, out.getvalue(), err.getvalue())


def _alone(data: Path, *arguments: object, cwd: Path = PROJECT) -> Ended:
    """In a process of its own, with nothing in the environment but the data folder."""
    done = subprocess.run(
        [sys.executable, str(PROJECT / "manage.py"), "score", *map(str, arguments)],
        cwd=cwd,
        env={"FOLIOWRIGHT_DATA": str(data)},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
    )
    return Ended(done.returncode, done.stdout, done.stderr)


def test_it_needs_no_database_and_leaves_its_empty_read_only_data_folder_empty(folder: Path) -> None:
    data = folder / "data"
    data.mkdir(mode=0o555)
    ended = _alone(data, "whole.json", "part.json", "whole.csv", *ONE, cwd=folder)
    assert (ended.code, ended.err) == (0, "")
    assert [o["sheet"] for o in ended.objects] == ["whole.json", "part.json", "whole.csv"]
    assert list(data.iterdir()) == []
    assert not any(path.suffix.startswith(".sqlite") for path in folder.rglob("*"))


def test_a_refused_sheet_ends_with_2_one_line_a_fault_on_the_error_stream_and_nothing_else(
    folder: Path,
) -> None:
    ended = _alone(folder / "nowhere", folder / "whole.json", folder / "wrong.json", "--json")
    assert (ended.code, ended.out) == (2, "")
    lines = ended.err.splitlines()
    assert len(lines) == 3
    assert all(line.startswith(f"{folder / 'wrong.json'}: ") for line in lines)
    assert [line.split(": ")[1] for line in lines] == ["stage", *["findings[0] (overjet 44)"] * 2]
    assert not (folder / "nowhere").exists()


def test_without_a_sheet_it_says_how_it_is_used(folder: Path) -> None:
    ended = _alone(folder, "--json")
    assert (ended.code, ended.out) == (2, "")
    assert "SHEET" in ended.err
    assert "Traceback" not in ended.err


def test_the_object_has_the_keys_of_the_format_in_their_order(folder: Path) -> None:
    for found in _run(folder / "whole.json", folder / "part.json", *ONE).objects:
        assert list(found) == KEYS
        assert found["index"] == "discrepancy"
        assert found["edition"] == "worksheet"
        assert list(found["categories"]) == CATEGORIES
        assert found["verdicts"] == []
        assert set(found["choices"]) == {choice.id for choice in registry.index("discrepancy").choices}
        for line in found["lines"]:
            assert [key for key in line if key != "beaten_by"] == LINE_KEYS
            assert all(
                {"quantity", "site", "value"} <= set(f) <= {"quantity", "site", "value", "plane"}
                for f in line["findings"]
            )
            for step in (line["next_step"], line["previous_step"]):
                assert step is None or list(step) == ["at", "points", "distance"]
            assert line["certainty"] in ("read", "memory", "derived", "practice")
            assert line["rule"]
            assert line["source"]


def test_a_line_says_what_beat_it_only_where_something_did(folder: Path) -> None:
    (found,) = _run(folder / "whole.json", *ONE).objects
    beaten = [line for line in found["lines"] if "beaten_by" in line]
    assert beaten
    assert {line["points"] for line in beaten} == {"0"}
    assert all(line["beaten_by"] for line in beaten)


def test_numbers_are_plain_text_and_the_lines_sum_to_the_total(folder: Path) -> None:
    (found,) = _run(folder / "whole.json", *ONE, "--choice", "discrepancy.part_millimetre=fraction").objects
    numbers = [found["total"], *(v for v in found["categories"].values() if v is not None)]
    numbers += [line[key] for line in found["lines"] for key in ("raw", "points")]
    numbers += [other["total"] for other in found["other_totals"]]
    assert [n for n in numbers if not re.fullmatch(r"-?(0|[1-9]\d*)(\.\d*[1-9])?", n)] == []
    for category, points in found["categories"].items():
        assert sum(float(x["points"]) for x in found["lines"] if x["category"] == category) == float(
            points or 0
        )


def test_the_printed_example_comes_out_as_printed(folder: Path) -> None:
    """An upper right canine 3 mm open: 3 points, the next at 4 mm, 1 mm away; the rest not recorded."""
    (found,) = _run(folder / "part.json", *ONE).objects
    line = next(x for x in found["lines"] if x["category"] == "anterior_open_bite")
    assert line["findings"] == [{"quantity": "overbite", "site": "13", "value": "-3"}]
    assert (line["site"], line["raw"], line["points"]) == ("13", "3", "3")
    assert line["next_step"] == {"at": "-4", "points": "4", "distance": "1"}
    assert found["complete"] is False
    assert found["categories"]["overjet"] is None
    assert {"quantity": "anb", "sites": ["mouth"], "category": "anb"} in found["missing"]
    assert {"choice": "open_bite_start=edge_point_plus", "total": str(int(found["total"]) + 1)} in found[
        "other_totals"
    ]
    assert [list(c) for c in found["conventions"]] == [["quantity", "site", "taken_as", "source"]]


def test_csv_and_json_of_one_sheet_score_the_same(folder: Path) -> None:
    one, other = _run(folder / "whole.json", folder / "whole.csv", *ONE).objects
    assert one | {"sheet": ""} == other | {"sheet": ""}


def test_an_index_named_twice_is_scored_once(folder: Path) -> None:
    ended = _run(folder / "whole.json", "--json", "--index", "discrepancy", "--index", "discrepancy")
    assert len(ended.objects) == 1


def test_a_key_that_is_not_built_yet_is_refused_in_words(folder: Path) -> None:
    for key, option in product(NOT_BUILT, ("--index {}", "--edition {}=any", "--choice {}.any=any")):
        ended = _run(folder / "whole.json", "--json", *option.format(key).split())
        assert (ended.code, ended.out) == (2, "")
        assert f"index '{key}' is not built yet; built: discrepancy" in ended.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--index", "peerless"), "--index: index 'peerless' is not known; built: discrepancy"),
        (("--edition", "discrepancy=first"), "discrepancy has no edition 'first'; allowed: worksheet"),
        (("--edition", "worksheet"), "write INDEX=ID"),
        (("--choice", "discrepancy.crowding_1=2"), "discrepancy.crowding_1 has no value '2'; allowed: 0, 1"),
        (("--choice", "discrepancy.crowding=1"), "has no rule choice 'crowding'; allowed: open_bite_start"),
        (("--choice", "crowding_1=1"), "write INDEX.ID=VALUE"),
        (("--choice", "discrepancy.crowding_1"), "write INDEX.ID=VALUE"),
        (("--choice", "discrepancy.crowding_1=1", "--choice", "discrepancy.crowding_1=0"), "given twice"),
    ],
)
def test_a_wrong_option_is_refused_in_words(folder: Path, arguments: tuple[str, ...], says: str) -> None:
    ended = _run(folder / "whole.json", "--json", *arguments)
    assert (ended.code, ended.out) == (2, "")
    assert len(ended.err.splitlines()) == 1
    assert says in ended.err


def test_edition_and_choices_are_in_force_and_printed(folder: Path) -> None:
    plain = _run(folder / "whole.json", "--json").objects[0]
    options = (
        "--edition",
        "discrepancy=worksheet",
        "--choice",
        "discrepancy.open_bite_start=edge_point_plus",
    )
    changed = _run(folder / "whole.json", "--json", *options).objects[0]
    assert plain["choices"]["open_bite_start"] == "millimetres"
    assert changed["choices"]["open_bite_start"] == "edge_point_plus"
    assert {"choice": "open_bite_start=edge_point_plus", "total": changed["total"]} in plain["other_totals"]
    assert {"choice": "open_bite_start=millimetres", "total": plain["total"]} in changed["other_totals"]


def test_a_sheet_for_which_no_index_has_a_meaning_gives_no_object_and_says_so(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(registry, "meant_for", lambda sheet: ())
    assert _run(folder / "final.json", "--json") == Ended(0, "", "")
    assert "no index that is built has a meaning" in _run(folder / "final.json").out


def test_without_an_index_only_those_with_a_meaning_are_scored_and_a_named_one_says_why_not(
    folder: Path,
) -> None:
    meant = [found["index"] for found in _run(folder / "final.json", "--json").objects]
    assert meant == list(registry.meant_for(sheet(["anb mouth 8"], stage="final")))
    assert "discrepancy" not in meant
    (found,) = _run(folder / "final.json", "--json", "--index", "discrepancy").objects
    assert list(found) == [*KEYS, "outside"]
    assert "final" in found["outside"]
    assert found["categories"]["anb"] == "6"


def test_in_words_an_incomplete_total_is_a_floor(folder: Path) -> None:
    whole, part = _run(folder / "whole.json").out, _run(folder / "part.json")
    assert part.code == 0
    assert part.out.startswith("part.json: discrepancy (worksheet): at least ")
    assert "missing: anb at mouth for anb" in part.out
    assert whole.splitlines()[0].startswith("whole.json: discrepancy (worksheet): ")
    assert "at least" not in whole.splitlines()[0]


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("gone.json", None, "cannot be read: No such file or directory"),
        ("latin.json", b'{"caf\xe9": 1}', "is not UTF-8 text (byte 5)"),
        ("huge.json", b" " * 5_000_001, "is larger than 5000000 bytes"),
        ("empty.json", b"", "file: is not readable as JSON"),
        (
            "lines.json",
            b'{"a\\nb": 1, "sheet": 1, "stage": "initial", "dentition": "permanent", "findings": []}',
            "a b",
        ),
        ("cut.csv", b"quantity;site;value\noverjet;11;3\n", "no column quantity"),
    ],
)
def test_a_file_that_is_no_sheet_is_named_with_the_reason(
    folder: Path, name: str, content: bytes | None, says: str
) -> None:
    if content is not None:
        (folder / name).write_bytes(content)
    ended = _run(folder / "whole.json", folder / name, "--json")
    assert (ended.code, ended.out) == (2, "")
    assert all(line.startswith(f"{folder / name}: ") for line in ended.err.splitlines())
    assert says in ended.err


def test_faults_of_all_sheets_and_options_are_told_together(folder: Path) -> None:
    ended = _run(folder / "wrong.json", folder / "gone.json", "--index", "peerless", "--choice", "x")
    assert ended.code == 2
    assert len(ended.err.splitlines()) == 6


def test_a_file_name_that_is_not_text_does_not_stop_the_print(folder: Path) -> None:
    odd = folder / "caf\udce9.json"
    odd.write_bytes((folder / "whole.json").read_bytes())
    (found,) = _run(odd, *ONE).objects
    assert found["sheet"] == "caf\ufffd.json"
