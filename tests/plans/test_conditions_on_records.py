"""Conditions on records: three states, told why, only of some cases; and never a word that asks for a radiograph."""

import re

import pytest

from plans import record_names, requirements
from plans.document import RecordRule
from plans.facts import CaseFacts, RecordFact, StageFacts
from tests.plans.held_cases import answer, filed, staged, state

NOTHING = CaseFacts("A", "P")
URGES = re.compile(r"\b(take|retake|obtain|acquire|expose|order|request)\b", re.I)


@pytest.mark.parametrize(
    ("said", "expected", "lack"),
    [
        ("present", "met", ""),
        ("not_taken: impression tray refused", "met", ""),
        ("not_taken", "unknown", "statement"),
        ("not_taken:  ", "unknown", "statement"),
        ("not_filed", "unknown", "document"),
    ],
)
def test_the_three_states_of_a_record(said: str, expected: str, lack: str) -> None:
    found = answer("records", filed(casts=said, profile="present"), records=["casts", "profile"])
    assert found.state == expected
    assert [one.kind for one in found.lacks] == ([lack] if lack else [])
    assert [one.key for one in found.lacks] == (["casts"] if lack else [])


def test_a_record_that_nobody_spoke_of_is_lacking() -> None:
    for facts in (NOTHING, staged(), filed(profile="present")):
        found = answer("records", facts, records=["casts"])
        assert (found.state, found.words) == ("unknown", "unknown: not filed: casts before treatment")
    assert state("records", filed("final", casts="present"), stage="initial", records=["casts"]) == "unknown"


def test_a_radiograph_that_was_not_taken_is_complete_and_lacks_nothing() -> None:
    for record in ("panoramic", "lateral", "radiograph", "radiograph_report"):
        for said in ("not_taken", "not_taken: no clinical indication"):
            found = answer("records", filed(**{record: said}), records=[record])
            assert (found.state, found.lacks) == ("met", ())


def test_of_a_radiograph_only_what_became_of_it_is_asked() -> None:
    found = answer("records", NOTHING, records=["lateral"])
    assert {lack.kind for lack in found.lacks} == {"statement"}
    assert found.lacks[0].says == "nothing told of: lateral radiograph before treatment"


def test_no_sentence_or_answer_asks_for_a_radiograph() -> None:
    radiographs = [record for record in record_names.RECORDS if record_names.is_radiograph(record)]
    said = []
    for rule in ({"kind": "records"}, {"kind": "records_if", "when": {"kind": "age", "at_least": 216}}):
        found = requirements.read({**rule, "stage": "final", "records": radiographs})
        assert "as far as taken for the patient's care" in found.sentence()
        for record_state in ("present", "not_taken", "not_filed", ""):
            facts = {r: RecordFact(record_state) for r in radiographs} if record_state else {}  # type: ignore[arg-type]
            stage = StageFacts("final", age_months=300, records=facts)
            told = found.evaluate(
                CaseFacts(
                    "A", "P", stages={"final": stage, "initial": staged(age_months=300).stages["initial"]}
                )
            )
            said += [found.sentence(), told.says, told.words, *(lack.says for lack in told.lacks)]
    assert [text for text in said if URGES.search(text)] == []


def adult(months: int | None, **records: str) -> CaseFacts:
    facts = filed(**records).stages["initial"]
    return CaseFacts(
        "A", "P", stages={"initial": StageFacts("initial", age_months=months, records=facts.records)}
    )


def test_records_of_some_cases_only() -> None:
    rule = {"when": {"kind": "age", "at_least": 216}, "records": ["oblique"]}
    assert state("records_if", adult(215), **rule) == "met"
    assert answer("records_if", adult(215), **rule).says == "does not apply: 17 y 11 m"
    assert state("records_if", adult(216, oblique="present"), **rule) == "met"
    assert state("records_if", adult(None, oblique="present"), **rule) == "met"
    lacking = answer("records_if", adult(216), **rule)
    assert (lacking.state, [lack.key for lack in lacking.lacks]) == ("unknown", ["oblique"])
    open_ = answer("records_if", adult(None), **rule)
    assert (open_.state, [lack.key for lack in open_.lacks]) == ("unknown", ["age"])


def test_a_rule_about_records_is_one_of_these_conditions() -> None:
    when = requirements.read({"kind": "surgery"})
    everything = RecordRule("initial", tuple(record_names.RECORDS)).requirement.sentence()
    assert everything.startswith(
        "The initial records hold casts, casts in an articulator, the 8 usual photographs, photographs (oblique face, "
    )
    assert everything.endswith(
        "medical and dental history, other report or letter and panoramic radiograph, lateral radiograph, other "
        "radiograph and report on radiographs (as far as taken for the patient's care); what was not taken is told with "
        "its reason."
    )
    assert RecordRule("final", ("casts",)).requirement.sentence() == (
        "The final records hold casts; what was not taken is told with its reason."
    )
    assert RecordRule(
        "final", ("casts", *record_names.USUAL_PHOTOGRAPHS, "oblique"), when
    ).requirement.sentence() == (
        "If this is so: treatment included jaw surgery; then the final records hold casts, the 8 usual photographs and "
        "photograph (oblique face); what was not taken is told with its reason."
    )
