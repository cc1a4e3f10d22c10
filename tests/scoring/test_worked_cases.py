"""Worked cases of the discrepancy index pass, say where they come from, and leave no rule unused.

Values marked `practice` in the file are common practice, no source; published ones name the report.
"""

from scoring import registry
from scoring.kernel import tallies
from tests.scoring.rule_cells import fired_cells, held_cells
from tests.scoring.sheets import cases

CASES = cases()
INDEX = registry.index("discrepancy")


def test_the_cases_come_from_every_kind_of_source() -> None:
    origins = {"published", "handbook", "practice", "memory", "constructed"}
    assert {case.origin for case in CASES} == origins


def test_every_rule_band_and_code_fires_in_a_worked_case() -> None:
    wanted: set[str] = set()
    fired: set[str] = set()
    for case in CASES:
        wanted |= held_cells(INDEX, INDEX.editions[0], case.choices)
        fired |= fired_cells(tallies(INDEX, case.sheet, INDEX.terms(None, case.choices)))
    # cells that no sheet can reach: past a full step always scores, and only a blocked-out canine is looked at
    unreachable = {
        c for c in wanted if c.startswith("first molars beyond a full step") and c.endswith("not scored")
    }
    unreachable.add("blocked-out canine as an impaction none")
    assert sorted(wanted - fired - unreachable) == []
