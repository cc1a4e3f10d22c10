"""Space analysis of one arch: the length available less the widths it has to hold, in millimetres.

Between the mesial sides of the first molars.  Lecture slides on cast analysis (read); open readings: `reading.md`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.teeth import Arch
from scoring.components import amount
from scoring.hits import Ask, Component, Hit, Missing, Tally
from scoring.indices.space.prediction import INCISORS, PREDICTIONS, Prediction
from scoring.shapes import ZERO, Cited, Said

PUBLISHED = Cited("space_lectures", "read")
SETTLED = Cited("space_settled", "practice")

SEGMENT = Said("length available: one of four straight segments, added", PUBLISHED)
SEGMENT_ALONE = Said("left out: the four segments count only together", SETTLED)
ONE_PIECE = Said("length available: measured in one piece", PUBLISHED)
KEPT = Said("the gap is planned to be kept: taken off the length available", SETTLED)
NOT_KEPT = Said("no plan to keep the gap is recorded: nothing is taken off", SETTLED)
REQUIRED = Said("length required: the width of the tooth, taken off", PUBLISHED)
ADDS_NOTHING = Said("a missing tooth requires nothing", SETTLED)
REPLACED = Said("replaced by the prediction for canines and premolars of this arch", SETTLED)
ON_THIS_SIDE = Said(
    "length required: the width of the tooth, taken off; a prediction speaks of three teeth and this side lacks one",
    SETTLED,
)
NO_INCISOR = Said("no prediction: a lower incisor is missing; counts like not recorded", SETTLED)


def _row(arch: Arch) -> tuple[str, ...]:
    return tuple(t for t in teeth.PERMANENT if teeth.arch(t) == arch and teeth.number(t) <= 5)


PLACES: dict[Arch, tuple[str, ...]] = {"upper": _row("upper"), "lower": _row("lower")}
"""The places between the first molars, from the patient's right to left."""
SEGMENTS = {arch: tuple(s for s in sites.SEGMENTS if s.startswith(arch)) for arch in sites.ARCHES}


