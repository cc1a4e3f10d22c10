"""Hints about space: crowding against space analysis, gaps against crowding and missing teeth."""

from collections.abc import Iterator
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Sheet
from portfolio.wording import value_words
from scoring import kernel
from scoring.hints.hint import LIMITS, Hint, hint, listed, mm, numbers, single
from scoring.hints.published_widths import MEAN_WIDTHS
from scoring.indices.space import INDEX as SPACE
from scoring.shapes import ZERO, plain

CROWDING_APART = Decimal(2)
CROWDED_FROM = Decimal(3)
GAPS_FROM = Decimal(3)
GAP_TOO_WIDE = Decimal(5)
"""How much wider a gap is than the teeth that could stand in it, to be told."""


def crowding_against_space(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Crowding by eye against length available less widths required."""
    found = {arch: c for arch in sites.ARCHES if (c := single(sheet, "crowding", arch)) is not None}
    if not found or "tooth_width" not in sheet.by_quantity:
        return
    told = kernel.score(SPACE, sheet, detail="totals").extra
    for arch, crowding in found.items():
        shown = told[arch]
        assert isinstance(shown, dict)
        if shown["discrepancy"] is None:
            continue
        measured = -Decimal(str(shown["discrepancy"]))
        if abs(measured - crowding) > CROWDING_APART:
            yield hint(
                "crowding_against_space",
                ("crowding", "tooth_width", "arch_segment", "arch_available"),
                (arch,),
                f"{arch.capitalize()} arch: crowding {value_words('crowding', plain(crowding))}, space analysis "
                f"{value_words('crowding', plain(measured))}.",
                f"The two speak of the same space and lie over {mm(CROWDING_APART)} apart. Look again at the sign of "
                "the crowding, at the length available and at the widths.",
            )


def _gaps(sheet: Sheet, arch: str) -> dict[str, Decimal]:
    """Gaps between the first molars of an arch, contacts of neighbours that stand."""
    found = numbers(sheet, "gap")
    return {c: found[c] for c in _contacts(sheet, arch) if c in found}


def _contacts(sheet: Sheet, arch: str) -> list[str]:
    return [c for c in sheet.contacts[arch] if all(teeth.number(t) <= 6 for t in sites.teeth_of(c))]


def _between(contact: str) -> list[str]:
    """The places that a contact passes over."""
    first, second = (teeth.order(t) for t in sites.teeth_of(contact))
    arch = teeth.arch(sites.teeth_of(contact)[0])
    return [t for t in teeth.PERMANENT if teeth.arch(t) == arch and first < teeth.order(t) < second]


def gaps_with_crowding(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Open contacts between neighbours of an arch that is short of space."""
    for arch in sites.ARCHES:
        crowding = single(sheet, "crowding", arch)
        gaps = {c: v for c, v in _gaps(sheet, arch).items() if v and not _between(c)}
        total = sum(gaps.values(), ZERO)
        if crowding is not None and crowding >= CROWDED_FROM and total >= GAPS_FROM:
            yield hint(
                "gaps_with_crowding",
                ("crowding", "gap"),
                (arch, *gaps),
                f"{arch.capitalize()} arch: crowding {value_words('crowding', plain(crowding))}, and gaps of "
                f"{plain(total)} mm together ({listed(gaps, notation)}).",
                "An arch that is short of space seldom leaves that much between neighbours. Look again at the sign of "
                "the crowding and at the gaps.",
            )


def spaced_without_gaps(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """An arch recorded as spaced in which every contact was looked at and none is open."""
    for arch in sites.ARCHES:
        crowding = single(sheet, "crowding", arch)
        contacts = _contacts(sheet, arch)
        if crowding is None or crowding > -CROWDED_FROM or not contacts:
            continue
        if all(single(sheet, "gap", c) == 0 for c in contacts):
            yield hint(
                "spaced_without_gaps",
                ("crowding", "gap"),
                (arch,),
                f"{arch.capitalize()} arch: {value_words('crowding', plain(crowding))}, and no gap between the first molars.",
                "Space to spare mostly shows between the teeth. Look again at the sign of the crowding and at the gaps.",
            )


def gap_too_wide(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """A gap much wider than the missing or unerupted teeth that it lies over."""
    for arch in sites.ARCHES:
        for contact, gap in _gaps(sheet, arch).items():
            over = _between(contact)
            room = sum((MEAN_WIDTHS[t[0] in "12", teeth.number(t)] for t in over), ZERO)
            if gap - room <= GAP_TOO_WIDE:
                continue
            lies_over = f"the place of {listed(over, notation)}" if over else "no missing tooth"
            yield hint(
                "gap_too_wide",
                ("gap", "missing"),
                (contact, *over),
                f"The gap at {listed((contact,), notation)} is {mm(gap)} wide and lies over {lies_over}.",
                "It has room for more than stands there by the sheet. Look again at the gap, and whether a tooth is "
                "missing that is not recorded.",
                *((LIMITS, "widths_1957") if over else (LIMITS,)),
            )


CHECKS = (crowding_against_space, gaps_with_crowding, spaced_without_gaps, gap_too_wide)
