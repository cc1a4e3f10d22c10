"""Hints in front: the sense of overjet and overbite against crossbite, shift, molars and cover."""

from collections.abc import Iterator
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Sheet
from portfolio.wording import value_words
from scoring.hints.hint import PRACTICE, Hint, hint, listed, looked_at, numbers, single
from scoring.shapes import ZERO

CLASS_2 = frozenset(("end2", "full2", "beyond2"))
CLASS_3 = frozenset(("end3", "full3", "beyond3"))
NEIGHBOURS = (("12", "11"), ("11", "21"), ("21", "22"))
MOST_APART = Decimal(8)
"""Neighbouring incisors of which one stands in front and one behind, by more than this."""
LARGE_OVERJET = Decimal(5)
COVERED_FROM = Decimal(1)
"""From this overlap on, some of a lower incisor is covered."""


def in_line(sheet: Sheet, quantity: str) -> dict[str, Decimal]:
    """Values of upper incisors, by place, that are erupted and stand in the arch."""
    away = sheet.blocked_out | sheet.partly_erupted
    return {
        site: value
        for site, value in numbers(sheet, quantity).items()
        if teeth.place(site) in teeth.UPPER_INCISORS and site not in away
    }


def neighbours_in_opposite_senses(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """One incisor far in front and the next far behind is more often a sense typed wrong."""
    found = in_line(sheet, "overjet")
    for pair in NEIGHBOURS:
        a, b = (sheet.holder(place) for place in pair)
        if a not in found or b not in found:
            continue
        one, other = found[a], found[b]
        if one * other < 0 and abs(one - other) > MOST_APART:
            yield hint(
                "overjet_senses",
                ("overjet",),
                (a, b),
                f"Overjet: {listed((a,), notation)} {value_words('overjet', str(one))}, "
                f"{listed((b,), notation)} {value_words('overjet', str(other))}.",
                "Neighbours this far apart in opposite senses are rare. Look again at which of them is in reverse.",
            )


def overjet_against_molars(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Both sides Class II with all incisors in reverse, or both Class III with a large overjet."""
    found = in_line(sheet, "overjet")
    molars = [f.value for side in sites.SIDES if (f := sheet.at("molar_relation", side))]
    if not found or len(molars) < 2:
        return
    worst = max(found.values())
    if all(m in CLASS_2 for m in molars) and worst < 0:
        met = "Both sides are Class II, and every recorded incisor is in reverse overjet."
    elif all(m in CLASS_3 for m in molars) and worst > LARGE_OVERJET:
        met = f"Both sides are Class III, and the overjet reaches {value_words('overjet', str(worst))}."
    else:
        return
    yield hint(
        "overjet_against_molars",
        ("overjet", "molar_relation"),
        (*sites.SIDES, *found),
        met,
        "Molars and incisors seldom part this far. Look again at the sense of the overjet and at the class of the molars.",
    )


def overjet_against_crossbite(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """All incisors in reverse with upper teeth outside the lower ones on both sides."""
    found = in_line(sheet, "overjet")
    outside = [f.site for f in sheet.singles("crossbite") if f.value == "upper_outside"]
    if found and max(found.values()) < 0 and {teeth.side(t) for t in outside} == set(sites.SIDES):
        yield hint(
            "overjet_against_crossbite",
            ("overjet", "crossbite"),
            (*found, *outside),
            "Every recorded incisor is in reverse overjet, and behind them upper teeth stand outside on both sides "
            f"({listed(outside, notation)}).",
            "An upper arch that is behind in front is seldom too wide at the back. Look again at the sense of the "
            "overjet, and at which teeth are inside and which outside.",
            PRACTICE,
        )


def shift_against_bite(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """A slide on closing that nothing in the bite goes with."""
    direction = sheet.at("shift_direction", "mouth")
    length = single(sheet, "functional_shift", "mouth")
    if direction is None or length is None:
        return
    if not length:
        yield hint(
            "shift_without_length",
            ("functional_shift", "shift_direction"),
            ("mouth",),
            f"The shift on closing is 0 mm, and its direction is {direction.value}.",
            "Without a shift there is no direction. Look again at both.",
            PRACTICE,
        )
    elif direction.value == "forward":
        yield from _forward(sheet, notation)
    else:
        yield from _sideways(sheet, direction.value, notation)


def _forward(sheet: Sheet, notation: str) -> Iterator[Hint]:
    found = numbers(sheet, "overjet")
    if found and min(found.values()) > 0:
        yield hint(
            "shift_against_overjet",
            ("functional_shift", "shift_direction", "overjet"),
            ("mouth", *found),
            "The jaw slides forward on closing, and no recorded front tooth is edge to edge or in reverse.",
            "A forward slide mostly goes with incisors that meet edge to edge or in reverse. Look again at the sense "
            "of the overjet and at the direction of the slide.",
            PRACTICE,
        )


def _sideways(sheet: Sheet, toward: str, notation: str) -> Iterator[Hint]:
    buccal = [t for t in map(sheet.holder, teeth.UPPER_BUCCAL) if t and t not in teeth.THIRD_MOLARS]
    if not all(looked_at(sheet, "crossbite", t) for t in buccal):
        return
    crossed = [f.site for f in sheet.singles("crossbite") if f.value != "none"]
    if any(teeth.side(t) == toward for t in crossed):
        return
    where = f"the only crossbite is on the other side ({listed(crossed, notation)})"
    yield hint(
        "shift_against_crossbite",
        ("functional_shift", "shift_direction", "crossbite"),
        ("mouth", *crossed),
        f"The jaw slides to the {toward} on closing, and {where if crossed else 'no tooth behind is in crossbite'}.",
        "A sideways slide mostly goes with a crossbite on the side it leads to. Look again at the direction, the "
        "patient's, and at the crossbites of that side.",
        PRACTICE,
    )


def cover_against_overbite(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Lower incisors covered although nothing overlaps, or nothing covered although something does."""
    cover = single(sheet, "overbite_cover", "mouth")
    found = in_line(sheet, "overbite")
    if cover is None or not found:
        return
    deepest = max(found.values())
    if cover and deepest <= 0 and not any(f.value == "rest_none" for f in sheet.statements("overbite")):
        words = f"{value_words('overbite_cover', str(cover))} of a lower incisor is covered, and every recorded overbite is open or edge to edge."
    elif not cover and (deepest := _deepest_in_front(sheet, found)) > COVERED_FROM:
        reached = value_words("overbite", str(deepest))
        words = f"No lower incisor is covered, and the overbite reaches {reached}."
    else:
        return
    yield hint(
        "cover_against_overbite",
        ("overbite_cover", "overbite"),
        ("mouth", *found),
        words,
        "Teeth cover each other where they overlap, and only there. Look again at the cover and at the sense of the overbite.",
    )


def _deepest_in_front(sheet: Sheet, overbites: dict[str, Decimal]) -> Decimal:
    """The greatest overlap of incisors that are not in reverse: one that stands behind covers nothing."""
    overjets = numbers(sheet, "overjet")
    return max((v for t, v in overbites.items() if overjets.get(t, ZERO) >= 0), default=ZERO)


CHECKS = (
    neighbours_in_opposite_senses,
    overjet_against_molars,
    overjet_against_crossbite,
    shift_against_bite,
    cover_against_overbite,
)
