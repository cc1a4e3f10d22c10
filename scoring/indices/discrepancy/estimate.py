"""The least that the discrepancy index can come to by the answers of a case log.

The points are those of the rules that the rows of the form read by; no value stands here a second time.  What an answer
leaves open counts as the fewest points that fit it, so the floor never exceeds the index of any sheet that agrees
with the answers.  It is an estimate for choosing what to measure, and never a score.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from portfolio.case_log.answers import BY_KEY, Answers
from portfolio.finding_sheet import Sheet
from portfolio.quantities.radiograph import PLANE_LABELS
from portfolio.sources import cite
from scoring.components import WorstTooth
from scoring.indices.discrepancy import CATEGORIES, INDEX
from scoring.kernel import asks
from scoring.shapes import ZERO, Rule, Value, points_text

ASKED = frozenset(("overjet", "overbite", "molar_relation", "crossbite", "crowding", "anb", "sn_mp"))
"""Quantities of the index that the log asks for."""
READ = (
    "overjet",
    "overbite",
    "molar_right",
    "molar_left",
    "crowding",
    "crossbite_inside",
    "crossbite_outside",
    "anb",
    "sn_mp",
)
"""Fields of the log that move points by themselves."""
Choices = tuple[tuple[str, str], ...]
"""Every rule choice in force, sorted."""


class Counted(NamedTuple):
    """One use of a rule: its category, the value it reads, and on how many teeth."""

    category: str
    rule: Rule
    value: Value
    times: int = 1

    @property
    def points(self) -> Decimal:
        return self.rule.points(self.value) * self.times


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """What one answer comes to; `rule` are the words of the index's own rule."""

    category: str
    label: str
    rule: str
    times: int
    points: Decimal
    source: str
    certainty: str

    @property
    def points_words(self) -> str:
        return points_text(self.points)


@dataclass(frozen=True, slots=True)
class Estimate:
    """The least total by the answers, the lines it is the sum of, and what it knows nothing of.

    `floor` is None where the index is not meant for the dentition (`outside` says so) or nothing was said.
    `not_told` are labels of fields left empty, `not_asked` keys of quantities that the index needs and the log
    does not ask for, `notes` sentences on answers that could not be used whole.
    """

    floor: Decimal | None
    lines: tuple[EstimateLine, ...] = ()
    not_told: tuple[str, ...] = ()
    not_asked: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    outside: str = ""


def in_force(choices: Mapping[str, str]) -> Choices:
    """Rule choices as the functions here take them; ChoiceRefused for unknown ones."""
    return tuple(sorted(INDEX.settled(choices).items()))


@lru_cache(maxsize=16384)
def floor(answers: Answers, choices: Choices) -> Decimal | None:
    """The least total by the answers; None where nothing was said or the index is not meant for the dentition."""
    if _outside(answers) or not _says_something(answers):
        return None
    return sum((one.points for one in _counted(answers, dict(choices))), ZERO)


@lru_cache(maxsize=1024)
def estimate(answers: Answers, choices: Choices) -> Estimate:
    """The floor with its lines and everything that it leaves open."""
    outside = _outside(answers)
    if outside:
        return Estimate(None, outside=outside)
    chosen = dict(choices)
    not_told = [BY_KEY[key].label for key in READ if not answers.text(key)]
    if answers.is_open and not answers.open_teeth:
        not_told.append("Open teeth (taken as 1)")
    return Estimate(
        floor=floor(answers, choices),
        lines=tuple(_line(one) for one in _counted(answers, chosen)),
        not_told=tuple(not_told),
        not_asked=_not_asked(answers, choices),
        notes=tuple(_notes(answers, chosen)),
    )


