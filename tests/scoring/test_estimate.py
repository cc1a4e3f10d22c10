"""The floor of a case log: the index's own points, never above the index of a sheet that agrees with the answers.

Points of the printed table: training slides on the index (overjet 3.1 to 5 mm 2, crowding 5.1 to 7 mm 4, full step
Class II 4, lingual crossbite 1 and buccal 2 a tooth, ANB 6 degrees 4, SN-MP 40 degrees 6).
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portfolio.case_log.answers import Answers, read_answers
from portfolio.readings import Sheet
from scoring import registry
from scoring.indices.discrepancy import estimate as log
from scoring.result import Score
from tests.scoring.consistent_sheets import COUNTED_BEHIND, FRONT, INCISORS, answers, sheets
from tests.scoring.sheets import neutral_with

INDEX = registry.index("discrepancy")
SHIPPED = log.in_force({})
ROW = Answers(
    overjet="4",
    overbite="-2",
    open_teeth="3",
    molar_right="full2",
    molar_left="end2",
    crowding="6",
    crossbite_inside="2",
    crossbite_outside="1",
    anb="6",
    sn_mp="40",
)
choices = st.fixed_dictionaries({choice.id: st.sampled_from(choice.values) for choice in INDEX.choices})


def _score(found: Sheet, chosen: dict[str, str]) -> Score:
    return registry.score("discrepancy", found, choices=chosen, detail="totals")


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.data(), answers(), choices)
def test_the_floor_never_exceeds_the_index_of_a_sheet_that_agrees(
    data: st.DataObject, said: Answers, chosen: dict[str, str]
) -> None:
    found = data.draw(sheets(said))
    least = log.floor(said, log.in_force(chosen))
    score = _score(found, chosen)
    assert score.total is not None
    assert (least or 0) <= score.total
    for line in log.estimate(said, log.in_force(chosen)).lines:
        assert line.points <= (score.categories[line.category] or 0), line


@settings(max_examples=60)
@given(answers(), choices)
def test_a_mouth_with_nothing_but_the_answers_scores_the_floor(said: Answers, chosen: dict[str, str]) -> None:
    """So the floor is no lower than it must be."""
    full = Answers(
        overjet=said.overjet or "2",
        overbite=said.overbite or "2",
        open_teeth=said.open_teeth,
        molar_right=said.molar_right or "class1",
        molar_left=said.molar_left or "class1",
        crowding=said.crowding or "0",
        crossbite_inside=said.crossbite_inside or "0",
        crossbite_outside=said.crossbite_outside or "0",
        anb=said.anb or "2",
        sn_mp=said.sn_mp or "32",
    )
    everywhere = (("overjet", full.overjet), ("overbite", full.overbite))
    changes = [f"{q} {t} {v if Decimal(v) > 0 else 2}" for q, v in everywhere for t in FRONT]
    if not Decimal(full.overjet):
        changes += [f"overjet {t} 0" for t in INCISORS]
    changes += [f"overjet 11 {full.overjet}", f"overbite 11 {full.overbite}"]
    others = [t for t in FRONT if t != "11"][: int(full.open_teeth or 1) - 1]
    changes += [f"overbite {t} 0" for t in others]
    changes += [f"molar_relation {side} {full.text(f'molar_{side}')}" for side in ("right", "left")]
    changes += [f"crowding upper {full.crowding}", "crowding lower 0"]
    inside, outside = int(full.crossbite_inside), int(full.crossbite_outside)
    codes = ["upper_inside"] * inside + ["upper_outside"] * outside
    marked = dict(zip(COUNTED_BEHIND, codes, strict=False))
    changes += ["- crossbite mouth"]
    changes += [f"crossbite {t} {marked.get(t, 'none')}" for t in COUNTED_BEHIND]
    changes += [f"anb mouth {full.anb}", f"sn_mp mouth {full.sn_mp}"]
    assert log.floor(full, log.in_force(chosen)) == _score(neutral_with(changes), chosen).total


def test_a_row_comes_to_the_points_of_the_printed_table() -> None:
    found = log.estimate(ROW, SHIPPED)
    points = [(line.category, int(line.points)) for line in found.lines]
    assert points == [
        ("overjet", 2),
        ("anterior_open_bite", 2),
        ("anterior_open_bite", 2),
        ("crowding", 4),
        ("molar_relation", 4),
        ("molar_relation", 2),
        ("lingual_crossbite", 2),
        ("buccal_crossbite", 2),
        ("anb", 4),
        ("sn_mp", 6),
    ]
    assert found.floor == sum(line.points for line in found.lines) == 30
    assert all(line.source and line.rule for line in found.lines)


def test_what_the_log_does_not_ask_is_what_else_the_index_needs() -> None:
    found = log.estimate(ROW, SHIPPED)
    assert set(found.not_asked) == {
        "posterior_open_bite",
        "impa",
        "supernumerary",
        "ankylosed",
        "anomalous",
        "impacted",
        "midline_offset",
        "missing",
        "gap",
        "transposed",
        "skeletal_asymmetry",
    }
    mixed = log.estimate(replace(ROW, dentition="mixed"), SHIPPED)
    assert mixed.not_asked == found.not_asked
    assert "palatal_contact" in log.estimate(replace(ROW, overbite="4", open_teeth=""), SHIPPED).not_asked
    assert "molar_beyond" in log.estimate(replace(ROW, molar_left="beyond2"), SHIPPED).not_asked
    assert "upper_midline_face" in log.estimate(ROW, log.in_force({"midline_against": "face"})).not_asked


def test_what_was_left_empty_is_named() -> None:
    found = log.estimate(Answers(overbite="0", crowding="2"), SHIPPED)
    assert found.floor == 2
    assert found.not_told == (
        "Overjet",
        "Molar right",
        "Molar left",
        "Crossbite inside",
        "Crossbite outside",
        "ANB",
        "SN–MP",
        "Open teeth (taken as 1)",
    )
    nothing = log.estimate(Answers(age_months="160"), SHIPPED)
    assert nothing.floor is None
    assert nothing.lines == ()


def test_the_primary_dentition_has_no_floor() -> None:
    found = log.estimate(replace(ROW, dentition="primary"), SHIPPED)
    assert found.floor is None
    assert "primary dentition" in found.outside
    assert log.floor(replace(ROW, dentition="primary"), SHIPPED) is None


def test_an_angle_to_another_plane_does_not_count() -> None:
    other = replace(ROW, plane="go_gn")
    assert log.floor(other, SHIPPED) == 24
    assert log.estimate(other, SHIPPED).notes == (
        "SN–MP was taken to Go–Gn; the rule choice now reads Go–Me, so it does not count.",
    )
    assert log.floor(other, log.in_force({"mandibular_plane": "go_gn"})) == 30


@pytest.mark.parametrize(
    "stored",
    [
        [],
        "text",
        7,
        {"overjet": 5},
        {"overjet": "NaN"},
        {"overjet": "99"},
        {"open_teeth": "3"},
        {"molar_right": {"a": 1}},
        {"crossbite_inside": "8", "crossbite_outside": "8"},
        {"crowding": "-3"},
        {"plane": "go_gn", "dentition": None},
    ],
)
def test_a_broken_row_still_gives_an_estimate(stored: object) -> None:
    said, broken = read_answers(stored)
    assert broken or stored == {"plane": "go_gn", "dentition": None}
    log.estimate(said, SHIPPED)
