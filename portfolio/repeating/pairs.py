"""Which findings of a first sheet and its repeats make pairs: numbers by quantity and method, codes by quantity.  Pure.

A number makes a pair with a number at the same place, by the same method and to the same plane.  A number where the
other sheet states that nothing is there is counted as found once.  Codes agree or differ wherever one of the sheets
names the place; places that both merely state as free tell nothing and are not counted.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from portfolio.finding_sheet import Finding, Sheet
from portfolio.repeated import RepeatedStatistics, least_error, repeated_statistics
from portfolio.vocabulary import QUANTITIES

ELSEWHERE: frozenset[str] = frozenset(("radiograph", "clinical", "other"))
"""Groups of quantities that casts do not show."""
WITH_THE_PATIENT: frozenset[str] = frozenset(("functional_shift", "shift_direction", "root_angulation"))
"""Quantities of other groups that casts do not show."""


def is_repeated(quantity: str) -> bool:
    """Whether a quantity is measured again with the casts: not what radiographs, patient and notes tell."""
    return QUANTITIES[quantity].group not in ELSEWHERE and quantity not in WITH_THE_PATIENT


@dataclass(frozen=True, slots=True)
class Occasion:
    """A first sheet as it stood and its counted repeats in order; `step` is the step of rounding in mm."""

    first: Sheet
    repeats: tuple[Sheet, ...]
    step: float


@dataclass(frozen=True, slots=True)
class MeasuredAgain:
    """One quantity by one method: the values of each place in order, and how often only one sheet has a number."""

    quantity: str
    method: str
    places: tuple[tuple[float, ...], ...]
    found_once: int
    step: float

    @property
    def told(self) -> RepeatedStatistics | None:
        return repeated_statistics(self.places)

    @property
    def pairs(self) -> int:
        return sum(len(place) - 1 for place in self.places)

    @property
    def least(self) -> float:
        """The smallest error that the step of rounding allows."""
        return least_error(self.step)


@dataclass(frozen=True, slots=True)
class SeenAgain:
    """One quantity with codes: how often first and repeat say the same, of how many comparisons."""

    quantity: str
    same: int
    compared: int


@dataclass(slots=True)
class _Gathered:
    places: list[tuple[float, ...]] = field(default_factory=list)
    found_once: int = 0
    step: float = 0.0


def measured_again(occasions: Iterable[Occasion]) -> tuple[MeasuredAgain, ...]:
    """Numbers of all occasions by quantity and method, in the order round the casts."""
    found: dict[tuple[str, str], _Gathered] = {}
    for one in occasions:
        for finding in one.first.findings:
            if not _is_number(finding):
                continue
            again = [_at(sheet, finding) for sheet in one.repeats]
            numbers = [a.number for a in again if a and _is_number(a) and _same_way(a, finding)]
            free = sum(a is not None and a.value in ("none", "rest_none") for a in again)
            if not numbers and not free:
                continue
            place = found.setdefault((finding.quantity, method_of(finding)), _Gathered())
            place.found_once += free
            place.step = max(place.step, one.step)
            if numbers:
                place.places.append(tuple(float(n) for n in (finding.number, *numbers)))
        _only_in_repeats(one, found)
    order = {key: number for number, key in enumerate(QUANTITIES)}
    return tuple(
        MeasuredAgain(quantity, method, tuple(got.places), got.found_once, got.step)
        for (quantity, method), got in sorted(found.items(), key=lambda item: (order[item[0][0]], item[0][1]))
    )


def _only_in_repeats(one: Occasion, found: dict[tuple[str, str], _Gathered]) -> None:
    for sheet in one.repeats:
        for finding in sheet.findings:
            if not _is_number(finding):
                continue
            before = _at(one.first, finding)
            if before is not None and before.value in ("none", "rest_none"):
                got = found.setdefault((finding.quantity, method_of(finding)), _Gathered())
                got.found_once += 1
                got.step = max(got.step, one.step)


def seen_again(occasions: Iterable[Occasion]) -> tuple[SeenAgain, ...]:
    """Agreement of codes by quantity, each repeat held against the first."""
    same: defaultdict[str, int] = defaultdict(int)
    compared: defaultdict[str, int] = defaultdict(int)
    for one in occasions:
        for sheet in one.repeats:
            for quantity, site in _coded_places(one.first, sheet):
                first, again = _code(one.first, quantity, site), _code(sheet, quantity, site)
                if first and again:
                    compared[quantity] += 1
                    same[quantity] += first == again
    return tuple(SeenAgain(key, same[key], compared[key]) for key in QUANTITIES if compared[key])


def method_of(finding: Finding) -> str:
    """The method named, else the one that its quantity offers first."""
    return finding.method or QUANTITIES[finding.quantity].method


def differences(again: MeasuredAgain) -> tuple[tuple[float, float], ...]:
    """Mean of the two and repeat minus first, for each repeat of each place."""
    return tuple(((place[0] + v) / 2, v - place[0]) for place in again.places for v in place[1:])


def _is_number(finding: Finding) -> bool:
    return (
        is_repeated(finding.quantity)
        and QUANTITIES[finding.quantity].kind == "number"
        and not finding.is_statement
        and finding.value != "unknown"
    )


def _at(sheet: Sheet, like: Finding) -> Finding | None:
    """What a sheet says at the place of a finding: a value of its own, or the statement over it."""
    own = next(
        (f for f in sheet.findings if (f.quantity, f.site, f.nth) == (like.quantity, like.site, like.nth)),
        None,
    )
    return own or sheet.statement_over(like.quantity, like.site)


def _same_way(one: Finding, other: Finding) -> bool:
    return method_of(one) == method_of(other) and one.plane == other.plane


def _coded_places(*sheets: Sheet) -> Sequence[tuple[str, str]]:
    named: Mapping[tuple[str, str], None] = {
        (f.quantity, f.site): None
        for sheet in sheets
        for f in sheet.findings
        if QUANTITIES[f.quantity].kind in ("code", "tooth")
        and is_repeated(f.quantity)
        and QUANTITIES[f.quantity].site.takes(f.site)
        and not f.is_statement
    }
    return tuple(named)


def _code(sheet: Sheet, quantity: str, site: str) -> str:
    """What a sheet says of a place in one word; empty where it says nothing."""
    stated = sheet.at(quantity, site) or sheet.statement_over(quantity, site)
    if stated is None:
        return ""
    return "none" if stated.value == "rest_none" else stated.value
