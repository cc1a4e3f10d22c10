"""The plan file: read with all faults together, written in one way, told by its digest; the shipped plans."""

import hashlib
import json
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plans import record_names
from plans.document import ORDERS, GroupRule, Plan, RecordRule, Slot, Window, WindowLimit
from plans.moments import MOMENTS
from plans.plan_file import PlanRefused, as_json, digest, read_plan, read_text, write_text
from plans.requirements import KINDS, read
from plans.requirements.scores import IndexTotal
from plans.requirements.words import STAGES
from plans.shipped import shipped
from plans.windows import window_words
from portfolio.finding_sheet import Fault
from tests.plans.any_condition import condition_data

SMALL: dict[str, Any] = {"plan": 1, "name": "Small", "slots": [{"key": "a", "label": "First"}]}


def faults(data: Any) -> list[str]:
    with pytest.raises(PlanRefused) as refused:
        read_plan(data)
    return [str(fault) for fault in refused.value.faults]


def random_plan(chance: Random) -> Plan:
    def condition() -> Any:
        return read(condition_data(chance))

    def rules() -> tuple[RecordRule, ...]:
        some = tuple(record for record in record_names.RECORDS if chance.random() < 0.3) or ("casts",)
        when = condition() if chance.random() < 0.5 else None
        return tuple(RecordRule(chance.choice(STAGES)[0], some, when) for _ in range(chance.randint(0, 2)))

    def window(number: int) -> Window:
        start, end = chance.sample(tuple(MOMENTS), 2)
        limits = (WindowLimit(None, 6, age_under=144), WindowLimit(1, chance.randint(1, 24), 144))
        return Window(f"w{number}", "Window", start, end, limits[: chance.randint(1, 2)])

    slots = tuple(
        Slot(
            f"s{n}",
            "Slot",
            condition() if chance.random() < 0.8 else None,
            rules(),
            chance.choice(("", "a\nb")),
        )
        for n in range(chance.randint(1, 4))
    )
    groups = tuple(
        GroupRule(f"g{n}", "", condition(), chance.choice((None, 0, 1)), len(slots)) for n in range(2)
    )
    order = tuple(chance.sample(tuple(ORDERS), chance.randint(1, 3)))
    windows = tuple(window(n) for n in range(chance.randint(0, 2)))
    return Plan(
        "Random",
        slots,
        "about",
        groups,
        windows,
        rules(),
        order,
        chance.choice(("par", "discrepancy")),
        "text",
    )


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32))
def test_reading_what_was_written_gives_the_same_plan_and_digest(seed: int) -> None:
    plan = random_plan(Random(seed))
    again = read_text(write_text(plan))
    assert again == plan
    assert write_text(again) == write_text(plan)
    assert digest(again) == digest(plan)


def test_the_digest_is_sha_256_of_the_canonical_json() -> None:
    # Worked out by hand: sorted keys, no blanks, what is empty left out, defaults said.
    canonical = '{"complexity":"discrepancy","name":"Small","order":["slots"],"plan":1,"slots":[{"key":"a","label":"First"}]}'
    assert digest(read_plan(SMALL)) == hashlib.sha256(canonical.encode()).hexdigest()
    spelled_out = SMALL | {"about": "", "groups": [], "order": ["slots"], "text": ""}
    assert digest(read_plan(spelled_out)) == digest(read_plan(SMALL))
    assert digest(read_plan(SMALL | {"name": "Other"})) != digest(read_plan(SMALL))


def test_the_same_condition_written_in_another_way_has_the_same_digest() -> None:
    def with_condition(condition: dict[str, Any]) -> str:
        return digest(read_plan(SMALL | {"slots": [{"key": "a", "label": "First", "condition": condition}]}))

    plain = with_condition({"kind": "incisor_class", "classes": ["II/1", "III"], "stage": "initial"})
    assert with_condition({"classes": ["III", "II/1"], "kind": "incisor_class"}) == plain
    twenty = with_condition({"kind": "index", "index": "par", "at_least": "20"})
    assert with_condition({"kind": "index", "index": "par", "at_least": "20.00", "firmly": False}) == twenty


