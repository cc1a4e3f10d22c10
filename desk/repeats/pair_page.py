"""One repeat that was handed in, beside the first sheet as it stood when the repeat was begun."""

from dataclasses import dataclass

from desk.repeats.plots import signed
from portfolio.finding_sheet import Finding, Sheet
from portfolio.models import RepeatSheet
from portfolio.quantity import UNIT_WORDS
from portfolio.repeating.pairs import is_repeated
from portfolio.repeating.selectors import first_as_it_stood
from portfolio.selectors import reading
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import site_words, value_words

PLACES = 2


@dataclass(frozen=True, slots=True)
class PairLine:
    """One place in both sheets, in words; `difference` is empty where it is no pair of numbers."""

    quantity: str
    site: str
    first: str
    repeat: str
    difference: str
    differs: bool


def pair_lines(repeat: RepeatSheet, notation: str) -> tuple[PairLine, ...]:
    """Every place that one of the sheets names, in the order round the casts; what casts do not show is left out."""
    again = reading(repeat.sheet)
    first = first_as_it_stood(repeat, again)
    places = dict.fromkeys((f.quantity, f.site, f.nth) for sheet in (first, again) for f in sheet.findings)
    order = {key: number for number, key in enumerate(QUANTITIES)}
    return tuple(
        _line(place, first, again, notation)
        for place in sorted(places, key=lambda p: (order[p[0]], _site_order(p[1]), p[2]))
        if is_repeated(place[0])
    )


def _site_order(site: str) -> tuple[int, str]:
    return len(site) if site.isalpha() else 0, site


def _line(place: tuple[str, str, int], first: Sheet, again: Sheet, notation: str) -> PairLine:
    key, site, _ = place
    one, other = (_at(sheet, place) for sheet in (first, again))
    numbers = [f.number for f in (one, other) if f is not None and _is_number(f)]
    unit = UNIT_WORDS[QUANTITIES[key].unit]
    return PairLine(
        quantity=f"{QUANTITIES[key].label}{f', {unit}' if unit else ''}",
        site="" if site == "mouth" else site_words(site, notation),
        first=value_words(key, one.value) if one else "",
        repeat=value_words(key, other.value) if other else "",
        difference=signed(float(numbers[1] - numbers[0])) if len(numbers) == PLACES else "",
        differs=(one.value if one else "") != (other.value if other else ""),
    )


def _is_number(finding: Finding) -> bool:
    numeric = QUANTITIES[finding.quantity].kind == "number"
    return numeric and not finding.is_statement and finding.value != "unknown"


def _at(sheet: Sheet, place: tuple[str, str, int]) -> Finding | None:
    own = next((f for f in sheet.findings if (f.quantity, f.site, f.nth) == place), None)
    return own or sheet.statement_over(place[0], place[1])
