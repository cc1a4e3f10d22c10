"""Hints from another sheet of the same case: other widths, teeth that came back, right and left exchanged."""

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import NamedTuple

from portfolio import sites, teeth
from portfolio.finding_sheet import Sheet
from portfolio.vocabulary import STAGES
from portfolio.wording import site_words
from scoring.hints.hint import LIMITS, PRACTICE, Hint, hint, in_reading_order, listed, looked_at, numbers
from scoring.hints.sides import STEP
from scoring.shapes import ZERO, plain

WIDTHS_APART = Decimal("0.5")
MOST_NAMED = 4


def widths_differ(sheet: Sheet, other: Sheet, notation: str) -> Iterator[Hint]:
    """Widths of the same tooth over 0.5 mm apart: another patient's casts, or the other side's tooth."""
    here, there = (_permanent_widths(s) for s in (sheet, other))
    apart = [t for t in teeth.in_order(here.keys() & there.keys()) if abs(here[t] - there[t]) > WIDTHS_APART]
    if not apart:
        return
    each = [
        f"{site_words(t, notation)} {plain(here[t])} mm here and {plain(there[t])} mm there" for t in apart
    ]
    more = f" and {len(each) - MOST_NAMED} more" if len(each) > MOST_NAMED else ""
    yield hint(
        "widths_differ",
        ("tooth_width",),
        apart,
        f"Widths differ by over 0.5 mm from the {_other_records(sheet, other)}: {'; '.join(each[:MOST_NAMED])}{more}.",
        "A tooth keeps its width unless enamel was taken off or something was added. Look again whether both sheets are "
        "of the same patient, and at the tooth and the side.",
    )


def _permanent_widths(sheet: Sheet) -> dict[str, Decimal]:
    return {t: w for t, w in numbers(sheet, "tooth_width").items() if not teeth.is_primary(t)}


def _stage(sheet: Sheet) -> str:
    return sheet.stage.replace("_", "-")


def _other_records(sheet: Sheet, other: Sheet) -> str:
    return "other sheet of these records" if sheet.stage == other.stage else f"{_stage(other)} records"


def _in_time(sheet: Sheet, other: Sheet) -> tuple[Sheet, Sheet]:
    """The earlier and the later of two sheets."""
    return (other, sheet) if STAGES.index(other.stage) <= STAGES.index(sheet.stage) else (sheet, other)


def _seen(sheet: Sheet, tooth: str) -> bool:
    """Whether a sheet shows a tooth: it stands, and somebody listed it, measured it or looked for missing ones."""
    if tooth not in sheet.standing:
        return False
    named = any(tooth in sites.teeth_of(f.site) for f in sheet.findings)
    return named or tooth in sheet.teeth or sheet.statement_over("missing", tooth) is not None


def missing_and_there(sheet: Sheet, other: Sheet, notation: str) -> Iterator[Hint]:
    """A tooth that was missing and stands later, or stood and later never formed."""
    early, late = _in_time(sheet, other)
    back = [t for t in early.missing_teeth if not teeth.is_primary(t) and _seen(late, t)]
    never = [
        f.site
        for f in late.singles("missing")
        if f.value == "congenital" and not teeth.is_primary(f.site) and _seen(early, f.site)
    ]
    if not back and not never:
        return
    before, after = ("one sheet", "the other") if early.stage == late.stage else (_stage(early), _stage(late))
    told = []
    if back:
        told.append(f"{listed(back, notation)}: missing ({before}), there ({after})")
    if never:
        told.append(f"{listed(never, notation)}: there ({before}), never formed ({after})")
    yield hint(
        "missing_and_there",
        ("missing",),
        (*back, *never),
        f"{'. '.join(told)}.",
        "A missing permanent tooth does not come back, and one that stood has formed. Look again at the missing teeth "
        "of both sheets, at the side, and whether both are of the same patient.",
        PRACTICE,
    )


class Evidence(NamedTuple):
    """What speaks for right and left exchanged (+) or as they are (-), as natural logarithms of odds."""

    weight: Decimal
    sites: tuple[str, ...]
    quantity: str


SWAPPED_FROM = Decimal("4.6")
"""Odds of 100 to 1 for the exchange."""
REPEAT_SD = Decimal("0.3")
"""Of the difference between two measurements of one width, in mm; common practice, no source."""
MOST_OF_A_PAIR = Decimal("2.3")
"""10 to 1 at most from one pair of teeth, so that one slip proves nothing."""
FROM_MISSING = Decimal(5)
FROM_SHAPE = Decimal(3)
FROM_SIDE = Decimal("1.1")
"""3 to 1: crossbites and classes change with treatment."""


