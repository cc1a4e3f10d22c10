"""The editor's forms: what a browser sends back of a drawn form is what was stored, and every fault finds its field."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plans import plan_file
from plans.document import Plan
from plans.editing import entries, shown, steps
from plans.editing.parts import ABOUT, SECTIONS, SLOT, WINDOW
from plans.editing.typed import EMPTY, Tree, from_sent, inside
from plans.requirements import Requirement
from plans.shipped import shipped
from tests.plans.any_condition import conditions


class Sent(dict[str, list[str]]):
    """Fields as a browser sends them."""

    def getlist(self, key: str) -> list[str]:
        return self.get(key, [])


def sent_by(parts: Sequence[shown.Shown]) -> Sent:
    """What a browser sends of a drawn form."""
    sent = Sent()
    for name, value in _fields(parts):
        sent.setdefault(name, []).append(value)
    return sent


def _fields(parts: Sequence[shown.Shown]) -> Iterator[tuple[str, str]]:
    for part in parts:
        if isinstance(part, shown.Control):
            yield from _control(part)
        elif isinstance(part, shown.RowList):
            yield f"{part.name}.count", str(len(part.rows))
            for row in part.rows:
                yield from _fields(row.parts)
        elif part.condition:
            yield from _condition(part.condition)


def _control(control: shown.Control) -> Iterator[tuple[str, str]]:
    if control.draws in ("choice", "choices"):
        chosen = [option.key for option in control.options if option.chosen]
        yield from ((control.name, key) for key in chosen or ([""] if control.draws == "choice" else []))
    elif control.draws != "flag" or control.value:
        yield control.name, control.value


def _condition(one: shown.Condition) -> Iterator[tuple[str, str]]:
    yield f"{one.name}.was", one.kind
    yield f"{one.name}.kind", next((o.key for _, group in one.kinds for o in group if o.chosen), "")
    for control in one.controls:
        yield from _control(control)
    if one.inner_list:
        yield f"{one.inner_list}.count", str(len(one.inner))
    for inner in one.inner:
        yield from _condition(inner)


def drawn(tree: Tree, section: str) -> tuple[shown.Shown, ...]:
    return shown.shown(tree, SECTIONS[section].parts, {})


def draft(condition: Requirement | None = None, **more: Any) -> dict[str, Any]:
    slot: dict[str, Any] = {"key": "slot-1", "label": "Hard"}
    if condition is not None:
        slot["condition"] = condition.as_json()
    return plan_file.as_json(plan_file.read_plan({"plan": 1, "name": "Quay", "slots": [slot], **more}))


def items(plan: Plan) -> Iterator[tuple[str, str]]:
    yield ABOUT.key, entries.WHOLE
    for section in (SLOT.key, "groups", "windows"):
        yield from ((section, one.key) for one in getattr(plan, section))
    yield from (("records", str(place)) for place in range(len(plan.records)))


@pytest.mark.parametrize("key", shipped())
def test_every_form_of_a_shipped_plan_sent_back_unchanged_gives_the_same_plan(key: str) -> None:
    plan = shipped()[key]
    data = plan_file.as_json(plan)
    for section, item in items(plan):
        stored = entries.tree_of(data, section, item)
        tree = from_sent(sent_by(drawn(stored, section)), SECTIONS[section].parts)
        assert tree == stored, (section, item)
        assert entries.with_tree(data, section, item, tree) == (plan, [])


@given(conditions())
@settings(max_examples=150)
def test_any_condition_survives_its_form_and_is_said_under_it(condition: Requirement) -> None:
    data = draft(condition)
    stored = entries.tree_of(data, "slots", "slot-1")
    parts = drawn(stored, "slots")
    place = parts[1]
    assert isinstance(place, shown.ConditionPlace)
    assert place.condition
    assert place.condition.sentence == condition.sentence()
    tree = from_sent(sent_by(parts), SLOT.parts)
    plan, faults = entries.with_tree(data, "slots", "slot-1", tree)
    assert faults == []
    assert plan
    assert plan.slots[0].condition == condition


def paths(node: Tree, here: str) -> Iterator[str]:
    """Names of a condition and of every one inside."""
    yield here
    if isinstance(node.get("of"), list):
        for place, one in enumerate(node["of"]):
            yield from paths(one, f"{here}.of[{place}]")
    else:
        for one, key in zip(inside(node), ("that", "when"), strict=False):
            yield from paths(one, f"{here}.{'that' if 'that' in node else key if key in node else 'when'}")


@given(conditions("all", "any", "at_least_of", "not", "records_if"), st.data())
@settings(max_examples=100)
def test_what_is_taken_out_comes_back_to_its_place_and_up_undoes_down(
    condition: Requirement, data: st.DataObject
) -> None:
    tree = entries.tree_of(draft(condition), "slots", "slot-1") | {steps.REMOVED: ""}
    path = data.draw(st.sampled_from(sorted(paths(tree["condition"], "condition"))))
    before = copy.deepcopy(tree)
    without = steps.after(tree, SLOT.parts, f"remove:{path}")
    assert tree == before, "a step changes no tree that somebody else holds"
    assert without != tree
    assert steps.after(without, SLOT.parts, "back") == tree
    lower = steps.after(tree, SLOT.parts, f"down:{path}")
    if lower != tree:
        place = int(path[:-1].rpartition("[")[2])
        assert steps.after(lower, SLOT.parts, f"up:{path.rpartition('[')[0]}[{place + 1}]") == tree


def test_a_second_condition_makes_a_group_of_both_and_an_alternative_one_of_which_one_is_enough() -> None:
    tree = entries.tree_of(draft(), "slots", "slot-1")
    tree = steps.after(tree, SLOT.parts, "add:condition")
    assert tree["condition"] == EMPTY
    surgery = from_sent(Sent({"condition.kind": ["surgery"], "condition.was": [""]}), SLOT.parts)["condition"]
    assert surgery == {"kind": "surgery", "wanted": "on"}, "a kind chosen anew begins with its defaults"
    both = steps.after({**tree, "condition": surgery}, SLOT.parts, "also:condition")
    assert both["condition"] == {"kind": "all", "of": [surgery, EMPTY]}
    assert steps.after(both, SLOT.parts, "also:condition")["condition"]["of"] == [surgery, EMPTY, EMPTY]
    either = steps.after(both, SLOT.parts, "wrap:condition.of[0]")
    assert either["condition"]["of"][0] == {"kind": "any", "of": [surgery, EMPTY]}


def test_another_kind_keeps_what_both_kinds_hold_and_a_group_takes_the_condition_in() -> None:
    index = {"kind": ["par"], "was": ["index"], "index": ["par"], "stage": ["final"], "at_most": ["3"]}

    def chosen(kind: str) -> Tree:
        sent = Sent({f"condition.{key}": value for key, value in {**index, "kind": [kind]}.items()})
        node = from_sent(sent, SLOT.parts)["condition"]
        assert isinstance(node, dict)
        return node

    outcome = chosen("outcome")
    assert (outcome["kind"], outcome["index"], outcome["stage"], outcome["at_most"]) == (
        "outcome",
        "par",
        "final",
        "3",
    )
    assert chosen("any")["of"][0]["at_most"] == "3"
    assert chosen("not")["that"]["index"] == "par"
    assert chosen("surgery") == {"kind": "surgery", "wanted": "on"}
    held = shown.kinds_for(chosen("all"))
    assert {option.key for _, group in held for option in group} == {"all", "any", "at_least_of"}, (
        "a group of two stays one that holds them all"
    )


BROKEN = [
    ({"at_least": "2O"}, "condition.at_least", "“2O” is not a number; write 20 or 3.5."),
    ({"at_least": "4000"}, "condition.at_least", "4000 is out of range; allowed: 0 to 1000."),
    ({"at_least": "20", "at_most": "10"}, "condition.at_least", "20 is more than the most of 10."),
    ({"at_least": ""}, "condition.at_least", "A least or a most is required."),
    ({"index": ""}, "condition.index", "This is required."),
    ({"kind": ""}, "condition.kind", "Choose what is asked for, or remove this condition."),
]


@pytest.mark.parametrize(("typed", "field", "words"), BROKEN)
def test_a_fault_stands_beside_its_field_and_what_was_typed_stays(
    typed: dict[str, str], field: str, words: str
) -> None:
    node = {
        "kind": "index",
        "index": "discrepancy",
        "stage": "initial",
        "at_least": "20",
        "at_most": "",
        "firmly": "",
    }
    node |= {"edition": ""} | typed
    if not node["kind"]:
        node = {"kind": ""}
    tree = {"label": "Hard", "condition": node, "records": [], "note": ""}
    plan, faults = entries.with_tree(draft(), "slots", "slot-1", tree)
    assert plan is None
    messages = shown.messages_of(faults)
    assert messages == {field: words}
    parts = shown.shown(tree, SLOT.parts, messages)
    place = parts[1]
    assert isinstance(place, shown.ConditionPlace)
    assert place.condition
    assert place.condition.sentence == ""
    if field == "condition.kind":
        assert place.condition.error == words
    else:
        beside = {one.name: one for one in place.condition.controls}
        assert beside[field].error == words
        assert {key: beside[f"condition.{key}"].value for key in typed} == typed


def test_every_fault_of_a_form_is_told_together_in_windows_records_and_the_whole() -> None:
    data = draft()
    window = entries.tree_of(data, "windows", "new")
    window["limits"] = [window["limits"][0] | {"age_from": "18", "at_most_months": "x"}]
    told = shown.messages_of(entries.with_tree(data, "windows", "new", window)[1])
    assert set(told) == {"label", "start", "end", "limits[0].age_from", "limits[0].at_most_months"}
    assert told["limits[0].age_from"].startswith("18 can mean years or months")
    record = entries.tree_of(data, "records", "new") | {"when": dict(EMPTY)}
    assert set(shown.messages_of(entries.with_tree(data, "records", "new", record)[1])) == {
        "records",
        "when.kind",
    }
    about = entries.tree_of(data, "about", "plan") | {
        "name": "",
        "order": [{"by": "code"}, {"by": "sideways"}],
    }
    assert set(shown.messages_of(entries.with_tree(data, "about", "plan", about)[1])) == {
        "name",
        "order[1].by",
    }


def test_what_another_entry_forbids_is_told_of_the_form_as_a_whole() -> None:
    rule = {"key": "rule-1", "condition": {"kind": "surgery", "wanted": True}, "at_least": 1}
    data = draft(groups=[rule])
    with pytest.raises(plan_file.PlanRefused, match="at least one slot"):
        entries.without(data, "slots", "slot-1")
    tree = entries.tree_of(data, "groups", "rule-1") | {"at_least": "2"}
    assert shown.messages_of(entries.with_tree(data, "groups", "rule-1", tree)[1]) == {
        "at_least": "2 of 1 slots can never be."
    }


def test_ages_are_typed_and_shown_as_ages_and_kept_in_months() -> None:
    window = {"key": "w", "label": "Early", "start": "records_initial", "end": "start"}
    data = draft(windows=[{**window, "limits": [{"at_most_months": 6, "age_under": 150}]}])
    tree = entries.tree_of(data, "windows", "w")
    assert tree["limits"][0]["age_under"] == "12 y 6 m"
    tree["limits"][0]["age_under"] = "12;7"
    plan, _ = entries.with_tree(data, "windows", "w", tree)
    assert plan
    assert plan.windows[0].limits[0].age_under == 151
    assert WINDOW.parts


def test_a_new_entry_gets_a_key_of_its_own_that_no_older_version_can_have_meant() -> None:
    data = draft()
    tree = entries.tree_of(data, "slots", "new") | {"label": "Second"}
    plan, _ = entries.with_tree(data, "slots", "new", tree)
    assert plan
    assert [slot.key for slot in plan.slots] == ["slot-1", "slot-2"]
    with_seven = draft()
    with_seven["slots"].append({"key": "slot-7", "label": "Seventh"})
    again, _ = entries.with_tree(with_seven, "slots", "new", tree)
    assert again
    assert again.slots[-1].key == "slot-8"


def test_an_entry_moves_one_place_and_not_beyond_the_ends() -> None:
    data = plan_file.as_json(shipped()["larkmoor_six"])
    keys = [slot["key"] for slot in data["slots"]]
    moved = entries.moved(data, "slots", keys[1], -1)
    assert [slot.key for slot in moved.slots] == [keys[1], keys[0], *keys[2:]]
    with pytest.raises(entries.NoEntry):
        entries.moved(data, "slots", keys[0], -1)
    with pytest.raises(entries.NoEntry):
        entries.moved(data, "slots", keys[-1], 1)
    assert [rule.stage for rule in entries.moved(data, "records", "1", -1).records][:2] == [
        "final",
        "initial",
    ]


STEPS_AND_FOCUS = [
    ("add:condition.of", "condition.of[2]"),
    ("also:condition", "condition.of[2]"),
    ("wrap:condition.of[1]", "condition.of[1].of[1]"),
    ("up:condition.of[1]", "down:condition.of[0]"),
    ("down:condition.of[0]", "up:condition.of[1]"),
    ("remove:condition.of[0]", "back"),
    ("add:records", "records[0].stage"),
    ("up:condition.of[0]", ""),
]


@pytest.mark.parametrize(("step", "focus"), STEPS_AND_FOCUS)
def test_the_keyboard_goes_on_where_a_step_has_led(step: str, focus: str) -> None:
    surgery = {"kind": "surgery", "wanted": "on"}
    tree = entries.tree_of(draft(), "slots", "slot-1") | {steps.REMOVED: ""}
    tree["condition"] = {"kind": "all", "of": [surgery, {**surgery, "wanted": ""}]}
    after = steps.after(tree, SLOT.parts, step)
    assert steps.focus_after(tree, after, SLOT.parts, step) == focus
    if focus == "back":
        back = steps.after(after, SLOT.parts, "back")
        assert steps.focus_after(after, back, SLOT.parts, "back") == "condition.of[0]"


FORGED = [
    "not json",
    "[]",
    json.dumps({"at": "condition.of[0]", "what": {"kind": "surgery"}}),
    json.dumps({"at": "condition.of[0]", "what": {"kind": "surgery", "wanted": 7}}),
    json.dumps({"at": "condition.of[0]", "what": "surgery"}),
    json.dumps({"at": "label", "what": {"kind": ""}}),
    json.dumps({"at": "records[0]", "what": {"kind": ""}}),
    json.dumps({"at": "../label", "what": {"kind": ""}}),
    json.dumps({"at": "condition.of[0]", "what": {"kind": ["all"]}}),
    "[" * 100_000,
]


@pytest.mark.parametrize("kept", FORGED, ids=range(len(FORGED)))
def test_what_is_put_back_may_be_forged_and_then_changes_nothing(kept: str) -> None:
    tree = entries.tree_of(draft(), "slots", "slot-1")
    tree["condition"] = {"kind": "all", "of": [dict(EMPTY)]}
    tree[steps.REMOVED] = kept
    assert steps.after(tree, SLOT.parts, "back") == tree


@pytest.mark.parametrize(
    "step",
    [
        "",
        "save",
        "up:condition",
        "up:condition.of[0]",
        "down:condition.of[9]",
        "add:label",
        "add:x",
        "remove:label",
        "also:records",
        "wrap:note",
        "up:records",
        "add:condition.of[0]",
    ],
)
def test_a_step_that_does_not_fit_changes_nothing(step: str) -> None:
    tree = entries.tree_of(draft(), "slots", "slot-1")
    tree["condition"] = {"kind": "all", "of": [dict(EMPTY), dict(EMPTY)]}
    assert steps.after(tree, SLOT.parts, step) == tree
