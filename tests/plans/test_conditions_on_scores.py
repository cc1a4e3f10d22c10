"""Conditions on scores: limits, floors, rule choices, chances, editions, media."""

from dataclasses import replace

import pytest
from scipy import stats

from plans import requirements
from plans.facts import CaseFacts, ScoreFact, StageFacts
from portfolio.finding_sheet import Finding, Sheet
from scoring import registry
from tests.plans.held_cases import answer, scored, state

AT_LEAST_20 = {"index": "discrepancy", "stage": "initial", "at_least": "20"}
AT_MOST_10 = {"index": "discrepancy", "stage": "initial", "at_most": "10"}
BETWEEN = {"index": "discrepancy", "stage": "initial", "at_least": "10", "at_most": "20"}


@pytest.mark.parametrize(
    ("fields", "total", "expected", "margin"),
    [
        (AT_LEAST_20, "20", "met", "0"),
        (AT_LEAST_20, "19", "not_met", "-1"),
        (AT_LEAST_20, "24.5", "met", "4.5"),
        (AT_MOST_10, "10", "met", "0"),
        (AT_MOST_10, "11", "not_met", "-1"),
        (BETWEEN, "10", "met", "0"),
        (BETWEEN, "17", "met", "3"),
        (BETWEEN, "20", "met", "0"),
        (BETWEEN, "21", "not_met", "-1"),
        (BETWEEN, "9", "not_met", "-1"),
    ],
)
def test_limits_are_included(fields: dict[str, str], total: str, expected: str, margin: str) -> None:
    found = answer("index", scored(total), **fields)
    assert (found.state, str(found.margin), found.unit, found.says) == (expected, margin, "points", total)


def test_an_incomplete_total_is_a_floor() -> None:
    floor = scored("12", complete=False, missing=("ANB", "SN-MP"))
    assert answer("index", floor, index="discrepancy", at_least="10").state == "met"
    at_least_20 = answer("index", floor, **AT_LEAST_20)
    assert at_least_20.state == "unknown"
    assert at_least_20.words == "unknown: ANB, SN-MP not recorded"
    assert at_least_20.says == "at least 12; not recorded: ANB, SN-MP"
    assert [lack.kind for lack in at_least_20.lacks] == ["measurement", "measurement"]
    assert answer("index", floor, **AT_MOST_10).state == "not_met"
    assert answer("index", floor, index="discrepancy", at_most="12").state == "unknown"
    assert answer("index", floor, **BETWEEN).state == "unknown"


def test_what_is_not_scored_is_unknown_and_never_passes() -> None:
    for fields in (AT_LEAST_20, AT_MOST_10, BETWEEN):
        found = answer("index", CaseFacts("A", "P"), **fields)
        assert (found.state, found.chance, len(found.lacks)) == ("unknown", None, 1)
        assert state("index", scored(None), **fields) == "unknown"


def test_firmly_asks_for_every_rule_choice() -> None:
    under = {"open_bite_start=edge_point_plus": "22", "crowding_1=1": "24", "diastema=from_2": "19"}
    firm = {**AT_LEAST_20, "firmly": True}
    found = answer("index", scored("24", under=under), **firm)
    assert (found.state, found.met_under, found.of) == ("depends", 3, 4)
    assert found.words == "met under 3 of 4 choices"
    assert found.says == "24; 22 under open_bite_start=edge_point_plus; 19 under diastema=from_2"
    assert str(found.margin) == "-1"
    assert state("index", scored("24", under=under), **AT_LEAST_20) == "met"
    assert state("index", scored("24", under={"a=b": "20"}), **firm) == "met"
    assert state("index", scored("18", under={"a=b": "19"}), **firm) == "not_met"
    assert state("index", scored("18", under={"a=b": "20"}), **firm) == "depends"
    assert state("index", scored("24", under={}), **firm) == "met"


