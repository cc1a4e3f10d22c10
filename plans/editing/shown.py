"""A form of a plan as the page draws it: controls, conditions with their sentences, rows.  Pure."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from plans.editing.parts import SEVERAL_LINES, Part, Rows, is_age
from plans.editing.typed import Tree, condition_data, inside, parts_of, under
from plans.requirements import GROUPS, KINDS, Field, RequirementRefused, read
from plans.requirements.reading import DEEPEST, MOST_PARTS
from portfolio.finding_sheet import Fault

Messages = Mapping[str, str]
AGE_HELP = "Such as 12 y or 12 y 6 m."
UNFINISHED = "The sentence stands here once the fields are filled in."


@dataclass(frozen=True, slots=True)
class Option:
    key: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Control:
    """One field.  `draws`: line, lines, short, choice, choices, flag."""

    shape: ClassVar[str] = "control"
    name: str
    label: str
    draws: str
    value: str
    options: tuple[Option, ...]
    unit: str
    help: str
    error: str
    required: bool

    @property
    def id(self) -> str:
        return id_of(self.name)

    @property
    def empty_option(self) -> bool:
        """Whether a choice is offered that says nothing."""
        return not self.required or not any(option.chosen for option in self.options)


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition: its kind, its fields, the conditions inside, and its sentence."""

    name: str
    title: str
    kind: str
    kinds: tuple[tuple[str, tuple[Option, ...]], ...]
    about: str
    controls: tuple[Control, ...]
    inner: tuple["Condition", ...]
    inner_list: str
    sentence: str
    error: str
    inner_error: str
    up: bool
    down: bool
    may_wrap: bool
    may_add: bool
    depth: int

    @property
    def id(self) -> str:
        return id_of(self.name)