def test_every_fault_is_told_with_its_path() -> None:
    bad = {
        "plan": 2,
        "slots": [
            {
                "key": "a",
                "label": " ",
                "condition": {"kind": "all", "of": [{"kind": "age", "at_least": "x"}, {"kind": "nope"}]},
            },
            {"key": "a", "label": "B", "colour": "red", "records": [{"stage": "late", "records": []}]},
        ],
        "groups": [{"key": "G", "condition": {"kind": "surgery"}, "at_least": 3, "at_most": 1}],
        "windows": [{"key": "w", "label": "W", "start": "start", "end": "start", "limits": [{}]}],
        "order": ["size"],
        "extra": 1,
    }
    assert [found.partition("; allowed")[0] for found in faults(bad)] == [
        "extra: is not a key here",
        "plan: must be the number 1, the version of the format",
        "slots[0].label: is required and not there",
        "slots[0].condition.of[0].at_least: is not a whole number",
        'slots[0].condition.of[1].kind: "nope" is not a kind of condition',
        "slots[1].colour: is not a key here",
        'slots[1].records[0].stage: "late" is not allowed',
        f"slots[1].records[0].records: is not a list with at least one of: {', '.join(record_names.RECORDS)}",
        "groups[0].key: takes small letters, digits, _ and - only, at most 40",
        "groups[0].at_least: 3 is more than the most of 1",
        "windows[0].end: is the same moment as the start",
        "windows[0].limits[0].at_most_months: a least or a most of months is required",
        "slots: key a stands 2 times; each is taken once",
        "groups[0].at_least: 3 of 2 slots can never be",
        "name: is required and not there",
        'order[0]: "size" is not allowed',
    ]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"slots": []}, "slots: is required: a plan has at least one slot"),
        ({"slots": "a"}, "slots: is not a list"),
        ({"slots": [{"key": f"k{n}", "label": "x"} for n in range(41)]}, "slots: has 41 entries; at most 40"),
        ({"name": "x" * 121}, "name: has 121 characters; at most 120"),
        ({"name": "a\nb"}, "name: is not plain text in one line"),
        ({"text": "bell \x07"}, "text: is not plain text"),
        ({"complexity": "space"}, 'complexity: "space" is not allowed'),
        ({"order": ["slots", "slots"]}, "order: names something twice"),
        ({"plan": True}, "plan: must be the number 1"),
        (
            {"groups": [{"key": "g", "condition": {"kind": "surgery"}}]},
            "groups[0].at_least: a least or a most",
        ),
        (
            {
                "windows": [
                    {
                        "key": "w",
                        "label": "W",
                        "start": "start",
                        "end": "end",
                        "limits": [{"at_most_months": 2, "age_from": 9, "age_under": 9}],
                    }
                ]
            },
            "windows[0].limits[0].age_from: no age is 9 months or more and under 9",
        ),
    ],
)
def test_what_a_plan_refuses(changed: dict[str, Any], said: str) -> None:
    assert any(found.startswith(said) for found in faults(SMALL | changed)), faults(SMALL | changed)


WINDOW = {"key": "w", "label": "W", "start": "start", "end": "end"}


def test_a_limit_that_no_age_reaches_is_refused() -> None:
    young, old, everybody = (
        {"at_most_months": 3, "age_under": 144},
        {"at_most_months": 6, "age_from": 144},
        {"at_most_months": 9},
    )
    for limits, number in (
        ([young, old, everybody], 2),
        ([everybody, young], 1),
        ([young, {**young, "age_under": 140}], 1),
    ):
        data = SMALL | {"windows": [{**WINDOW, "limits": limits}]}
        assert faults(data) == [f"windows[0].limits[{number}]: holds for no age that those before it leave"]
    assert (
        len(read_plan(SMALL | {"windows": [{**WINDOW, "limits": [young, everybody]}]}).windows[0].limits) == 2
    )


JUNK: tuple[Any, ...] = (
    None,
    True,
    0,
    -1,
    10**30,
    1.5,
    "",
    "x",
    "\ud800",
    "1e9",
    [],
    [None],
    {},
    {"kind": "all"},
    [[1]],
)


@settings(deadline=None, max_examples=150)
@given(st.integers(0, 2**32))
def test_a_plan_with_anything_anywhere_is_read_or_refused_in_words(seed: int) -> None:
    chance = Random(seed)
    data = json.loads(write_text(chance.choice(tuple(shipped().values()))))
    here: Any = data
    while True:
        place = chance.choice(list(here) if isinstance(here, dict) else range(len(here)))
        inside = here[place]
        if not isinstance(inside, dict | list) or not inside or chance.random() < 0.15:
            break
        here = inside
    here[place] = chance.choice(JUNK)
    plan, said = _read_or_refused(data)
    assert said or (plan is not None and read_text(write_text(plan)) == plan)
    assert all(fault.where and fault.message for fault in said)


def _read_or_refused(data: Any) -> tuple[Plan | None, tuple[Fault, ...]]:
    try:
        return read_plan(data), ()
    except PlanRefused as refused:
        return None, refused.faults


def test_texts_that_are_no_plan_at_all() -> None:
    for text, said in (
        ("", "file: is not readable as JSON"),
        ("[1]", "file: is not an object"),
        ('{"plan": NaN}', "NaN is not a value"),
        ('{"plan": 1, "plan": 1}', 'key "plan" stands twice'),
        ("[" * 100_000, "file: is not readable as JSON"),
        (json.dumps(SMALL | {"text": "x" * 500_001}), "file: is larger than 500 kB"),
    ):
        with pytest.raises(PlanRefused) as refused:
            read_text(text)
        assert said in str(refused.value)
    assert read_text("\ufeff" + json.dumps(SMALL)).name == "Small"


def test_the_shipped_plans_are_invented_say_so_and_are_canonical() -> None:
    assert [len(plan.slots) for plan in shipped().values()] == [6, 8]
    for plan in shipped().values():
        assert "invented" in plan.about.lower()
        assert "no board asks for this" in plan.about.lower()
        assert "current instructions prevail" in plan.about
        assert read_plan(as_json(plan)) == plan
        assert plan.groups
        assert plan.windows
        assert plan.records
        with_numbers = [
            slot
            for slot in plan.slots
            if slot.condition and any(c.isdigit() for c in slot.condition.sentence().replace("Class II", ""))
        ]
        assert all("invented" in slot.note for slot in with_numbers)


def test_the_shipped_plans_use_nearly_every_kind() -> None:
    used = {found.kind for plan in shipped().values() for found in plan.conditions()}
    used |= {rule.requirement.kind for plan in shipped().values() for rule in plan.records}
    assert used == set(KINDS)
    assert any(
        isinstance(found, IndexTotal) and found.firmly
        for plan in shipped().values()
        for found in plan.conditions()
    )
    assert all(window_words(window) for plan in shipped().values() for window in plan.windows)