def test_firmly_is_unknown_while_other_totals_are() -> None:
    firm = {**AT_LEAST_20, "firmly": True}
    assert state("index", scored("24"), **firm) == "unknown"
    assert state("index", scored("24", under={"a=b": None}), **firm) == "unknown"
    # A floor that reaches the limit under one choice and not under the other may reach it yet.
    floor = answer("index", scored("20", complete=False, under={"a=b": "18"}), **firm)
    assert (floor.state, floor.met_under, floor.of) == ("unknown", 1, 2)


def test_a_reading_that_lacks_a_finding_is_a_floor_of_its_own() -> None:
    lacking = {"midline_against=face": ("Upper midline against the face",)}
    firm = {**AT_LEAST_20, "firmly": True}
    low = answer("index", scored("24", under={"midline_against=face": "18"}, under_missing=lacking), **firm)
    assert low.words == "unknown: Upper midline against the face not recorded"
    assert low.says == "24; at least 18 under midline_against=face"
    high = scored("24", under={"midline_against=face": "21"}, under_missing=lacking)
    assert state("index", high, **firm) == "met"


def test_a_real_score_is_met_under_one_reading_of_the_text_only() -> None:
    # An anterior open bite of 3 mm at one tooth: 3 points, or 1 + 3 as the worksheet is printed (`findings.md`).
    cells = {"13": "1", "12": "1", "11": "-3", "21": "1", "22": "1", "23": "1"}
    sheet = Sheet("initial", "permanent", tuple(Finding("overbite", t, v) for t, v in cells.items()))
    score = registry.score("discrepancy", sheet)
    open_bite = score.categories["anterior_open_bite"]
    others = {o.choice: o.total for o in score.other_totals}
    assert open_bite is not None
    assert str(open_bite) == "3"
    fact = ScoreFact("discrepancy", "initial", score.edition, score.total, True, under=others)
    facts = CaseFacts("A", "P", scores={("discrepancy", "initial"): fact})
    limit = str(others["open_bite_start=edge_point_plus"])
    found = answer("index", facts, index="discrepancy", at_least=limit, firmly=True)
    assert (found.state, found.met_under) == ("depends", 1)
    assert found.under["discrepancy.open_bite_start=edge_point_plus"] == "met"


def test_the_chance_is_that_of_the_tails() -> None:
    # A total that is binomial: 40 lines of one point with a chance of one half.
    law = stats.binom(40, 0.5)
    tails = {n: float(law.sf(n - 1)) for n in range(41)}
    facts = scored("21", tails=tails, sd=float(law.std()))
    found = answer("index", facts, **AT_LEAST_20)
    assert found.chance == pytest.approx(law.sf(19))
    assert found.margin_sd == pytest.approx(1 / law.std())
    assert answer("index", facts, index="discrepancy", at_most="20").chance == pytest.approx(law.cdf(20))
    assert answer("index", facts, **BETWEEN).chance == pytest.approx(law.cdf(20) - law.cdf(9))
    # A limit between two totals, or beyond the last one.
    assert answer("index", facts, index="discrepancy", at_least="19.5").chance == pytest.approx(law.sf(19))
    assert answer("index", facts, index="discrepancy", at_most="19.5").chance == pytest.approx(law.cdf(19))
    assert answer("index", facts, index="discrepancy", at_least="41").chance == 0
    assert answer("index", facts, index="discrepancy", at_most="41").chance == 1


def test_the_chance_of_a_floor_is_told_only_as_far_as_it_holds() -> None:
    floor = scored("12", complete=False, tails={n: 1 - n / 25 for n in range(26)})
    assert answer("index", floor, index="discrepancy", at_least="10").chance == pytest.approx(0.6)
    assert answer("index", floor, **AT_LEAST_20).chance is None
    assert answer("index", floor, index="discrepancy", at_most="20").chance is None


def test_an_edition_that_is_asked_for_must_be_the_one_scored_by() -> None:
    asked = {"index": "par", "stage": "final", "at_most": "9", "edition": "us1995"}
    assert state("index", scored("7", index="par", stage="final", edition="us1995"), **asked) == "met"
    found = answer("index", scored("7", index="par", stage="final", edition="uk1992"), **asked)
    assert found.state == "unknown"
    assert "asked for by" in found.says


