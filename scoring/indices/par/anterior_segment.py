"""The front segment of one arch: its contacts, and the teeth that cannot come through."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.components import amount
from scoring.front_contacts import front_contacts, place_round
from scoring.hits import Ask, Hit, Missing, Tally
from scoring.measured_shapes import Bands
from scoring.named_bands import DerivedBands
from scoring.shapes import ZERO, Choice, Said

FRONT_PLACES: dict[str, tuple[str, ...]] = {
    "upper": teeth.UPPER_FRONT,
    "lower": ("43", "42", "41", "31", "32", "33"),
}
KEPT_SPACE_COUNTS_UNDER = Decimal(4)


def closing_over(sheet: Sheet, tooth: str) -> str:
    """The contact that closes over a tooth that does not stand; empty where none does."""
    if tooth in sheet.standing:
        return ""
    here = place_round(sheet, tooth)
    for contact in sheet.contacts[teeth.arch(tooth)]:
        if place_round(sheet, contact[:2]) < here < place_round(sheet, contact[3:]):
            return contact
    return ""


def plan_of(sheet: Sheet, contact: str) -> Finding | None:
    """What becomes of a gap: said at the contact itself, or at one with a tooth that closes up in it."""
    plans = sheet.by_quantity.get("gap_plan", {})
    if contact in plans:
        return plans[contact]
    start, end = (place_round(sheet, tooth) for tooth in sites.teeth_of(contact))
    for site, finding in sorted(plans.items()):
        ends = sites.teeth_of(site)
        if teeth.arch(ends[0]) == teeth.arch(contact[:2]) and all(
            start <= place_round(sheet, t) <= end for t in ends
        ):
            return finding
    return None


class _Displacement(NamedTuple):
    """One contact: the findings of its own that were read, the displacement in mm, and what nobody recorded."""

    findings: tuple[Finding, ...]
    value: Decimal
    lacking: tuple[str, ...]


@dataclass(frozen=True)
class AnteriorSegment:
    """Displacements of the contacts from canine to canine, and 5 points for every impacted tooth.

    A space counts where it will be closed, and under 4 mm also where it is kept.  With `larger` the
    larger of space and offset counts, else the straight distance between the contact points.
    """

    category: str
    arch: teeth.Arch
    displacement: DerivedBands
    impaction: Choice
    room: Bands
    zone: Bands
    with_primary: Said
    larger: bool
    revision: str = "2"

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        impacted = self._impactions(sheet)
        closed = self._closed(sheet, impacted)
        contacts = front_contacts(sheet, self.arch)
        for contact in contacts:
            self._contact(sheet, contact, closed.get(contact, ""), tally)
        tally.hits += impacted
        for quantity in ("contact_offset", "gap"):
            for finding in _stated(sheet, quantity, contacts):
                tally.hits.append(Hit(finding.site, (finding,), self.displacement, ZERO, ZERO))
        for finding in _stated(sheet, "impacted", FRONT_PLACES[self.arch]):
            tally.hits.append(Hit(finding.site, (finding,), self.impaction, "none", ZERO, counts=False))
        return tally

    def _contact(self, sheet: Sheet, contact: str, beaten_by: str, tally: Tally) -> None:
        read = self._displacement(sheet, contact)
        if any(teeth.is_primary(t) for t in sites.teeth_of(contact)):
            if read.findings:
                tally.hits.append(Hit(contact, read.findings, self.with_primary, None, ZERO))
            return
        if read.findings:
            points = self.displacement.points(read.value)
            tally.hits.append(Hit(contact, read.findings, self.displacement, read.value, points, beaten_by))
        if not beaten_by:
            tally.missing += [Missing(quantity, (contact,), self.category) for quantity in read.lacking]

    def _displacement(self, sheet: Sheet, contact: str) -> _Displacement:
        offset, gap = (
            sheet.at(quantity, contact) or sheet.statement_over(quantity, contact)
            for quantity in ("contact_offset", "gap")
        )
        aside = ZERO if offset is None else amount(offset)
        apart = ZERO if gap is None else amount(gap)
        plan = plan_of(sheet, contact) if apart else None
        lacking = [q for q, found in (("contact_offset", offset), ("gap", gap)) if found is None]
        if apart and (plan is None or plan.value == "unknown"):
            lacking.append("gap_plan")
        if apart >= KEPT_SPACE_COUNTS_UNDER and (plan is None or plan.value != "close"):
            apart = ZERO
        # the root is rounded correctly, so it lies on a limit only where the squares do
        value = max(aside, apart) if self.larger else (aside * aside + apart * apart).sqrt()
        singles = (f for f in (offset, gap, plan) if f is not None and not f.is_statement)
        return _Displacement(tuple(singles), value, tuple(lacking))

    def _impactions(self, sheet: Sheet) -> list[Hit]:
        """What says that front teeth are impacted, 5 points once a tooth."""
        found: list[Hit] = []
        for tooth in FRONT_PLACES[self.arch]:
            signs = list(self._signs(sheet, tooth))
            best = max(signs, key=lambda h: h.raw, default=None)
            for hit in signs:
                if best is not None and hit is not best and hit.raw:
                    hit = hit._replace(beaten_by=f"{best.findings[0].quantity} {best.site}")
                found.append(hit._replace(counts=hit.raw > 0))
        return found

    def _signs(self, sheet: Sheet, tooth: str) -> Iterator[Hit]:
        impacted = sheet.at("impacted", tooth)
        if impacted is not None:
            points = self.impaction.points(impacted.value)
            yield Hit(tooth, (impacted,), self.impaction, impacted.value, points)
        if tooth not in sheet.unerupted:
            return
        room = sheet.at("eruption_space", tooth)
        if room is not None:
            yield Hit(tooth, (room,), self.room, room.number, self.room.points(room.number))
        zone = sheet.at("support_zone", _zone_of(tooth)) if teeth.number(tooth) == 3 else None
        if zone is not None:
            yield Hit(tooth, (zone,), self.zone, zone.number, self.zone.points(zone.number))

    def _closed(self, sheet: Sheet, impacted: list[Hit]) -> dict[str, str]:
        """Contacts in whose place an impaction scores, with what beats them."""
        scoring = ((closing_over(sheet, h.site), h) for h in impacted if h.points)
        return {contact: f"{h.findings[0].quantity} {h.site}" for contact, h in scoring if contact}

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        closed = self._closed(sheet, self._impactions(sheet))
        contacts = tuple(
            c
            for c in front_contacts(sheet, self.arch)
            if c not in closed and not any(teeth.is_primary(t) for t in sites.teeth_of(c))
        )
        yield Ask("contact_offset", contacts)
        yield Ask("gap", contacts)
        gaps = sheet.by_quantity.get("gap", {})
        open_ = tuple(c for c in contacts if c in gaps and amount(gaps[c]) > 0)
        yield Ask("gap_plan", open_ or contacts, needed=bool(open_))
        yield Ask("impacted", ("mouth",), needed=False)
        buried = tuple(t for t in FRONT_PLACES[self.arch] if t in sheet.unerupted)
        if buried:
            yield Ask("eruption_space", buried, needed=False)
        canines = tuple(_zone_of(t) for t in buried if teeth.number(t) == 3)
        if canines:
            yield Ask("support_zone", canines, needed=False)


def _zone_of(canine: str) -> str:
    return f"{teeth.arch(canine)}-{teeth.side(canine)}-back"


def _stated(sheet: Sheet, quantity: str, wanted: tuple[str, ...]) -> list[Finding]:
    """Statements of a quantity that speak of at least one of the wanted sites."""
    return [
        f
        for f in sheet.statements(quantity)
        if any(
            sites.inside(f.site, s) or any(sites.tooth_in(f.site, t) for t in sites.teeth_of(s))
            for s in wanted
        )
    ]
