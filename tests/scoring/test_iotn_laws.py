"""Laws of the need index: worse never grades better, and a complete grade cannot be changed by more findings."""

from decimal import Decimal

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from portfolio.readings import Finding
from scoring import registry
from scoring.indices.iotn.grades import rank
from scoring.result import Score
from tests.scoring.sheets import neutral_with, sheet

INCISORS = ("12", "11", "21", "22")
FUNCTION = st.sampled_from(("yes", "no", "unknown"))


def _hundredths(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.integers(int(Decimal(low) * 100), int(Decimal(high) * 100)).map(lambda n: Decimal(n) / 100)


def _grade(changes: list[str], choices: dict[str, str] | None = None) -> int:
    total = registry.score(
        "iotn", neutral_with(changes, index="iotn"), choices=choices, detail="totals"
    ).total
    assert total is not None
    return int(total)


@pytest.mark.parametrize(
    "findings",
    [
        ["overjet 21 {}", "lip_competence mouth competent"],
        ["overjet 21 {}", "lip_competence mouth unknown"],
        ["contact_offset mouth rest_none", "contact_offset 42-41 {}"],
        ["posterior_open_bite mouth rest_none", "posterior_open_bite 25 {}"],
        ["overbite 23 -{}", "overbite 21 2"],
        ["overbite 11 {}", "palatal_contact mouth none"],
        ["crossbite mouth rest_none", "crossbite 26 upper_inside", "functional_shift mouth {}"],
    ],
    ids=lambda found: found[0],
)
@given(a=_hundredths("0", "10"), b=_hundredths("0", "10"))
def test_a_greater_value_never_gives_a_better_grade(findings: list[str], a: Decimal, b: Decimal) -> None:
    low, high = (_grade([f.format(v) for f in findings]) for v in (min(a, b), max(a, b)))
    assert low <= high


@given(
    _hundredths("0.01", "20"), _hundredths("0.01", "20"), FUNCTION, st.sampled_from(("all_recorded", "any"))
)
def test_a_greater_reverse_overjet_never_gives_a_better_grade(
    a: Decimal, b: Decimal, function: str, reading: str
) -> None:
    low, high = (
        _grade(
            [
                *(f"overjet {t} -0.01" for t in INCISORS),
                f"overjet 11 -{v}",
                f"function_problem mouth {function}",
            ],
            {"reverse_overjet": reading},
        )
        for v in (min(a, b), max(a, b))
    )
    assert low <= high


@given(_hundredths("0", "15"), _hundredths("0", "15"))
def test_less_space_for_an_unerupted_tooth_never_gives_a_better_grade(a: Decimal, b: Decimal) -> None:
    wide, tight = (
        _grade(["eruption 35 unerupted", f"eruption_space 35 {v}"]) for v in (max(a, b), min(a, b))
    )
    assert wide <= tight


@pytest.mark.parametrize(
    "scale",
    [
        ["lip_competence mouth competent", "lip_competence mouth incompetent"],
        ["function_problem mouth no", "function_problem mouth yes"],
        ["cleft_or_syndrome mouth no", "cleft_or_syndrome mouth yes"],
        ["palatal_contact mouth none", "palatal_contact mouth contact", "palatal_contact mouth trauma"],
        ["buccal_contact left yes", "buccal_contact left no"],
        ["submerged 75 yes", "submerged 75 severe"],
        ["functional_shift mouth none", "functional_shift mouth 1.5", "functional_shift mouth unknown"],
    ],
    ids=lambda scale: scale[0].split()[0],
)
@given(
    overjets=st.sampled_from((["overjet 11 5"], ["overjet 21 -2"], [f"overjet {t} -2" for t in INCISORS], [])),
    scissors=st.booleans(),
)  # fmt: skip
def test_a_worse_code_never_gives_a_better_grade(
    scale: list[str], overjets: list[str], scissors: bool
) -> None:
    crossed = ["crossbite mouth rest_none", "crossbite 25 upper_outside"] if scissors else []
    grades = [_grade([*overjets, *crossed, "submerged mouth rest_none", code]) for code in scale]
    assert grades == sorted(grades)


@given(st.integers(0, 6), st.integers(0, 6))
def test_more_missing_teeth_never_give_a_better_grade(a: int, b: int) -> None:
    places = ("35", "45", "34", "15", "25", "44")
    few, more = (
        _grade(["missing mouth rest_none", *(f"missing {t} congenital" for t in places[:n])])
        for n in (min(a, b), max(a, b))
    )
    assert few <= more


MOUTHS = st.tuples(
    *(
        st.sampled_from(options)
        for options in (
            ("overjet 21 9.5", "overjet 21 5", "overjet 21 2", "overjet 21 -4"),
            ("overjet 12 7", "overjet 12 1", "overjet 12 -1"),
            ("overjet 11 -2", "overjet 11 3"),
            ("overjet 22 1", "overjet 22 -0.5"),
            ("overjet 13 2", "overjet 13 -1"),
            ("overbite 11 -4.5", "overbite 11 4", "overbite 11 2"),
            ("overbite 13 -3", "overbite 13 2"),
            ("palatal_contact mouth trauma", "palatal_contact mouth contact"),
            ("functional_shift mouth 1.5", "functional_shift mouth none", "functional_shift mouth unknown"),
            ("lip_competence mouth incompetent", "lip_competence mouth competent", "lip_competence mouth unknown"),
            ("function_problem mouth yes", "function_problem mouth no", "function_problem mouth unknown"),
            ("buccal_contact right no", "buccal_contact right yes"),
            ("cleft_or_syndrome mouth no", "cleft_or_syndrome mouth yes"),
            ("contact_offset 42-41 4.5", "contact_offset 42-41 3", "contact_offset 42-41 0"),
            ("crossbite 15 upper_outside", "crossbite 15 upper_inside", "crossbite 15 edge"),
            ("impacted 37 tipped", "impacted 38 tipped", "impacted 37 yes"),
            ("missing 35 congenital", "missing 35 extracted"),
            ("supernumerary mouth none", "supernumerary 11 1"),
            ("molar_relation right end2", "molar_relation right class1"),
        )
    ),
)  # fmt: skip
ALWAYS = (
    "overjet 23 2", *(f"overbite {t} 2" for t in ("12", "21", "22", "23")), "posterior_open_bite mouth none",
    "molar_relation left class1", "contact_offset mouth rest_none", "crossbite mouth rest_none",
    "impacted mouth rest_none", "missing mouth rest_none",
)  # fmt: skip
"""The rest of every mouth.  Contact with the palate goes with an overbite over 3.5 mm, as it does in a mouth."""


def _mouth(chosen: tuple[str, ...]) -> list[str]:
    deep = "overbite 11 4" in chosen
    return [t for t in (*chosen, *ALWAYS) if deep or not t.startswith("palatal_contact")]


def _rank(score: Score) -> tuple[int, int]:
    shown = str(score.extra["grade"])
    return (0, 99) if shown == "1" else rank(int(shown[0]), shown[1])


PARTS = st.data()


def _part(chosen: tuple[str, ...], data: st.DataObject, keep: str = "") -> list[str]:
    """The mouth without some of its findings; those of the quantity `keep` stay.

    Where a value goes, what is said about the rest of its region goes as well: it would say that nothing is there.
    """
    whole = _mouth(chosen)
    may_go = [t for t in whole if not keep or not t.startswith(keep)]
    gone = data.draw(st.sets(st.sampled_from(may_go), max_size=6))
    about = {t.split()[0] for t in gone}
    return [t for t in whole if t not in gone and not (t.endswith("rest_none") and t.split()[0] in about)]


@given(MOUTHS, PARTS)
def test_a_complete_grade_stays_whatever_else_is_recorded(
    chosen: tuple[str, ...], data: st.DataObject
) -> None:
    score = registry.score("iotn", sheet(_part(chosen, data)))
    if score.complete:
        event("complete")
        assert registry.score("iotn", sheet(_mouth(chosen))).extra["grade"] == score.extra["grade"]
    else:
        event("incomplete")
        assert score.missing


@given(MOUTHS, PARTS)
def test_the_grade_of_an_incomplete_sheet_is_a_floor(chosen: tuple[str, ...], data: st.DataObject) -> None:
    """Overjet apart: one more incisor can turn a reverse overjet into a crossbite."""
    part = registry.score("iotn", sheet(_part(chosen, data, keep="overjet")))
    assert _rank(registry.score("iotn", sheet(_mouth(chosen)))) <= _rank(part)


@given(MOUTHS)
def test_a_mouth_with_everything_recorded_is_complete(chosen: tuple[str, ...]) -> None:
    assert registry.score("iotn", sheet(_mouth(chosen))).complete


@given(MOUTHS, PARTS)
def test_every_finding_that_a_letter_reads_has_a_line(chosen: tuple[str, ...], data: st.DataObject) -> None:
    part = sheet(_part(chosen, data))
    told: set[Finding] = {f for line in registry.score("iotn", part).lines for f in line.findings}
    assert told == set(part.findings)
