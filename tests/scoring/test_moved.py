"""What has moved between a kept score and the score as it stands."""

from portfolio.finding_sheet import Sheet
from scoring import registry
from scoring.digests import frame_digest
from scoring.frozen import freeze
from scoring.moved import Moved, MovedChoice, MovedFinding, Now, Then, what_moved
from tests.scoring.sheets import neutral_with

INDEX = registry.index("discrepancy")


def then(sheet: Sheet, choices: dict[str, str] | None = None, rules: str = "") -> Then:
    score = registry.score("discrepancy", sheet, choices=choices)
    words = freeze(score, INDEX)["choices_in_words"]
    return Then(
        score, sheet.findings, words, rules or registry.rules_digest("discrepancy"), frame_digest(sheet)
    )


def now(sheet: Sheet, choices: dict[str, str] | None = None) -> Now:
    score = registry.score("discrepancy", sheet, choices=choices)
    return Now(score, sheet.findings, INDEX, registry.rules_digest("discrepancy"), frame_digest(sheet))


def lines(moved: Moved) -> list[tuple[str, str, str, str, str]]:
    return [(m.category, m.site, m.points_before, m.points_after, m.difference) for m in moved.lines]


def test_nothing_has_moved_when_nothing_differs() -> None:
    sheet = neutral_with(("overjet 11 11",))
    moved = what_moved(then(sheet), now(sheet))
    assert not moved.stale
    assert moved.words == ()
    assert moved.lines == ()
    assert moved.difference == "0"


def test_a_changed_a_new_and_a_cleared_finding_are_told_with_their_lines() -> None:
    before = neutral_with(("overjet 11 11", "overbite 12 -3"))
    after = neutral_with(
        ("overjet 11 8", "overbite 12 -3", "supernumerary 12 1", "supernumerary mouth rest_none")
    )
    moved = what_moved(then(before), now(after))
    assert moved.words == ("3 findings changed since",)
    assert MovedFinding("Overjet", "11", "11 mm", "8 mm") in moved.findings
    assert MovedFinding("Extra teeth", "12", "nothing recorded", "1") in moved.findings
    assert ("Overjet", "11", "5", "4", "−1") in lines(moved)
    assert ("Other", "12", "", "1", "+1") in lines(moved)
    assert (moved.total_before, moved.total_after, moved.difference) == ("8", "8", "0")


def test_the_differences_of_the_lines_add_up_to_the_difference_of_the_totals() -> None:
    before = neutral_with(("overjet 11 11", "overbite 12 -3", "crowding upper 4"))
    after = neutral_with(("overjet 12 -4", "overbite 11 -6", "anb mouth 8"))
    moved = what_moved(then(before), now(after))
    by_line = sum(int(m.difference.replace("−", "-")) for m in moved.lines)
    assert by_line == int(moved.difference.replace("−", "-"))
    assert by_line != 0


def test_another_rule_choice_is_told_in_words() -> None:
    sheet = neutral_with(("overbite 11 -4",))
    moved = what_moved(then(sheet), now(sheet, {"open_bite_start": "edge_point_plus"}))
    assert moved.words == ("other rule choices",)
    assert moved.choices == (
        MovedChoice(
            "Anterior open bite starts",
            "full millimetres alone; a tooth edge to edge counts 1",
            "1 for edge to edge and 1 for each millimetre beyond it",
        ),
    )
    assert ("Anterior open bite", "11", "4", "5", "+1") in lines(moved)


def test_other_rules_and_other_teeth_are_told() -> None:
    sheet = neutral_with()
    moved = what_moved(then(sheet, rules="another"), now(sheet))
    assert moved.words == ("the rules themselves changed",)
    mixed = neutral_with(dentition="mixed", teeth=" ".join(sorted(sheet.listed)))
    assert what_moved(then(sheet), now(mixed)).words == ("stage, dentition or teeth changed",)


def test_how_a_value_was_taken_makes_no_score_stale_but_its_plane_does() -> None:
    sheet = neutral_with()
    findings = tuple(
        type(f)(f.quantity, f.site, f.value, plane=f.plane, method="eye", note="again")
        for f in sheet.findings
    )
    assert not what_moved(then(sheet), now(Sheet("initial", "permanent", findings))).stale
    assert what_moved(then(sheet), now(neutral_with(("sn_mp mouth 32 go_gn",)))).stale