@dataclass(frozen=True, slots=True)
class ConditionPlace:
    """Where a condition may stand: the one that stands there, or none yet."""

    shape: ClassVar[str] = "condition"
    name: str
    label: str
    help: str
    error: str
    required: bool
    condition: Condition | None

    @property
    def id(self) -> str:
        return id_of(self.name)


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of a list."""

    name: str
    title: str
    parts: tuple["Shown", ...]
    up: bool
    down: bool

    @property
    def id(self) -> str:
        return id_of(self.name)


@dataclass(frozen=True, slots=True)
class RowList:
    """A list of entries of one form."""

    shape: ClassVar[str] = "rows"
    name: str
    label: str
    help: str
    one: str
    error: str
    rows: tuple[Row, ...]
    may_add: bool

    @property
    def id(self) -> str:
        return id_of(self.name)


Shown = Control | ConditionPlace | RowList


def id_of(name: str) -> str:
    """A name of a field as an id of the page: letters, digits and - only."""
    return re.sub(r"[^a-z0-9_]+", "-", name).strip("-")


def messages_of(faults: Sequence[Fault]) -> dict[str, str]:
    """Name of a field → what is wrong with it, as a sentence; the first fault of a field counts."""
    found: dict[str, str] = {}
    for fault in faults:
        found.setdefault(fault.where, beside(fault.message))
    return found


def beside(message: str) -> str:
    """A fault of a file, said beside its field."""
    if message.startswith("is required"):
        return "This is required."
    said = message[:1].upper() + message[1:]
    return said if said.endswith(".") else f"{said}."


def shown(tree: Tree, parts: Sequence[Part], messages: Messages, path: str = "") -> tuple[Shown, ...]:
    """The parts of a form with what was typed and what is wrong."""
    return tuple(_shown(part, tree[part.key], messages, under(path, part.key)) for part in parts)


def sentence_ids(parts: Sequence[Shown]) -> tuple[str, ...]:
    """The ids of all sentences of a form, to be renewed while somebody types."""
    return tuple(f"says-{condition.id}" for condition in _conditions(parts))


def _conditions(parts: Sequence[Shown]) -> Iterator[Condition]:
    for part in parts:
        if isinstance(part, RowList):
            for row in part.rows:
                yield from _conditions(row.parts)
        elif isinstance(part, ConditionPlace) and part.condition is not None:
            yield from _within(part.condition)


def _within(condition: Condition) -> Iterator[Condition]:
    yield condition
    for one in condition.inner:
        yield from _within(one)


def _shown(part: Part, typed: object, messages: Messages, here: str) -> Shown:
    if isinstance(part, Rows):
        return _row_list(part, typed, messages, here)  # type: ignore[arg-type]
    if part.takes == "condition":
        found = None if typed is None else _condition(typed, messages, here, "", 1)  # type: ignore[arg-type]
        return ConditionPlace(here, part.label, part.help, messages.get(here, ""), part.required, found)
    return _control(part, typed, messages, here)


def _row_list(part: Rows, typed: list[Tree], messages: Messages, here: str) -> RowList:
    rows = tuple(
        Row(
            f"{here}[{place}]",
            f"{part.one[:1].upper()}{part.one[1:]} {place + 1}",
            shown(one, part.parts, messages, f"{here}[{place}]"),
            place > 0,
            place < len(typed) - 1,
        )
        for place, one in enumerate(typed)
    )
    return RowList(here, part.label, part.help, part.one, messages.get(here, ""), rows, len(rows) < part.most)


def _control(part: Field, typed: object, messages: Messages, here: str) -> Control:
    picked = set(typed) if isinstance(typed, list) else {typed}
    return Control(
        here,
        part.label,
        _draws(part),
        "" if isinstance(typed, list) else str(typed),
        tuple(Option(key, words, key in picked) for key, words in part.options),
        "" if is_age(part) else part.unit,
        part.help or (AGE_HELP if is_age(part) else ""),
        messages.get(here, ""),
        part.required,
    )


def _draws(part: Field) -> str:
    match part.takes:
        case "choice" | "choices" | "flag":
            return part.takes
        case "number" | "whole" | "months":
            return "short"
    return "lines" if part.key in SEVERAL_LINES else "line"


def _condition(
    node: Tree, messages: Messages, here: str, title: str, depth: int, up: bool = False, down: bool = False
) -> Condition:
    kind = node["kind"]
    fields = parts_of(kind)
    lists = [field for field in fields if field.takes == "conditions"]
    single = [field for field in fields if field.takes == "condition"]
    names = [f"{here}.{field.key}" for field in single]
    if lists:
        inner_list = f"{here}.{lists[0].key}"
        names = [f"{inner_list}[{place}]" for place in range(len(node[lists[0].key]))]
    else:
        inner_list = ""
    held = inside(node)
    inner = tuple(
        _condition(
            one,
            messages,
            name,
            _title(title, place, alone=not lists),
            depth + 1,
            bool(lists) and place > 0,
            bool(lists) and place < len(held) - 1,
        )
        for place, (one, name) in enumerate(zip(held, names, strict=True))
    )
    return Condition(
        here,
        title,
        kind,
        kinds_for(node),
        KINDS[kind].about if kind in KINDS else "",
        tuple(
            _control(field, node[field.key], messages, f"{here}.{field.key}")
            for field in fields
            if field.takes not in ("condition", "conditions")
        ),
        inner,
        inner_list,
        sentence(node),
        messages.get(f"{here}.kind", "") or messages.get(here, ""),
        messages.get(inner_list, ""),
        up,
        down,
        bool(kind) and depth < DEEPEST,
        len(inner) < MOST_PARTS and depth < DEEPEST,
        depth,
    )


def _title(outer: str, place: int, *, alone: bool) -> str:
    """`Condition 2`, inside of it `Condition 2.1`; one that stands alone in another has no number of its own."""
    number = outer.removeprefix("Condition").strip()
    if alone:
        return f"Condition {number}".strip()
    return f"Condition {number}.{place + 1}" if number else f"Condition {place + 1}"


def sentence(node: Tree) -> str:
    """The sentence of what was typed, empty while that is not a condition yet."""
    faults: list[Fault] = []
    data = condition_data(node, "condition", faults)
    if faults:
        return ""
    try:
        return read(data).sentence()
    except RequirementRefused:
        return ""


def kinds_for(node: Tree) -> tuple[tuple[str, tuple[Option, ...]], ...]:
    """The kinds that a condition may become, by group: what holds others stays one that does, so that none is lost."""
    holds = bool(inside(node))
    found: dict[str, list[Option]] = {}
    for key, kind in KINDS.items():
        takes = {field.takes for field in kind.FIELDS}
        if holds and not takes & {"condition", "conditions"}:
            continue
        if len(inside(node)) > 1 and "conditions" not in takes:
            continue
        found.setdefault(kind.group, []).append(Option(key, kind.label, key == node["kind"]))
    return tuple((GROUPS[group], tuple(options)) for group, options in found.items())
