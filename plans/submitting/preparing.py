"""What would be handed in now: the chosen cases in their slots, what is open, and the frozen parts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from accounts.models import User
from plans import selection
from plans.answers import Answer
from plans.document import Slot
from plans.requirements.words import STAGE_WORDS, counted, listed
from plans.slots.in_hand import InHand
from plans.slots.ordering import in_the_plans_order
from plans.submitting.frozen import FrozenScore, case_json, head_json
from plans.submitting.services import Part
from plans.weighing import Cell
from portfolio.access import visible_cases, visible_sheets
from portfolio.models import CaseState, Sheet
from scoring import registry
from scoring.services import keep_score


@dataclass(frozen=True, slots=True)
class Prepared:
    """One case that would be handed in, with its scores in words."""

    slot: str
    label: str
    case_id: UUID
    code: str
    scores: tuple[str, ...]
    open_records: int


@dataclass(frozen=True, slots=True)
class Preparation:
    """The preview. `state` names what it shows, so that another state is told when it is sent."""

    cases: tuple[Prepared, ...]
    warnings: tuple[str, ...]
    state: str


def preparation(hand: InHand) -> Preparation:
    """The best choice among the cases that stand as chosen, in the order of the plan."""
    pairs = _pairs(hand)
    slots = {slot.key: slot for slot in hand.slots}
    cases = []
    for code, key in pairs:
        case, cell = hand.case(code), hand.table[code, key]
        scores = tuple(
            f"{registry.index(index).label} {STAGE_WORDS[stage]}: {_total(score.total, complete=score.complete)}"
            for (index, stage), score in case.facts.scores.items()
            if score.total is not None
        )
        open_records = sum(not answer.met for _, answer in cell.records)
        cases.append(Prepared(key, slots[key].label, case.public_id, code, scores, open_records))
    state = f"{hand.held.digest[:12]} " + " ".join(f"{one.slot}={one.code}" for one in cases)
    return Preparation(tuple(cases), tuple(_warnings(hand, cases)), state)


def _total(total: object, *, complete: bool) -> str:
    return f"{total}" if complete else f"at least {total}"


def _pairs(hand: InHand) -> list[tuple[str, str]]:
    """Code and slot of each case that stands as chosen and has a place, in the order of the plan."""
    chosen = {one.code for one in hand.cases if one.state == CaseState.CHOSEN}
    others = {one.code for one in hand.cases} - chosen
    problem = hand.problem
    narrowed = selection.ChoiceProblem(
        problem.slots,
        problem.patients,
        problem.weights,
        problem.rules,
        tuple(pair for pair in problem.fixed if pair.case in chosen),
        problem.excluded | others,
    )
    choice = selection.choose(narrowed)
    slots = {pair.case: pair.slot for pair in choice.pairs}
    return [(code, slots[code]) for code in in_the_plans_order(hand, choice)]


def _warnings(hand: InHand, cases: Sequence[Prepared]) -> list[str]:
    said = []
    filled = {one.slot for one in cases}
    if empty := [slot.label for slot in hand.slots if slot.key not in filled]:
        said.append(f"Without a case: {listed(empty)}.")
    placed = {one.code for one in cases}
    left = [one.code for one in hand.cases if one.state == CaseState.CHOSEN and one.code not in placed]
    if left:
        said.append(f"Chosen, but in no slot: {listed(left)}.")
    if papers := [one.code for one in cases if one.open_records]:
        said.append(f"Records that are asked for are not told of: {listed(papers)}.")
    for one in cases:
        scores = hand.case(one.code).facts.scores.values()
        if lacking := [registry.index(score.index).label for score in scores if not score.complete]:
            said.append(f"Case {one.code}: incomplete is {listed(dict.fromkeys(lacking))}.")
    for group in hand.held.plan.groups:
        counted_in = [one.code for one in cases if group.condition.evaluate(hand.case(one.code).facts).met]
        many = len(counted_in)
        short = group.at_least is not None and many < group.at_least
        over = group.at_most is not None and many > group.at_most
        if short or over:
            said.append(
                f"{group.label or group.condition.sentence(hand.notation)}: {counted(many, 'case')} of it."
            )
    return said


def head(hand: InHand, prepared: Preparation, reason: str) -> dict[str, object]:
    """The frozen head of what was prepared."""
    order = [one.slot for one in prepared.cases]
    return head_json(hand.held.plan, hand.held.number, hand.held.digest, order, reason)


def parts(by: User, hand: InHand, prepared: Preparation, at: datetime) -> list[Part]:
    """Each case with its scores kept; SheetMoved where one is changed meanwhile."""
    rows = {row.code: row for row in visible_cases(by).filter(code__in=[one.code for one in prepared.cases])}
    sheets = _sheets(by, hand, prepared)
    slots = {slot.key: slot for slot in hand.slots}
    return [
        Part(
            rows[one.code],
            one.slot,
            case_json(
                one.code,
                _clauses(slots[one.slot], hand.table[one.code, one.slot], hand.notation),
                hand.table[one.code, one.slot].records,
                _kept(by, hand, one.code, sheets, at),
            ),
        )
        for one in prepared.cases
    ]


def _sheets(by: User, hand: InHand, prepared: Preparation) -> Mapping[UUID, Sheet]:
    wanted = [sheet for one in prepared.cases for sheet in hand.case(one.code).sheets_at.values()]
    rows = visible_sheets(by).filter(public_id__in=wanted)
    return {row.public_id: row for row in rows.select_related("record_set__case__patient__portfolio")}


def _clauses(slot: Slot, cell: Cell, notation: str) -> list[tuple[str, Answer]]:
    if cell.answer.parts:
        return [(part.sentence, part.answer) for part in cell.answer.parts]
    return [(slot.condition.sentence(notation) if slot.condition else "Any case.", cell.answer)]


def _kept(by: User, hand: InHand, code: str, sheets: Mapping[UUID, Sheet], at: datetime) -> list[FrozenScore]:
    case = hand.case(code)
    kept = []
    for (index, stage), score in case.facts.scores.items():
        sheet = sheets.get(case.sheets_at[stage])
        if sheet is None or score.total is None:
            continue
        run = keep_score(by, sheet, index, at).run
        kept.append(
            FrozenScore(
                str(run.public_id),
                index,
                stage,
                run.edition,
                str(run.result["total"]),
                bool(run.result["complete"]),
                run.sheet_version,
                run.rules_digest,
                run.choices_digest,
                dict(run.result["categories"]),
            )
        )
    return kept