def right_and_left(sheet: Sheet, other: Sheet, notation: str) -> Iterator[Hint]:
    """The other sheet fits this one better with its sides exchanged."""
    found = [e for gather in (_widths, _missing, _shapes, _crossbites, _molars) for e in gather(sheet, other)]
    if sum((e.weight for e in found), ZERO) < SWAPPED_FROM:
        return
    for_it = [e for e in found if e.weight > 0]
    concerned = in_reading_order(s for e in for_it for s in e.sites)
    yield hint(
        "right_and_left",
        dict.fromkeys(e.quantity for e in for_it),
        concerned,
        f"This sheet fits the {_other_records(sheet, other)} better with right and left exchanged: {listed(concerned, notation)}.",
        "Sides are easily exchanged when casts lie upside down or a picture is mirrored. Look again at the side, the "
        "patient's, in both sheets.",
        LIMITS,
    )


def _widths(sheet: Sheet, other: Sheet) -> Iterator[Evidence]:
    here, there = _permanent_widths(sheet), _permanent_widths(other)
    for tooth in teeth.in_order(t for t in here if teeth.side(t) == "right"):
        facing = teeth.mirror(tooth)
        if not all(t in widths for t in (tooth, facing) for widths in (here, there)):
            continue
        straight = (here[tooth] - there[tooth]) ** 2 + (here[facing] - there[facing]) ** 2
        exchanged = (here[tooth] - there[facing]) ** 2 + (here[facing] - there[tooth]) ** 2
        weight = (straight - exchanged) / (2 * REPEAT_SD**2)
        yield Evidence(max(-MOST_OF_A_PAIR, min(MOST_OF_A_PAIR, weight)), (tooth, facing), "tooth_width")


def _missing(sheet: Sheet, other: Sheet) -> Iterator[Evidence]:
    early, late = _in_time(sheet, other)
    for tooth in sorted(early.missing_teeth):
        facing = teeth.mirror(tooth)
        if facing in early.missing_teeth or teeth.is_primary(tooth):
            continue
        if tooth in late.missing_teeth:
            yield Evidence(-FROM_MISSING, (tooth, facing), "missing")
        elif facing in late.missing_teeth and _seen(late, tooth):
            yield Evidence(FROM_MISSING, (tooth, facing), "missing")


def _shapes(sheet: Sheet, other: Sheet) -> Iterator[Evidence]:
    yield from _one_sided(
        "anomalous", sheet, other, FROM_SHAPE, lambda s, t: s.at("anomalous", t) is not None
    )


def _crossbites(sheet: Sheet, other: Sheet) -> Iterator[Evidence]:
    def crossed(s: Sheet, tooth: str) -> bool:
        found = s.at("crossbite", tooth)
        return found is not None and found.value != "none"

    yield from _one_sided("crossbite", sheet, other, FROM_SIDE, crossed)


def _one_sided(
    quantity: str, sheet: Sheet, other: Sheet, weight: Decimal, marked: Callable[[Sheet, str], bool]
) -> Iterator[Evidence]:
    """Teeth marked on one side only, in both sheets: on the same side, or on the other one."""
    named = {f.site for s in (sheet, other) for f in s.singles(quantity)}
    for tooth in sorted({min(t, teeth.mirror(t)) for t in named}):
        facing = teeth.mirror(tooth)
        if not all(looked_at(s, quantity, t) for s in (sheet, other) for t in (tooth, facing)):
            continue
        here, there = (
            (marked(sheet, tooth), marked(sheet, facing)),
            (marked(other, tooth), marked(other, facing)),
        )
        if here[0] != here[1] and there[0] != there[1]:
            yield Evidence(-weight if here == there else weight, (tooth, facing), quantity)


def _molars(sheet: Sheet, other: Sheet) -> Iterator[Evidence]:
    leans = []
    for s in (sheet, other):
        right, left = (s.at("molar_relation", side) for side in sites.SIDES)
        if right is None or left is None:
            return
        leans.append(STEP[left.value] - STEP[right.value])
    product = leans[0] * leans[1]
    if product:
        yield Evidence(FROM_SIDE if product < 0 else -FROM_SIDE, sites.SIDES, "molar_relation")


CHECKS = (widths_differ, missing_and_there, right_and_left)
