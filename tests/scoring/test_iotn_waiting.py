"""What the need index takes by convention, waits for, and asks: nothing that cannot change the grade.

Conventions on casts without clinical notes: two decks of teaching cards, read.
"""

import pytest

from scoring import kernel, registry
from tests.scoring.iotn_grades import missing, scored
from tests.scoring.sheets import cases, neutral_with

INDEX = registry.index("iotn")


@pytest.mark.parametrize(
    ("findings", "convention", "expected"),
    [
        (["overjet 11 5", "lip_competence mouth unknown"], ("lip_competence", "incompetent"), "3a"),
        (
            ["crossbite mouth rest_none", "crossbite 16 upper_inside", "functional_shift mouth unknown"],
            ("functional_shift", "over 2 mm"),
            "4c",
        ),
        ([f"overjet {t} -2" for t in ("12", "11", "21", "22")] + ["function_problem mouth unknown"],
         ("function_problem", "yes"), "4m"),
        ([f"overjet {t} -4" for t in ("12", "11", "21", "22")] + ["function_problem mouth unknown"],
         ("function_problem", "yes"), "5m"),
    ],
)  # fmt: skip
def test_what_cannot_be_told_on_casts_is_taken_by_the_published_convention(
    findings: list[str], convention: tuple[str, str], expected: str
) -> None:
    """Conventions on casts without clinical notes: two decks of teaching cards, read."""
    score = scored(*findings)
    assert score.extra["grade"] == expected
    assert score.complete
    assert [(c.quantity, c.site, c.taken_as) for c in score.conventions] == [
        (convention[0], "mouth", convention[1])
    ]


def test_a_convention_is_named_only_where_it_is_used() -> None:
    unknown = [
        "lip_competence mouth unknown",
        "functional_shift mouth unknown",
        "function_problem mouth unknown",
    ]
    assert scored(*unknown).conventions == ()
    assert scored(*unknown, "overjet 11 7").conventions == ()
    assert scored(*unknown).complete


def test_a_tooth_gone_for_an_unknown_cause_is_not_counted_and_named_under_conventions() -> None:
    score = scored("missing mouth rest_none", "missing 34 unknown", "missing 35 unknown")
    assert (score.extra["grade"], score.complete) == ("1", True)
    assert [(c.quantity, c.site) for c in score.conventions] == [("missing", "34"), ("missing", "35")]


@pytest.mark.parametrize(
    ("findings", "expected", "waits_for"),
    [
        (["overjet 11 5"], "2a", ["a lip_competence mouth"]),
        (["crossbite mouth rest_none", "crossbite 16 upper_inside"], "2c", ["c functional_shift mouth"]),
        ([f"overjet {t} -2" for t in ("12", "11", "21", "22")], "3b", ["m function_problem mouth"]),
        (["overbite 11 4"], "2f", ["f palatal_contact mouth"]),
        (["overbite 11 4", "palatal_contact mouth unknown"], "2f", ["f palatal_contact mouth"]),
        (["cleft_or_syndrome mouth unknown"], "1", ["p cleft_or_syndrome mouth"]),
        (["- cleft_or_syndrome mouth"], "1", ["p cleft_or_syndrome mouth"]),
        (["- missing mouth"], "1", ["h missing mouth"]),
        (["- supernumerary mouth"], "1", ["x supernumerary mouth"]),
        (["- impacted mouth"], "1", ["i impacted mouth", "t impacted mouth"]),
        (["- molar_relation left"], "1", ["g molar_relation left"]),
        (["- posterior_open_bite mouth"], "1", ["e posterior_open_bite 17 16 15 14 24 25 26 27"]),
        (["- overbite 13"], "1", ["e overbite 13"]),
        (["- overbite 11"], "1", ["e overbite 11", "f overbite 11", "f palatal_contact mouth"]),
        (["- overjet 23"], "1", ["c overjet 23"]),
    ],
)  # fmt: skip
def test_what_could_still_raise_the_grade_is_missing_and_the_grade_a_floor(
    findings: list[str], expected: str, waits_for: list[str]
) -> None:
    score = scored(*findings)
    assert (score.extra["grade"], score.complete) == (expected, False)
    assert missing(score) == waits_for


