"""Words that conditions share: stages, numbers, lists, limits.  Pure."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from portfolio.ages import age_text
from portfolio.quantity import UNIT_WORDS
from portfolio.vocabulary import QUANTITIES
from scoring.shapes import plain

STAGES: tuple[tuple[str, str], ...] = (
    ("initial", "before treatment"),
    ("interim", "at the interim stage"),
    ("final", "at the end of treatment"),
    ("retention", "in retention"),
    ("post_retention", "after retention"),
)
"""Stage → words that end a sentence."""
STAGE_WORDS: Mapping[str, str] = dict(STAGES)
STAGE_RECORDS: Mapping[str, str] = {
    "initial": "initial records",
    "interim": "interim records",
    "final": "final records",
    "retention": "retention records",
    "post_retention": "post-retention records",
}


def shown(number: Decimal) -> str:
    """A number as a page prints it, with a true minus."""
    return plain(number).replace("-", "−")


def with_unit(number: Decimal, unit: str) -> str:
    """`3.5 mm`, `40°`, `100%`, `20`, `grade 4`; units are those of quantities, or words."""
    if unit == "grade":
        return f"grade {shown(number)}"
    word = UNIT_WORDS.get(unit, unit)
    return f"{shown(number)}{'' if word in ('°', '%', '') else ' '}{word}"


_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def spelled(number: int) -> str:
    """`one`, `ten`, `11`: numbers up to ten in words."""
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def spelled_count(number: int, one: str, many: str = "") -> str:
    """`one tooth`, `three teeth`, `12 teeth`."""
    return f"{spelled(number)} {one if number == 1 else many or one + 's'}"


def counted(number: int, one: str, many: str = "") -> str:
    """`1 tooth`, `3 teeth`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def months_words(months: int) -> str:
    """`18 months`, `1 month`."""
    return counted(months, "month")


def years_words(months: int) -> str:
    """An age in a sentence: `18 years`, `12 y 6 m`."""
    return counted(months // 12, "year") if months % 12 == 0 else age_text(months)


def label_in_sentence(label: str) -> str:
    """A label with a small first letter, unless it is an abbreviation."""
    return label if label[:2].isupper() else label[:1].lower() + label[1:]


def listed(words: Iterable[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    found = list(words)
    return f"{', '.join(found[:-1])} {last} {found[-1]}" if len(found) > 1 else "".join(found)


def quantity_in_sentence(key: str) -> str:
    """The label of a quantity inside a sentence: `overjet`, `ANB`."""
    return label_in_sentence(QUANTITIES[key].label)


def limits_words(least: Decimal | None, most: Decimal | None, unit: str = "") -> str:
    """`at least 20`, `at most 30 mm`, `from 20 to 30 mm`."""
    if least is not None and most is not None:
        return f"from {shown(least)} to {with_unit(most, unit)}"
    return (
        f"at least {with_unit(least, unit)}"
        if least is not None
        else f"at most {with_unit(most or Decimal(0), unit)}"
    )
