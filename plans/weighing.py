"""Cases held against the slots of a plan, and the choice that comes of it.  Pure.

A case may be chosen for a slot whose condition it meets; one that is unknown, not met, or met under some rule choices
only is not.  Its weight is the chance that the condition holds, then its distance to the limit in deviations; a
condition without a number has chance 1 and lies at no limit.  Records that are asked for stand beside: a case may be
chosen while they are gathered.
"""

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from plans.answers import Answer, Lack, told
from plans.document import GroupRule as PlanRule
from plans.document import Plan, RecordRule, Slot
from plans.facts import CaseFacts
from plans.requirements import Requirement
from plans.requirements.filed_records import RecordsFiled, RecordsIf
from plans.selection import ChoiceProblem, GroupRule, IfGood, Pair, Weight

MOST = "/most"
"""Behind the key of a group rule for its upper limit, which other cases may count for."""
JUST_MET = Weight(1.0, 0.0)
"""What a pair that cannot be told yet would weigh if it turned out well: met, with nothing to spare."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One case in one slot: the answer to the slot's condition, and to each rule about records with its sentence."""

    case: str
    slot: str
    answer: Answer
    records: tuple[tuple[str, Answer], ...]

    @property
    def fits(self) -> bool:
        """Whether the case may be chosen for the slot."""
        return self.answer.met

    @property
    def records_told(self) -> bool:
        """Whether every record that is asked for is filed or told of."""
        return all(answer.met for _, answer in self.records)

    @property
    def weight(self) -> Weight:
        """What a fitting case weighs in the slot."""
        chance = 1.0 if self.answer.chance is None else self.answer.chance
        margin = math.inf if self.answer.margin_sd is None else self.answer.margin_sd
        return Weight(min(max(chance, 0.0), 1.0), margin)


def record_requirement(rule: RecordRule) -> Requirement:
    """A rule about records as a condition of its own."""
    if rule.when is None:
        return RecordsFiled(rule.stage, rule.records)
    return RecordsIf(rule.when, rule.stage, rule.records)


def cells(plan: Plan, cases: Iterable[CaseFacts]) -> dict[tuple[str, str], Cell]:
    """Case code and slot key → cell, for every case and slot."""
    found: dict[tuple[str, str], Cell] = {}
    for facts in cases:
        common = _answers(plan.records, facts)
        for slot in plan.slots:
            found[facts.case, slot.key] = Cell(
                facts.case, slot.key, held_against(slot, facts), (*common, *_answers(slot.records, facts))
            )
    return found


def held_against(slot: Slot, facts: CaseFacts) -> Answer:
    """The answer to the condition of a slot; one without a condition takes any case."""
    return slot.condition.evaluate(facts) if slot.condition else told(True, "any case")


def _answers(rules: Sequence[RecordRule], facts: CaseFacts) -> tuple[tuple[str, Answer], ...]:
    asked = (record_requirement(rule) for rule in rules)
    return tuple((one.sentence(facts.notation), one.evaluate(facts)) for one in asked)


def group_answers(plan: Plan, cases: Sequence[CaseFacts]) -> dict[tuple[str, str], Answer]:
    """Group rule and case code → whether the case counts for the rule."""
    return {
        (group.key, facts.case): group.condition.evaluate(facts) for group in plan.groups for facts in cases
    }


def problem_of(
    plan: Plan,
    cases: Sequence[CaseFacts],
    table: Mapping[tuple[str, str], Cell],
    *,
    fixed: Mapping[str, str] | None = None,
    excluded: Collection[str] = (),
) -> ChoiceProblem:
    """The choice to be made; `fixed`: case code → slot key.

    Nothing unknown helps: a case of which it is unknown counts against a group rule's most and not for its least.
    """
    return ChoiceProblem(
        slots=tuple(slot.key for slot in plan.slots),
        patients={facts.case: facts.patient for facts in cases},
        weights={pair: cell.weight for pair, cell in table.items() if cell.fits},
        rules=tuple(_rules(plan, cases)),
        fixed=tuple(Pair(slot, case) for case, slot in (fixed or {}).items()),
        excluded=frozenset(excluded),
    )


def _rules(plan: Plan, cases: Sequence[CaseFacts]) -> Iterator[GroupRule]:
    counts = group_answers(plan, cases)
    for group in plan.groups:
        states = {facts.case: counts[group.key, facts.case].state for facts in cases}
        if group.at_least:
            sure = frozenset(case for case, state in states.items() if state == "met")
            yield GroupRule(group.key, sure, group.at_least)
        if group.at_most is not None:
            perhaps = frozenset(case for case, state in states.items() if state != "not_met")
            yield GroupRule(group.key + MOST, perhaps, 0, group.at_most)


def rule_of(plan: Plan, key: str) -> PlanRule:
    """The rule of the plan that a rule of the choice stands for."""
    return next(group for group in plan.groups if group.key == key.removesuffix(MOST))


def item(case: str, lack: Lack) -> str:
    """The name of one missing thing of one case, for `selection.helps_most`."""
    return "\t".join((case, lack.kind, lack.key, lack.stage))


def if_good(table: Mapping[tuple[str, str], Cell]) -> dict[tuple[str, str], IfGood]:
    """Pairs that cannot be told yet because something is missing, with what they would weigh if it turned out well."""
    return {
        pair: IfGood(JUST_MET, frozenset(item(cell.case, lack) for lack in cell.answer.lacks))
        for pair, cell in table.items()
        if cell.answer.state == "unknown" and cell.answer.lacks
    }