def _counted(answers: Answers, chosen: Mapping[str, str]) -> Iterator[Counted]:
    """The uses of rules that the answers make certain, in the order of the form."""
    form = _rules(tuple(sorted(chosen.items())))
    if (overjet := answers.number("overjet")) is not None:
        category = "overjet" if overjet >= 0 else "negative_overjet"
        yield Counted(category, form[category], overjet)
    if (overbite := answers.number("overbite")) is not None:
        category = "anterior_open_bite" if answers.is_open else "overbite"
        yield Counted(category, form[category], overbite)
        if answers.is_open and (others := int(answers.open_teeth or 1) - 1):
            # of the other open teeth it is only known that they do not overlap: each counts like edge to edge
            yield Counted(category, form[category], ZERO, others)
    if (crowding := answers.number("crowding")) is not None:
        yield Counted("crowding", form["crowding"], crowding)
    for side in ("molar_right", "molar_left"):
        if relation := answers.text(side):
            yield Counted("molar_relation", form["molar_relation"], relation)
    if inside := answers.crossbite_inside:
        yield Counted("lingual_crossbite", form["lingual_crossbite"], "upper_inside", int(inside))
    if outside := answers.crossbite_outside:
        yield Counted("buccal_crossbite", form["buccal_crossbite"], "upper_outside", int(outside))
    if (anb := answers.number("anb")) is not None:
        yield Counted("anb", form["anb"], anb)
    sn_mp = answers.number("sn_mp")
    if sn_mp is not None and answers.plane in ("", chosen["mandibular_plane"]):
        yield Counted("sn_mp", form["sn_mp"], sn_mp)


@lru_cache(maxsize=64)
def _rules(choices: Choices) -> dict[str, Rule]:
    """Category → the rule that the form's own row reads by under the given choices."""
    found: dict[str, Rule] = {}
    for row in INDEX.components(choices, INDEX.editions[0]):
        rule = getattr(row, "rule", None) or getattr(row, "relation", None)
        if rule is not None:
            found.setdefault(row.category, rule)
    return found


def _line(one: Counted) -> EstimateLine:
    rule = one.rule
    return EstimateLine(
        category=one.category,
        label=CATEGORIES[one.category],
        rule=rule.words(one.value),
        times=one.times,
        points=one.points,
        source=cite(rule.cited.source),
        certainty=rule.certainty(one.value),
    )


def _outside(answers: Answers) -> str:
    return INDEX.outside(Sheet("initial", answers.dentition or "permanent"))


def _says_something(answers: Answers) -> bool:
    return any(answers.text(key) for key in READ)


def _not_asked(answers: Answers, choices: Choices) -> tuple[str, ...]:
    """Quantities that the index needs beside the answers, in the order of the form."""
    needed = list(_needed(choices))
    overbite = answers.number("overbite")
    if overbite is not None and overbite > _rivals_from(choices):
        needed.insert(0, "palatal_contact")
    if any(answers.text(side).startswith("beyond") for side in ("molar_right", "molar_left")):
        needed.insert(0, "molar_beyond")
    return tuple(needed)


@lru_cache(maxsize=64)
def _needed(choices: Choices) -> tuple[str, ...]:
    """By the permanent dentition: which teeth stand in a mixed one is not asked, so none is taken as missing."""
    found = asks(INDEX, Sheet("initial", "permanent"), dict(choices))
    return tuple(a.quantity for a in found if a.needed and a.quantity not in ASKED)


@lru_cache(maxsize=64)
def _rivals_from(choices: Choices) -> Decimal:
    """From which overbite on the index also asks for contact with the palate or cover."""
    rows = INDEX.components(choices, INDEX.editions[0])
    found = (row.rivals_from for row in rows if isinstance(row, WorstTooth) and row.category == "overbite")
    return next((limit for limit in found if limit is not None), ZERO)


def _notes(answers: Answers, chosen: Mapping[str, str]) -> Iterator[str]:
    if answers.sn_mp and answers.plane not in ("", chosen["mandibular_plane"]):
        taken, read = PLANE_LABELS[answers.plane], PLANE_LABELS[chosen["mandibular_plane"]]
        yield f"SN–MP was taken to {taken}; the rule choice now reads {read}, so it does not count."
