"""One case held against every slot: each condition as its sentence, with the values and what is missing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from plans.answers import Answer, Lack, State
from plans.document import RecordRule, Slot
from plans.requirements.words import listed
from plans.selectors.facts import CaseInPlan
from plans.slots.grid import GridCell, cell_words
from plans.slots.in_hand import InHand
from plans.slots.ways import RECORDS_PAGE, Way, way_to
from plans.weighing import record_requirement
from portfolio.models import CaseState


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that is not recorded, and the page where it is entered."""

    says: str
    way: Way


@dataclass(frozen=True, slots=True)
class Reason:
    """One condition with its answer, and those that it holds together."""

    sentence: str
    state: State
    words: str
    says: str
    missing: tuple[Missing, ...]
    parts: tuple["Reason", ...]


@dataclass(frozen=True, slots=True)
class SlotReasons:
    """A slot as a case meets it or does not; `taken_by` is the code of another case that is fixed to it."""

    key: str
    label: str
    note: str
    cell: GridCell
    reason: Reason
    records: tuple[Reason, ...]
    fixed: bool
    taken_by: str


@dataclass(frozen=True, slots=True)
class CaseReasons:
    """The page of one case."""

    public_id: UUID
    code: str
    state: str
    aside: str
    excluded: bool
    placed: bool
    meets: int
    slots: tuple[SlotReasons, ...]
    records: tuple[Reason, ...]
    """Records that are asked of every case."""
    counts: tuple[tuple[str, Reason], ...]
    """Rules over the choice with whether the case counts for them."""


def case_reasons(hand: InHand, case: CaseInPlan) -> CaseReasons:
    """Everything a plan says of one case."""
    by_hand = hand.placed.get(case.code)
    slots = tuple(_slot(hand, case, slot) for slot in hand.slots)
    return CaseReasons(
        case.public_id,
        case.code,
        CaseState(case.state).label,
        hand.set_aside.get(case.code, ""),
        by_hand is not None and not by_hand.fixed,
        by_hand is not None,
        sum(one.cell.state == "met" for one in slots),
        slots,
        _record_reasons(hand.held.plan.records, case),
        tuple(
            (
                group.label or "Rule over the choice",
                _reason(group.condition.sentence(hand.notation), group.condition.evaluate(case.facts), case),
            )
            for group in hand.held.plan.groups
        ),
    )


def _slot(hand: InHand, case: CaseInPlan, slot: Slot) -> SlotReasons:
    cell = hand.table[case.code, slot.key]
    holder = next((code for code, one in hand.placed.items() if one.fixed and one.slot == slot.key), "")
    sentence = slot.condition.sentence(hand.notation) if slot.condition else "Any case."
    return SlotReasons(
        slot.key,
        slot.label,
        slot.note,
        cell_words(cell, slot),
        _reason(sentence, cell.answer, case),
        _record_reasons(slot.records, case),
        holder == case.code,
        "" if holder == case.code else holder,
    )


def _record_reasons(rules: Sequence[RecordRule], case: CaseInPlan) -> tuple[Reason, ...]:
    asked = (record_requirement(rule) for rule in rules)
    return tuple(_reason(one.sentence(case.facts.notation), one.evaluate(case.facts), case) for one in asked)


def _reason(sentence: str, answer: Answer, case: CaseInPlan) -> Reason:
    return Reason(
        sentence,
        answer.state,
        answer.words if answer.state == "depends" else answer.words.split(":")[0],
        answer.says,
        () if answer.parts else missing(answer.lacks, case),
        tuple(_reason(part.sentence, part.answer, case) for part in answer.parts),
    )


def missing(lacks: Iterable[Lack], case: CaseInPlan) -> tuple[Missing, ...]:
    """What is not recorded, with the page for it; several records of a stage are one thing."""
    found = tuple(dict.fromkeys(lacks))
    papers: dict[Way, list[Lack]] = {}
    for lack in found:
        papers.setdefault(way_to(lack, case), []).append(lack)
    return tuple(
        Missing(says, way)
        for way, some in papers.items()
        for says in (
            [_together(some)] if way.name == RECORDS_PAGE and len(some) > 1 else [one.says for one in some]
        )
    )


def _together(lacks: Sequence[Lack]) -> str:
    return f"{len(lacks)} records not told of yet: {listed(dict.fromkeys(lack.name for lack in lacks))}"