@dataclass(frozen=True)
class ArchSpace:
    """One arch.  Hits are signed millimetres, + available and − required: they sum to the discrepancy."""

    arch: Arch
    prediction: Prediction
    revision: str = "1"

    @property
    def category(self) -> str:
        return self.arch

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        self._available(sheet, tally)
        self._kept_gaps(sheet, tally)
        self._required(sheet, tally)
        return tally

    def _available(self, sheet: Sheet, tally: Tally) -> None:
        pieces = [f for s in SEGMENTS[self.arch] if (f := sheet.at("arch_segment", s))]
        whole = sheet.at("arch_available", self.arch)
        together = len(pieces) == len(SEGMENTS[self.arch])
        for piece in pieces:
            rule, length = (SEGMENT, piece.number) if together else (SEGMENT_ALONE, ZERO)
            tally.hits.append(Hit(piece.site, (piece,), rule, None, length, counts=together))
        if whole is not None:
            beaten_by = f"arch_segment {self.arch}" if together else ""
            tally.hits.append(Hit(self.arch, (whole,), ONE_PIECE, None, whole.number, beaten_by))
        if whole is None and not together:
            tally.missing.append(Missing("arch_available", (self.arch,), self.category))

    def _kept_gaps(self, sheet: Sheet, tally: Tally) -> None:
        for contact, plans in plans_between_molars(sheet, self.arch).items():
            keep = next((p for p in plans if p.value == "keep"), None)
            if keep is None:
                tally.hits += (Hit(p.site, (p,), NOT_KEPT, None, ZERO) for p in plans)
                continue
            gap = sheet.at("gap", contact) or sheet.statement_over("gap", contact)
            if gap is None:
                tally.missing.append(Missing("gap", (contact,), self.category))
            else:
                tally.hits.append(Hit(contact, (keep, gap), KEPT, None, -amount(gap)))

    def _required(self, sheet: Sheet, tally: Tally) -> None:
        wanted = self.measured(sheet)
        widths = sheet.by_quantity.get("tooth_width", {})
        predicts = self.predicts(sheet)
        lacking = [t for t in wanted if t not in widths]
        for place in PLACES[self.arch]:
            gone = sheet.at("missing", place)
            if gone is not None:
                tally.hits.append(Hit(place, (gone,), ADDS_NOTHING, None, ZERO))
        for tooth in teeth.in_order(t for t in widths if self._between_molars(t)):
            finding = widths[tooth]
            if tooth in wanted:
                by_itself = predicts and teeth.number(tooth) > 2
                rule = ON_THIS_SIDE if by_itself else REQUIRED
                tally.hits.append(Hit(tooth, (finding,), rule, None, -finding.number))
            elif predicts and teeth.number(tooth) > 2:
                tally.hits.append(Hit(tooth, (finding,), REPLACED, None, ZERO))
        if lacking:
            tally.missing.append(Missing("tooth_width", tuple(lacking), self.category))
        if predicts:
            self._predicted(sheet, tally)

    def _between_molars(self, tooth: str) -> bool:
        return teeth.arch(tooth) == self.arch and teeth.number(tooth) <= 5

    def _predicted(self, sheet: Sheet, tally: Tally) -> None:
        sides = [side for side in sites.SIDES if not self._lacks_one(sheet, side)]
        if not sides:
            return
        read = tuple(f for t in INCISORS if (f := sheet.at("tooth_width", t)))
        lacking = tuple(t for t in INCISORS if sheet.at("tooth_width", t) is None)
        if lacking:
            gone = tuple(f for t in lacking if (f := sheet.at("missing", t)))
            if gone:
                tally.hits.append(Hit(self.arch, gone, NO_INCISOR, None, ZERO, counts=False))
            tally.missing.append(Missing("tooth_width", lacking, self.category))
            return
        total = sum((f.number for f in read), ZERO)
        rule = Said(self.prediction.words(self.arch, total), self.prediction.cited)
        width = self.prediction.per_side(self.arch, total)
        if width is None:
            tally.hits.append(Hit(self.arch, read, rule, None, ZERO, counts=False))
            tally.missing.append(Missing("tooth_width", INCISORS, self.category))
        else:
            tally.hits += (Hit(f"{self.arch}-{side}-back", read, rule, None, -width) for side in sides)

    def predicts(self, sheet: Sheet) -> bool:
        """Whether a canine or premolar of this arch has not erupted."""
        return any(t in sheet.unerupted for t in PLACES[self.arch] if teeth.number(t) > 2)

    def _lacks_one(self, sheet: Sheet, side: str) -> bool:
        """Whether canine or a premolar of a side is missing, so that no prediction speaks of the rest."""
        return any(
            t in sheet.missing_teeth
            for t in PLACES[self.arch]
            if teeth.side(t) == side and teeth.number(t) > 2
        )

    def measured(self, sheet: Sheet) -> tuple[str, ...]:
        """The teeth whose own widths are required: the permanent tooth of each place, or, where it is
        missing, the primary tooth that still stands there."""
        predicts = self.predicts(sheet)
        found: list[str] = []
        for place in PLACES[self.arch]:
            if predicts and teeth.number(place) > 2 and not self._lacks_one(sheet, teeth.side(place)):
                continue
            tooth = sheet.holder(place) if place in sheet.missing_teeth else place
            if tooth is not None:
                found.append(tooth)
        return tuple(found)

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        pieces = SEGMENTS[self.arch]
        together = all(sheet.at("arch_segment", s) for s in pieces)
        yield Ask("arch_available", (self.arch,), needed=not together)
        yield Ask("arch_segment", pieces, needed=False)
        wanted = self.measured(sheet)
        if self.predicts(sheet):
            wanted += tuple(t for t in INCISORS if t not in sheet.missing_teeth)
        yield Ask("tooth_width", tuple(dict.fromkeys(wanted)))
        contacts = tuple(c for c in sheet.contacts[self.arch] if between_molars(c))
        yield Ask("gap_plan", contacts, needed=False)
        planned = plans_between_molars(sheet, self.arch)
        kept = tuple(c for c, plans in planned.items() if any(p.value == "keep" for p in plans))
        if kept:
            yield Ask("gap", kept)


def between_molars(contact: str) -> bool:
    """Whether a contact lies between the mesial sides of the first molars."""
    return all(teeth.number(t) <= 6 for t in sites.teeth_of(contact))


def plans_between_molars(sheet: Sheet, arch: str) -> dict[str, list[Finding]]:
    """Contact of standing neighbours → what is planned for its gap, from the patient's right to left.

    A plan may name the place of a tooth that is missing; it is then about the gap that lies over it.
    """
    found: dict[str, list[Finding]] = {}
    plans = [f for f in sheet.singles("gap_plan") if teeth.arch(f.site[:2]) == arch]
    for plan in sorted(plans, key=lambda f: (teeth.order(f.site[:2]), teeth.order(f.site[3:]))):
        contact = plan.site if plan.site in sheet.contacts[arch] else _over(sheet, arch, plan.site)
        if contact is not None and between_molars(contact):
            found.setdefault(contact, []).append(plan)
    return found


def _over(sheet: Sheet, arch: str, site: str) -> str | None:
    first, second = (teeth.order(t) for t in sites.teeth_of(site))
    row = sheet.rounds[arch]
    before = [t for t in row if teeth.order(t) <= first]
    after = [t for t in row if teeth.order(t) >= second]
    contact = f"{before[-1]}-{after[0]}" if before and after else ""
    return contact if contact in sheet.contacts[arch] else None


@lru_cache
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """Both arches under the prediction in force."""
    prediction = PREDICTIONS[dict(choices)["prediction"]]
    return (ArchSpace("upper", prediction), ArchSpace("lower", prediction))


def millimetres(hits: list[Hit], *quantities: str) -> Decimal:
    """The sum of the hits that were read from some quantities, beaten ones left out."""
    return sum((h.points for h in hits if h.findings[0].quantity in quantities), ZERO)
