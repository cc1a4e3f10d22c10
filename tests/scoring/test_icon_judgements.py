"""What is published about an ICON total: need, complexity, an acceptable result; stages with a meaning.

Classes and limits from memory of Daniels and Richmond, J Orthod 2000;27:149-162, but for 43 as the cut-off
of need: Torkan et al. 2015.
"""

from functools import partial

import pytest

from portfolio.readings import Sheet
from portfolio.sources import cite
from scoring import registry
from tests.scoring import scored_lines

scored = partial(scored_lines.scored, "icon")


def _with_total(total: int) -> tuple[str, ...]:
    """Findings that come to a total: grade, crossbite (5), vertical (4 each), buccal segments (3 each)."""
    for grade in range(1, 11):
        for crossbite in (0, 1):
            for vertical, cover in enumerate(("20", "40", "70", "100")):
                for one, right in enumerate(("fitted", "off", "cusp_to_cusp")):
                    if 7 * grade + 5 * crossbite + 4 * vertical + 3 * one == total:
                        return (
                            f"aesthetic_component mouth {grade}",
                            f"overjet 11 {0 if crossbite else 2}",
                            f"overbite_cover mouth {cover}",
                            f"buccal_interdigitation right {right}",
                        )
    raise AssertionError(total)


@pytest.mark.parametrize(
    ("total", "complexity"),
    [
        (28, "under 29: easy"),
        (29, "29 to 50: mild"),
        (50, "29 to 50: mild"),
        (51, "51 to 63: moderate"),
        (63, "51 to 63: moderate"),
        (64, "64 to 77: difficult"),
        (77, "64 to 77: difficult"),
        (78, "over 77: very difficult"),
    ],
)
def test_classes_of_complexity_before_treatment(total: int, complexity: str) -> None:
    """Classes from memory."""
    score = scored(*_with_total(total))
    assert score.total == total
    (found,) = [v for v in score.verdicts if v.key == "complexity"]
    assert found.says == f"{complexity} (from memory)"
    assert found.source == cite("icon_2000_rules")


@pytest.mark.parametrize(("total", "says"), [(43, "43 or less: no need"), (44, "over 43: need")])
def test_need_begins_above_43(total: int, says: str) -> None:
    """43 as cut-off: Torkan et al. 2015; that need begins above it: from memory."""
    (found,) = [v for v in scored(*_with_total(total)).verdicts if v.key == "need"]
    assert found.says.startswith(says)
    assert "from memory" in found.says
    assert found.source == cite("icon_need_2015")


@pytest.mark.parametrize(
    ("total", "says"), [(30, "under 31: acceptable result"), (31, "31 or more: result not acceptable")]
)
def test_a_result_under_31_is_acceptable(total: int, says: str) -> None:
    """From memory."""
    (found,) = scored(*_with_total(total), stage="final").verdicts
    assert (found.key, found.says) == ("outcome", f"{says} (from memory)")


@pytest.mark.parametrize(
    ("stage", "total", "keys"),
    [
        ("initial", 44, ["need"]),
        ("initial", 78, ["need", "complexity"]),
        ("initial", 40, []),
        ("final", 31, ["outcome"]),
        ("final", 30, []),
        ("retention", 30, []),
    ],
)
def test_a_floor_is_judged_only_where_nothing_missing_can_change_it(
    stage: str, total: int, keys: list[str]
) -> None:
    score = scored(*_with_total(total), "- crowding upper", stage=stage)
    assert [v.key for v in score.verdicts] == keys


@pytest.mark.parametrize(
    ("stage", "dentition", "inside"),
    [
        ("initial", "permanent", True),
        ("initial", "mixed", True),
        ("final", "permanent", True),
        ("interim", "permanent", False),
        ("retention", "permanent", False),
        ("post_retention", "permanent", False),
        ("initial", "primary", False),
    ],
)
def test_it_is_meant_for_records_before_treatment_and_at_its_end(
    stage: str, dentition: str, inside: bool
) -> None:
    sheet = Sheet(stage, dentition)
    assert ("icon" in registry.meant_for(sheet)) is inside
    assert bool(registry.score("icon", sheet).outside) is not inside