def test_an_outcome_is_held_on_late_records_only() -> None:
    for total, expected in (("27", "met"), ("28", "not_met")):
        assert state("outcome", scored(total, index="outcome", stage="final"), at_most="27") == expected
    assert state("outcome", scored("5", index="outcome", stage="initial"), at_most="27") == "unknown"
    floor = scored("20", index="outcome", stage="final", complete=False, missing=("alignment",))
    assert answer("outcome", floor, at_most="27").words == "unknown: alignment not recorded"
    with pytest.raises(requirements.RequirementRefused, match="stage"):
        requirements.read({"kind": "outcome", "at_most": "27", "stage": "initial"})


def test_radiographs_notes_and_the_patient_stand_beside_the_casts() -> None:
    asked = {"index": "discrepancy", "stage": "initial", "media": ["plaster", "scan"]}
    assert state("measured_on", scored("9", media=("plaster", "radiograph", "notes")), **asked) == "met"
    assert state("measured_on", scored("9", media=("plaster", "photograph")), **asked) == "not_met"
    assert state("measured_on", scored("9", media=("radiograph",)), **asked) == "unknown"
    assert state("measured_on", CaseFacts("A", "P"), **asked) == "unknown"


def test_lengths_are_measured_by_the_listed_methods() -> None:
    def by(**methods: str) -> CaseFacts:
        found = [
            Finding("overjet", f"1{n}", "3", method=m, medium=medium) for n, (m, medium) in METHODS_AT.items()
        ]
        found = [replace(one, method=methods["at_11"]) if one.site == "11" else one for one in found]
        read = Sheet("initial", "permanent", tuple(found), medium="plaster")
        return CaseFacts("A", "P", stages={"initial": StageFacts("initial", sheet=read)})

    asked = {"index": "discrepancy", "stage": "initial", "methods": ["caliper", "gauge"]}
    assert state("measured_by", by(at_11="caliper"), **asked) == "met"
    assert answer("measured_by", by(at_11="eye"), **asked).says == "overjet by eye"
    assert state("measured_by", by(at_11="eye"), **asked) == "not_met"
    assert answer("measured_by", by(at_11=""), **asked).words == "unknown: the method of overjet not recorded"
    assert state("measured_by", CaseFacts("A", "P"), **asked) == "unknown"


METHODS_AT = {1: ("caliper", ""), 2: ("gauge", "scan"), 3: ("history", "notes")}
"""What was found in notes stands beside the casts."""


def test_sentences_read_as_a_board_prints_them() -> None:
    said = [
        requirements.read(data).sentence()
        for data in (
            {"kind": "index", **AT_LEAST_20, "firmly": True},
            {"kind": "index", "index": "par", "stage": "final", "at_most": "9", "edition": "us1995"},
            {"kind": "index", "index": "icon", "stage": "initial", "at_least": "44", "at_most": "63"},
            {"kind": "index", "index": "iotn", "stage": "initial", "at_least": "4"},
            {"kind": "index", "index": "irregularity", "stage": "retention", "at_most": "3.5"},
            {"kind": "measured_on", "index": "par", "stage": "final", "media": ["plaster", "scan"]},
        )
    ]
    assert said == [
        "The discrepancy index before treatment is at least 20, under every rule choice.",
        f"The PAR score at the end of treatment is at most 9, by its edition {_words('par', 'us1995')}.",
        "The ICON score before treatment is from 44 to 63.",
        "The dental health component of the index of treatment need before treatment is at least grade 4.",
        "The irregularity index in retention is at most 3.5 mm.",
        "The measurements for the PAR score at the end of treatment are made on plaster casts or digital casts only.",
    ]


def _words(index: str, edition: str) -> str:
    return registry.INDEXES[index].edition_words(edition)
