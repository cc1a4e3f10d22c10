"""The grid of slots by cases: what each case says to each slot, sorted and narrowed."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.core.paginator import Paginator

from plans.answers import Answer, State
from plans.document import Slot
from plans.selection import Weight
from plans.selection.problem import rank
from plans.selectors.facts import CaseInPlan
from plans.slots.in_hand import InHand
from plans.slots.words import cell_chance, cell_margin
from plans.weighing import Cell
from portfolio.models import CaseState

ON_A_PAGE = 50
BY_CODE, BY_SLOTS = "code", "slots"
ORDER: Mapping[State, int] = {"met": 3, "depends": 2, "unknown": 1, "not_met": 0}
SHORT_WORDS: Mapping[State, str] = {
    "met": "met",
    "not_met": "not met",
    "unknown": "unknown",
    "depends": "depends",
}
SHOWN = (
    ("", "all cases"),
    ("open", "cases that are not set aside"),
    ("some", "cases that meet a slot"),
    ("none", "cases that meet no slot"),
    ("unknown", "cases with something unknown"),
)


@dataclass(frozen=True, slots=True)
class GridCell:
    """What a case says to a slot, in words: state, distance or chance, records that are not told of."""

    slot: str
    label: str
    state: State
    words: str
    margin: str
    chance: str
    records_missing: int
    fixed: bool


@dataclass(frozen=True, slots=True)
class GridLine:
    """One case with its cells in the order of the slots; `aside` is why it is not chosen."""

    public_id: UUID
    code: str
    state: str
    shut: bool
    aside: str
    meets: int
    cells: tuple[GridCell, ...]


@dataclass(frozen=True, slots=True)
class SlotHead:
    """A slot at the head of the grid: its sentence, how many cases meet it, how the grid is sorted by it."""

    key: str
    label: str
    sentence: str
    meets: int
    url: str
    sorted: str


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a narrowing field."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Grid:
    """One page of the grid."""

    heads: tuple[SlotHead, ...]
    lines: tuple[GridLine, ...]
    code_url: str
    code_sorted: str
    sorts: tuple[Option, ...]
    shown: tuple[Option, ...]
    states: tuple[Option, ...]
    narrowed: bool
    any_case: bool
    found: int
    first: int
    last: int
    previous_url: str
    next_url: str


def grid(hand: InHand, asked: Mapping[str, str]) -> Grid:
    """The page asked for: `sort` (code, slots, slot:<key>), `show`, `state`, `page`; what is not known is passed over."""
    sort = asked.get("sort", BY_CODE)
    by_slot = sort.removeprefix("slot:") if sort.startswith("slot:") else ""
    keys = [slot.key for slot in hand.slots]
    if by_slot not in keys and sort != BY_SLOTS:
        sort, by_slot = BY_CODE, ""
    show = asked.get("show", "") if asked.get("show") in dict(SHOWN) else ""
    state = asked.get("state", "") if asked.get("state") in CaseState.values else ""
    kept = [one for one in hand.cases if _wanted(hand, one, show, state)]
    ordered = _sorted(hand, kept, sort, by_slot)
    page = Paginator(ordered, ON_A_PAGE).get_page(asked.get("page"))
    query = {"sort": "" if sort == BY_CODE else sort, "show": show, "state": state}
    fixed = {one.slot: code for code, one in hand.placed.items() if one.fixed}
    return Grid(
        tuple(_head(hand, slot, query) for slot in hand.slots),
        tuple(_line(hand, one, fixed) for one in page.object_list),
        _url(query, sort=""),
        "ascending" if sort == BY_CODE else "none",
        _sorts(hand.slots, sort),
        tuple(Option(value, label, value == show) for value, label in SHOWN),
        tuple(Option(value, label, value == state) for value, label in (("", "all"), *CaseState.choices)),
        bool(show or state),
        bool(hand.cases),
        page.paginator.count,
        page.start_index(),
        page.end_index(),
        _url(query, page=str(page.previous_page_number())) if page.has_previous() else "",
        _url(query, page=str(page.next_page_number())) if page.has_next() else "",
    )


def meets(hand: InHand, code: str) -> int:
    """How many slots a case meets."""
    return sum(hand.table[code, slot.key].fits for slot in hand.slots)


def cell_words(cell: Cell, slot: Slot, fixed: bool = False) -> GridCell:
    """A cell in words."""
    answer = cell.answer
    return GridCell(
        slot.key,
        slot.label,
        answer.state,
        state_words(answer),
        cell_margin(answer),
        cell_chance(answer),
        sum(not one.met for _, one in cell.records),
        fixed,
    )


def state_words(answer: Answer) -> str:
    """`met`, `not met`, `unknown`, `met under 3 of 4 choices`."""
    return answer.words if answer.state == "depends" else SHORT_WORDS[answer.state]


def _wanted(hand: InHand, one: CaseInPlan, show: str, state: str) -> bool:
    if state and one.state != state:
        return False
    states = {hand.table[one.code, slot.key].answer.state for slot in hand.slots}
    match show:
        case "open":
            return one.code not in hand.set_aside
        case "some":
            return "met" in states
        case "none":
            return "met" not in states
        case "unknown":
            return "unknown" in states and not one.shut
    return True


def _sorted(hand: InHand, cases: Sequence[CaseInPlan], sort: str, by_slot: str) -> list[CaseInPlan]:
    """By code; or the cases that meet most slots, or stand best in one, first; of equal ones by code."""
    if sort == BY_SLOTS:
        return sorted(cases, key=lambda one: (-meets(hand, one.code), one.code))
    if by_slot:
        return sorted(cases, key=lambda one: (*_strength(hand.table[one.code, by_slot]), one.code))
    return sorted(cases, key=lambda one: one.code)


def _strength(cell: Cell) -> tuple[int, int, float]:
    """Smaller is stronger: by state, then by what it weighs, then by its distance."""
    margin = cell.answer.margin
    return (
        -ORDER[cell.answer.state],
        -rank(*(cell.weight if cell.fits else Weight(0.0, 0.0))),
        -float(margin) if margin is not None else (-math.inf if cell.fits else math.inf),
    )


def _line(hand: InHand, one: CaseInPlan, fixed: Mapping[str, str]) -> GridLine:
    cells = tuple(
        cell_words(hand.table[one.code, slot.key], slot, fixed.get(slot.key) == one.code)
        for slot in hand.slots
    )
    return GridLine(
        one.public_id,
        one.code,
        CaseState(one.state).label,
        one.shut,
        hand.set_aside.get(one.code, ""),
        meets(hand, one.code),
        () if one.shut else cells,
    )


def _head(hand: InHand, slot: Slot, query: Mapping[str, str]) -> SlotHead:
    mine = f"slot:{slot.key}"
    return SlotHead(
        slot.key,
        slot.label,
        slot.condition.sentence(hand.notation) if slot.condition else "Any case.",
        sum(hand.table[one.code, slot.key].fits and one.code not in hand.set_aside for one in hand.cases),
        _url(query, sort=mine),
        "descending" if query["sort"] == mine else "none",
    )


def _sorts(slots: Sequence[Slot], sort: str) -> tuple[Option, ...]:
    ways = [(BY_CODE, "Case"), (BY_SLOTS, "Slots met"), *((f"slot:{one.key}", one.label) for one in slots)]
    return tuple(Option(value, label, value == sort) for value, label in ways)


def _url(query: Mapping[str, str], **changed: str) -> str:
    kept = {key: value for key, value in {**query, **changed}.items() if value}
    return f"?{urlencode(kept)}" if kept else "?"
