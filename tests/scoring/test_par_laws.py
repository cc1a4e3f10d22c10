"""Laws of PAR for any sheet: worse never scores less, squares decide, steps tell the truth; one sheet in print."""

import json
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from hypothesis import given
from hypothesis import strategies as st

from portfolio.readings import write_json
from portfolio.sources import cite
from scoring import registry
from tests.scoring.scored_lines import line, raw, scored
from tests.scoring.sheets import neutral_with

OFFSETS, GAPS = "contact_offset mouth rest_none", "gap mouth rest_none"


def hundredths(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.integers(int(Decimal(low) * 100), int(Decimal(high) * 100)).map(lambda n: Decimal(n) / 100)


@pytest.mark.parametrize(
    ("category", "finding", "low", "high"),
    [
        ("upper_anterior", "contact_offset 12-11 {}", "0", "15"),
        ("lower_anterior", "contact_offset 32-33 {}", "0", "15"),
        ("overjet", "overjet 22 {}", "0.01", "25"),
        ("overbite", "overbite_cover mouth {}", "0", "200"),
        ("overbite", "overbite 21 -{}", "0", "20"),
        ("centreline", "midline_share mouth {}", "0", "400"),
        ("buccal", "posterior_open_bite 24 {}", "0", "15"),
    ],
)
@given(data=st.data())
def test_a_worse_value_never_scores_less(
    category: str, finding: str, low: str, high: str, data: st.DataObject
) -> None:
    a, b = sorted(data.draw(st.tuples(hundredths(low, high), hundredths(low, high))))
    others = (OFFSETS, "posterior_open_bite mouth rest_none", "posterior_open_bite 25 5")
    points = [raw("par", category, *others, finding.format(v)) for v in (a, b)]
    assert points[0] <= points[1]


@given(hundredths("0", "20"), hundredths("0", "20"))
def test_a_greater_reverse_overjet_or_more_teeth_never_score_less(a: Decimal, b: Decimal) -> None:
    one = raw("par", "overjet", f"overjet 12 {-min(a, b)}")
    other = raw("par", "overjet", f"overjet 12 {-max(a, b)}")
    more = raw("par", "overjet", f"overjet 12 {-max(a, b)}", f"overjet 13 {-max(a, b)}")
    assert one <= other <= more


@given(hundredths("0", "15"), hundredths("0", "15"))
def test_less_room_never_scores_less(a: Decimal, b: Decimal) -> None:
    away = ("- overjet 13", "eruption 13 unerupted")
    wide, narrow = (
        raw("par", "upper_anterior", *away, f"eruption_space 13 {v}") for v in (max(a, b), min(a, b))
    )
    assert wide <= narrow


@given(st.integers(0, 1500), st.integers(1, 2500))
def test_the_squares_of_offset_and_space_decide_without_rounding(offset: int, gap: int) -> None:
    found = (
        OFFSETS,
        GAPS,
        f"contact_offset 12-11 {Decimal(offset) / 100}",
        f"gap 12-11 {Decimal(gap) / 100}",
    )
    points = raw("par", "upper_anterior", *found, "gap_plan 12-11 close")
    # hundredths of a millimetre, so that whole numbers compare
    square = offset * offset + gap * gap
    assert points == sum(square > (limit * 100) ** 2 for limit in (1, 2, 4, 8))


@given(hundredths("0.01", "15"), hundredths("2", "16"), hundredths("2", "16"))
def test_the_share_of_the_widths_is_compared_without_rounding(
    offset: Decimal, first: Decimal, second: Decimal
) -> None:
    found = (f"midline_offset mouth {offset}", f"tooth_width 31 {first}", f"tooth_width 41 {second}")
    points = raw("par", "centreline", *found)
    mean_times_2 = first + second
    assert points == sum(2 * offset * of > mean_times_2 * part for part, of in ((1, 4), (1, 2)))


@given(hundredths("0", "15"))
def test_the_steps_of_a_displacement_tell_the_truth(value: Decimal) -> None:
    found = line(scored("par", OFFSETS, f"contact_offset 11-21 {value}"), "upper_anterior", "11-21")
    for step, just_past in ((found.next_step, Decimal("0.01")), (found.previous_step, Decimal(0))):
        if step is None:
            continue
        assert Decimal(step.distance) == abs(Decimal(step.at) - value)
        beyond = Decimal(step.at) + just_past
        assert raw("par", "upper_anterior", OFFSETS, f"contact_offset 11-21 {beyond}") == step.points


@given(hundredths("0", "120"))
def test_the_steps_of_the_cover_tell_the_truth_in_weighted_points(value: Decimal) -> None:
    found = line(scored("par", f"overbite_cover mouth {value}"), "overbite", "mouth")
    if found.next_step is not None:
        beyond = Decimal(found.next_step.at) + Decimal("0.01")
        assert (
            scored("par", f"overbite_cover mouth {beyond}").categories["overbite"] == found.next_step.points
        )
        assert Decimal(found.next_step.at) >= value


def test_the_command_prints_a_whole_sheet_as_the_format_says(tmp_path: Path) -> None:
    changes = ["overjet 11 8", "overjet 12 9", "overbite_cover mouth 70", "buccal_interdigitation left off"]
    (tmp_path / "case.json").write_text(write_json(neutral_with(changes, "par")), "utf-8")
    out = StringIO()
    options = ("--index", "par", "--edition", "par=site:own:1,2,4.5,3,3.5", "--json")
    call_command("score", str(tmp_path / "case.json"), *options, stdout=out)
    found = json.loads(out.getvalue())
    lines = found.pop("lines")
    assert found == {
        "sheet": "case.json",
        "index": "par",
        "edition": "site:own:1,2,4.5,3,3.5",
        "total": "21.5",
        "complete": True,
        "missing": [],
        "categories": {
            "upper_anterior": "0",
            "lower_anterior": "0",
            "buccal": "2",
            "overjet": "13.5",
            "overbite": "6",
            "centreline": "0",
        },
        "choices": {"space_and_offset": "straight", "transverse_single": "form"},
        "other_totals": [],
        "conventions": [],
        "verdicts": [],
        "totals": {"uk1992": "23", "us1995": "23", "site:own:1,2,4.5,3,3.5": "21.5"},
    }
    assert next(x for x in lines if x["site"] == "12") == {
        "category": "overjet",
        "site": "12",
        "findings": [{"quantity": "overjet", "site": "12", "value": "9"}],
        "rule": "overjet over 7 to 9 mm: 3 points, weight 4.5",
        "raw": "3",
        "points": "13.5",
        "source": cite("par_form"),
        "certainty": "read",
        "next_step": {"at": "9", "points": "18", "distance": "0"},
        "previous_step": {"at": "7", "points": "9", "distance": "2"},
    }
    beaten = next(x for x in lines if x["site"] == "11")
    assert (beaten["raw"], beaten["points"], beaten["beaten_by"]) == ("3", "0", "overjet 12")
    read = [f for x in lines for f in x["findings"]]
    assert {(f["quantity"], f["site"]) for f in read} == {
        (f.quantity, f.site) for f in neutral_with(changes, "par").findings
    }


def test_every_finding_that_is_read_gives_a_line() -> None:
    for change in ("gap mouth rest_none", "impacted mouth none", "midline_offset mouth 2"):
        quantity, site, _ = change.split()
        score = scored("par", change)
        assert any((f.quantity, f.site) == (quantity, site) for x in score.lines for f in x.findings), change
    assert registry.score("par", neutral_with([], "par")).complete
