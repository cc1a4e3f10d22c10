"""Letters about overjet in either sense: a, m and b; and which front teeth are in reverse."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from portfolio import teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.components import standing_teeth
from scoring.hits import Convention, Hit
from scoring.indices.iotn.grades import GradeBands
from scoring.indices.iotn.letters import Read, Want, code_at_mouth, say_nothing
from scoring.indices.iotn.rules import (
    CANINE_WITH_INCISORS,
    FUNCTION_ALONE,
    LIPS_ALONE,
    ON_CASTS,
    REST_LOOKED_AT,
)
from scoring.indices.iotn.single_teeth import MOUTH, told
from scoring.shapes import Said

LIPS_FROM, LIPS_TO = Decimal("3.5"), Decimal(6)
"""Over the first up to the second the lips decide between grades 2 and 3."""
FUNCTION_FROM, FUNCTION_HIGH = Decimal(1), Decimal("3.5")
"""Over the first a reverse overjet asks for problems of function; over the second for the higher grade."""


CANINES = ("13", "23")


def incisor_overjets(sheet: Sheet) -> list[Finding]:
    """Recorded overjets of upper incisors, primary ones by their place."""
    found = sheet.by_quantity.get("overjet", {})
    return [found[t] for t in standing_teeth(sheet, teeth.UPPER_INCISORS) if t in found]


def in_reverse(sheet: Sheet, any_counts: bool) -> list[Finding]:
    """Incisors graded as reverse overjet; empty where they are graded as a crossbite or none is in reverse.

    Teeth that a statement covers count as recorded and not in reverse.
    """
    recorded = incisor_overjets(sheet)
    reverse = [f for f in recorded if f.number < 0]
    if any_counts or (len(reverse) == len(recorded) and not _others_looked_at(sheet)):
        return reverse
    return []


def crossed_in_front(sheet: Sheet, any_counts: bool) -> list[Finding]:
    """Front teeth in reverse that are graded as a crossbite: none beside a graded reverse overjet."""
    return [] if in_reverse(sheet, any_counts) else front_in_reverse(sheet, teeth.UPPER_FRONT)


def front_in_reverse(sheet: Sheet, places: Iterable[str]) -> list[Finding]:
    """Recorded overjets under 0 at the given places."""
    found = sheet.by_quantity.get("overjet", {})
    return [f for t in standing_teeth(sheet, places) if (f := found.get(t)) is not None and f.number < 0]


def _others_looked_at(sheet: Sheet) -> bool:
    found = sheet.by_quantity.get("overjet", {})
    incisors = standing_teeth(sheet, teeth.UPPER_INCISORS)
    return any(t not in found and sheet.statement_over("overjet", t) is not None for t in incisors)


def _lacking(sheet: Sheet) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The incisors that stand, and those about which nothing is said."""
    incisors = tuple(standing_teeth(sheet, teeth.UPPER_INCISORS))
    return incisors, say_nothing(sheet, "overjet", incisors)


@dataclass(frozen=True)
class Overjet:
    """a: the greatest overjet of the incisors, between 3.5 and 6 mm with the lips."""

    by_lips: tuple[tuple[str, GradeBands], ...]
    lips_alone: Said = LIPS_ALONE
    rest: Said = REST_LOOKED_AT
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        lips, code = code_at_mouth(sheet, "lip_competence")
        rule = dict(self.by_lips)[code]
        hits: list[Hit] = []
        used = False
        for finding in incisor_overjets(sheet):
            value = finding.number
            if value >= 0:
                matters = LIPS_FROM < value <= LIPS_TO and lips is not None
                used = used or matters
                read = (finding, lips) if matters and lips is not None else (finding,)
                hits.append(Hit(finding.site, read, rule, value, rule.points(value)))
        hits += (told(f.site, f, self.rest) for f in sheet.statements("overjet"))
        if lips is not None and not used:
            hits.append(told("mouth", lips, self.lips_alone))
        conventions = []
        if code == "unknown" and self._lips_decide(sheet):
            conventions.append(Convention("lip_competence", "mouth", "incompetent", cite(ON_CASTS.source)))
        return Read(hits, conventions)

    def _lips_decide(self, sheet: Sheet) -> bool:
        greatest = max((f.number for f in incisor_overjets(sheet)), default=Decimal(0))
        return LIPS_FROM < greatest <= LIPS_TO

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        incisors, lacking = _lacking(sheet)
        yield Want("overjet", incisors, lacking, 5)
        not_recorded = MOUTH if sheet.at("lip_competence", "mouth") is None else ()
        yield Want("lip_competence", MOUTH, not_recorded, 3 if self._lips_decide(sheet) else 0)


def letter_of_reverse(sheet: Sheet, reverse: list[Finding]) -> str:
    """m with problems of function from over 1 mm on, else b; empty where nothing is in reverse."""
    if not reverse:
        return ""
    _, function = code_at_mouth(sheet, "function_problem")
    over_1 = max(-f.number for f in reverse) > FUNCTION_FROM
    return "m" if over_1 and function in ("yes", "unknown") else "b"


@dataclass(frozen=True)
class Reverse:
    """m and b: the greatest reverse overjet of the incisors, with or without problems of function."""

    letter: str
    by_function: tuple[tuple[str, GradeBands], ...]
    any_counts: bool
    function_alone: Said = FUNCTION_ALONE
    canine: Said = CANINE_WITH_INCISORS
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        function, code = code_at_mouth(sheet, "function_problem")
        reverse = in_reverse(sheet, self.any_counts)
        decides = self._greatest(reverse) > FUNCTION_FROM
        if letter_of_reverse(sheet, reverse) != self.letter:
            alone = self.letter == "m" and function is not None and not decides
            return Read([told("mouth", function, self.function_alone)] if alone and function else [], [])
        rules: Mapping[str, GradeBands] = dict(self.by_function)
        rule = rules[code]
        hits = [
            Hit(
                f.site,
                (f, function) if function is not None and f.number < -FUNCTION_FROM else (f,),
                rule,
                f.number,
                rule.points(f.number),
            )
            for f in reverse
        ]
        hits += (told(f.site, f, self.canine) for f in front_in_reverse(sheet, CANINES))
        taken = code == "unknown" and decides
        conventions = [Convention("function_problem", "mouth", "yes", cite(ON_CASTS.source))] if taken else []
        return Read(hits, conventions)

    def _greatest(self, reverse: list[Finding]) -> Decimal:
        return max((-f.number for f in reverse), default=Decimal(0))

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        _, code = code_at_mouth(sheet, "function_problem")
        reverse = in_reverse(sheet, self.any_counts)
        incisors, lacking = _lacking(sheet)
        mixed = bool(incisor_overjets(sheet)) and not reverse
        possible = self.any_counts or not (mixed or _others_looked_at(sheet))
        highest = {"m": 0 if code == "no" else 5, "b": 4 if code in ("no", "") else 2}[self.letter]
        yield Want("overjet", incisors, lacking, highest if possible else 0)
        if self.letter == "m":
            greatest = self._greatest(reverse)
            best = 5 if greatest > FUNCTION_HIGH else 4 if greatest > FUNCTION_FROM else 0
            yield Want("function_problem", MOUTH, MOUTH if not code else (), best)
