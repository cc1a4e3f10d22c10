"""Plans as sentences, and what differs between two of them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from plans.differences import Difference, differences
from plans.document import Plan, Slot
from plans.outline import Clause, outline
from plans.plan_file import read_plan
from plans.requirements import Requirement, read
from plans.shipped import shipped
from tests.plans.any_condition import conditions

INDEX = {"kind": "index", "index": "discrepancy", "stage": "initial", "at_least": "20"}
SURGERY = {"kind": "surgery", "wanted": True}
PHASES = {"kind": "two_phases", "wanted": True}


def plan(**more: object) -> Plan:
    slots = [
        {
            "key": "a",
            "label": "Hard",
            "condition": {"kind": "all", "of": [INDEX, {"kind": "any", "of": [SURGERY, PHASES]}]},
        },
        {"key": "b", "label": "Open"},
    ]
    return read_plan({"plan": 1, "name": "Quay", "slots": slots, **more})


def test_a_slot_reads_condition_by_condition_and_opens_its_groups() -> None:
    hard, any_case = outline(plan()).slots
    assert hard.clauses == (
        Clause("The discrepancy index before treatment is at least 20."),
        Clause(
            "At least one of these:",
            (Clause("Treatment included jaw surgery."), Clause("Treatment was done in two phases or more.")),
        ),
    )
    assert any_case.lines == ("Any case may stand here.",)


@given(conditions())
@settings(max_examples=100)
def test_opened_or_not_no_word_of_a_condition_is_lost(condition: Requirement) -> None:
    """The sentence of a condition and its opened lines hold the same words; only brackets and capitals differ."""
    (slot,) = outline(Plan("Q", (Slot("a", "A", condition),))).slots
    said = " ".join(slot.lines).lower()
    for one in _single(condition):
        assert one.sentence().lower() in said


def _single(condition: Requirement) -> list[Requirement]:
    if condition.group != "groups":
        return [condition]
    return [single for one in condition.inner for single in _single(one)]


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (2, None, "At least 2"),
        (None, 1, "At most 1"),
        (1, 3, "At least 1 and at most 3"),
        (2, 2, "Exactly 2"),
    ],
)
def test_a_rule_says_how_many_of_the_chosen_cases(least: int | None, most: int | None, words: str) -> None:
    rule = {"key": "r", "condition": SURGERY, "at_least": least, "at_most": most}
    slots = [{"key": str(number), "label": "A"} for number in range(3)]
    found = outline(plan(slots=slots, groups=[rule])).groups[0]
    assert found.lines == (f"{words} of the chosen cases: Treatment included jaw surgery.",)


@pytest.mark.parametrize("key", shipped())
def test_a_plan_does_not_differ_from_itself(key: str) -> None:
    assert differences(shipped()[key], shipped()[key]) == ()


def test_what_differs_is_told_part_by_part_with_the_sentences_of_one_side_only() -> None:
    old = plan()
    harder = replace(old.slots[0], condition=read({**INDEX, "at_least": "25"}))
    new = replace(old, name="Quay 2", slots=(Slot("c", "New", read(SURGERY)), harder), order=("code",))
    assert differences(old, new) == (
        Difference("Name", "", "changed", ("Quay",), ("Quay 2",)),
        Difference("Slot", "New", "added", (), ("Treatment included jaw surgery.",)),
        Difference(
            "Slot",
            "Hard",
            "changed",
            (
                "The discrepancy index before treatment is at least 20.",
                "At least one of these: Treatment included jaw surgery.",
                "At least one of these: Treatment was done in two phases or more.",
            ),
            ("The discrepancy index before treatment is at least 25.",),
        ),
        Difference("Slot", "Open", "removed", ("Any case may stand here.",)),
        Difference(
            "Order of the cases",
            "",
            "changed",
            ("The chosen cases stand in the order of the slots.",),
            ("The chosen cases stand by case code.",),
        ),
    )


def test_another_label_and_another_order_are_differences_too() -> None:
    old = plan()
    renamed = replace(old, slots=(replace(old.slots[0], label="Harder"), old.slots[1]))
    assert differences(old, renamed) == (
        Difference("Slot", "Harder", "changed", ("Called “Hard”.",), ("Called “Harder”.",)),
    )
    turned = replace(old, slots=old.slots[::-1])
    assert differences(old, turned) == (
        Difference("Order of the slots", "", "moved", ("Hard", "Open"), ("Open", "Hard")),
    )


@given(conditions(), conditions())
@settings(max_examples=60)
def test_two_plans_differ_exactly_where_they_say_something_else(one: Requirement, other: Requirement) -> None:
    first, second = (Plan("Q", (Slot("a", "A", condition),)) for condition in (one, other))
    there, back = differences(first, second), differences(second, first)
    assert bool(there) == (outline(first) != outline(second))
    assert [(d.old, d.new) for d in there] == [(d.new, d.old) for d in back]