def test_what_cannot_change_the_grade_is_not_waited_for() -> None:
    assert scored("overjet 11 9.1", "- overjet 12", "- contact_offset mouth", "- crossbite mouth").complete
    deciding = scored("overjet 11 5", "lip_competence mouth incompetent", "- molar_relation left")
    assert (deciding.extra["grade"], deciding.complete) == ("3a", True)
    beside = scored(
        "overjet 11 5", "crossbite mouth rest_none", "crossbite 16 upper_inside", "functional_shift mouth 3"
    )
    assert (beside.extra["grade"], beside.complete) == ("4c", True)
    same_letter = scored("contact_offset 11-21 4.5", "- contact_offset mouth")
    assert (same_letter.extra["grade"], same_letter.complete) == ("4d", True)


def test_a_letter_that_comes_before_in_the_same_grade_is_waited_for() -> None:
    later = scored("overbite 11 -5", "- contact_offset mouth")
    assert missing(later) == ["d contact_offset 13-12 12-11 11-21 21-22 22-23 43-42 42-41 41-31 31-32 32-33"]
    known_shift = scored("overbite 11 -5", "- crossbite mouth", "functional_shift mouth 0", "buccal_contact right yes", "buccal_contact left yes")  # fmt: skip
    assert known_shift.complete
    assert missing(scored("overbite 11 -5", "- crossbite mouth", "functional_shift mouth 0", "buccal_contact right yes")) == ["l crossbite 24 25 26 27"]  # fmt: skip


def asked(*changes: str, **frame: str) -> dict[str, tuple[tuple[str, ...], bool]]:
    found = kernel.asks(INDEX, neutral_with(changes, index="iotn", **frame))
    return {ask.quantity: (ask.sites, ask.needed) for ask in found}


def test_nothing_below_the_grade_that_stands_is_needed() -> None:
    needed = {q for q, (_, needed) in asked("impacted mouth rest_none", "impacted 37 yes").items() if needed}
    assert needed == {"impacted"}
    needed = {q for q, (_, needed) in asked("overjet 11 7").items() if needed}
    assert needed == {"impacted", "missing", "cleft_or_syndrome", "supernumerary", "overjet"}
    needed = {q for q, (_, needed) in asked().items() if needed}
    assert needed == {
        "impacted", "missing", "cleft_or_syndrome", "supernumerary", "overjet", "crossbite", "contact_offset",
        "overbite", "posterior_open_bite", "molar_relation",
    }  # fmt: skip


def test_clinical_inputs_are_needed_only_where_they_decide() -> None:
    clinical = ("lip_competence", "function_problem", "functional_shift", "buccal_contact", "palatal_contact")
    assert not any(asked()[q][1] for q in clinical)
    assert asked("overjet 11 5")["lip_competence"] == (("mouth",), True)
    assert asked(*(f"overjet {t} -2" for t in ("12", "11", "21", "22")))["function_problem"][1]
    crossed = asked("crossbite mouth rest_none", "crossbite 24 upper_outside")
    assert crossed["functional_shift"][1]
    assert crossed["buccal_contact"][1]
    assert asked("overbite 11 3.5")["palatal_contact"][1]
    assert not asked("overbite 11 3.49")["palatal_contact"][1]


def test_support_zones_and_spaces_are_offered_for_what_has_not_erupted() -> None:
    found = asked("eruption 13 unerupted", "- overjet 13", "- overbite 13", "eruption 38 unerupted")
    assert found["eruption_space"] == (("13",), False)
    assert found["support_zone"] == (("upper-right-back",), False)
    assert not {"eruption_space", "support_zone"} & set(asked())


def test_whatever_is_missing_is_asked_as_needed_at_the_same_sites() -> None:
    for case in cases("iotn"):
        needed = {a.quantity: set(a.sites) for a in kernel.asks(INDEX, case.sheet, case.choices) if a.needed}
        for lacking in registry.score("iotn", case.sheet, choices=case.choices).missing:
            assert set(lacking.sites) <= needed[lacking.quantity], case.name


def test_no_worked_case_reads_what_is_not_asked() -> None:
    about_teeth = {"blocked_out", "transposed", "molar_beyond", "eruption_space", "support_zone"}
    for case in cases("iotn"):
        if case.sheet.dentition != "primary":
            asked_for = {a.quantity for a in kernel.asks(INDEX, case.sheet, case.choices)}
            assert {f.quantity for f in case.sheet.findings} <= asked_for | about_teeth, case.name
