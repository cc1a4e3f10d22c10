"""Rows of PAR that read several teeth together: open bite and crossbite behind, overjet, centreline."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from portfolio import teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.components import WorstTooth, amount, standing_teeth
from scoring.front_and_sides import each_side, say_nothing_of
from scoring.hits import Ask, Hit, Missing, Tally
from scoring.measured_shapes import Bands
from scoring.named_bands import DerivedBands
from scoring.shapes import ZERO, Choice, Said

OPEN_BEHIND_OVER = Decimal(2)


@dataclass(frozen=True)
class BehindTheCanines:
    """The teeth behind the canines, each side for itself; erupting and submerged teeth are left out."""

    category: str
    rule: Bands | Choice
    erupting: Said
    submerged: Said

    quantity = ""

    def _value(self, read: list[Finding]) -> Decimal | str:
        raise NotImplementedError

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        found = sheet.by_quantity.get(self.quantity, {})
        for side, places in each_side(teeth.UPPER_BUCCAL):
            standing = standing_teeth(sheet, places)
            wanted = [t for t in standing if self._left_out(sheet, t) is None]
            read = [found[t] for t in wanted if t in found]
            if read:
                value = self._value(read)
                tally.hits.append(Hit(side, tuple(read), self.rule, value, self.rule.points(value)))
            for tooth in standing:
                said = self._left_out(sheet, tooth)
                if said is not None and tooth in found:
                    tally.hits.append(Hit(tooth, (found[tooth],), said, None, ZERO))
            lacking = say_nothing_of(sheet, self.quantity, wanted)
            if lacking:
                tally.missing.append(Missing(self.quantity, lacking, self.category))
        free = self._value([])
        for finding in sheet.statements(self.quantity):
            tally.hits.append(Hit(finding.site, (finding,), self.rule, free, ZERO))
        return tally

    def _left_out(self, sheet: Sheet, tooth: str) -> Said | None:
        if tooth in sheet.partly_erupted:
            return self.erupting
        sunk = sheet.at("submerged", tooth)
        return self.submerged if sunk is not None else None

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        standing = standing_teeth(sheet, teeth.UPPER_BUCCAL)
        yield Ask(self.quantity, tuple(t for t in standing if self._left_out(sheet, t) is None))


@dataclass(frozen=True)
class OpenBehind(BehindTheCanines):
    """How many teeth of a side are open by more than 2 mm."""

    revision: str = "1"
    quantity = "posterior_open_bite"

    def _value(self, read: list[Finding]) -> Decimal:
        return Decimal(sum(amount(f) > OPEN_BEHIND_OVER for f in read))


@dataclass(frozen=True)
class AcrossBehind(BehindTheCanines):
    """Crossbite and scissor bite of a side: of all that is found, what scores highest."""

    revision: str = "1"
    quantity = "crossbite"

    def _value(self, read: list[Finding]) -> str:
        values = [f.value for f in read]
        inside, outside = values.count("upper_inside"), values.count("upper_outside")
        found = ["one_tooth_inside" if inside == 1 else "more_teeth_inside"] if inside else []
        found += ["one_tooth_outside" if outside == 1 else "more_teeth_outside"] if outside else []
        found += ["edge"] if "edge" in values else []
        return max((*found, "none"), key=self.rule.points)


@dataclass(frozen=True)
class OverjetPart:
    """Positive overjet of the worst incisor, and the crossbite of the front teeth added to it."""

    category: str
    positive: Bands
    crossbite: Choice
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        tally = WorstTooth(self.category, "overjet", teeth.UPPER_INCISORS, self.positive).tally(sheet)
        front = standing_teeth(sheet, teeth.UPPER_FRONT)
        found = sheet.by_quantity.get("overjet", {})
        read = tuple(found[t] for t in front if t in found)
        if read:
            code = self._code(read)
            hit = Hit("upper", read, self.crossbite, code, self.crossbite.points(code))
            tally.hits.append(hit)
        lacking = say_nothing_of(sheet, "overjet", front)
        tally.missing = [Missing("overjet", lacking, self.category)] if lacking else []
        return tally

    def _code(self, read: tuple[Finding, ...]) -> str:
        reverse = sum(f.number < 0 for f in read)
        if reverse:
            return ("one_tooth_reverse", "two_teeth_reverse", "more_teeth_reverse")[min(reverse, 3) - 1]
        return "edge_to_edge" if any(f.number == 0 for f in read) else "none"

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("overjet", tuple(standing_teeth(sheet, teeth.UPPER_FRONT)))


@dataclass(frozen=True)
class Centreline:
    """Midlines against each other as a share of a lower incisor's width, seen or worked out.

    A share that was seen goes before one worked out from the millimetres and the mean width of 31 and 41.
    """

    category: str
    seen: Bands
    derived: DerivedBands
    without_widths: Said
    revision: str = "2"
    widths = ("41", "31")

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        share, offset = (sheet.at(q, "mouth") for q in ("midline_share", "midline_offset"))
        if share is not None:
            value = share.number
            tally.hits.append(Hit("mouth", (share,), self.seen, value, self.seen.points(value)))
        elif offset is None:
            tally.missing.append(Missing("midline_share", ("mouth",), self.category))
        elif not amount(offset):
            tally.hits.append(Hit("mouth", (offset,), self.derived, ZERO, self.derived.points(ZERO)))
        else:
            self._work_out(sheet, offset, tally)
        return tally

    def _work_out(self, sheet: Sheet, offset: Finding, tally: Tally) -> None:
        found = [f for f in (sheet.at("tooth_width", t) for t in self.widths) if f is not None]
        if len(found) == len(self.widths):
            value = 100 * abs(offset.number) * len(found) / sum(f.number for f in found)
            tally.hits.append(Hit("mouth", (offset, *found), self.derived, value, self.derived.points(value)))
            return
        tally.hits.append(Hit("mouth", (offset,), self.without_widths, None, ZERO))
        if any(t in sheet.missing_teeth for t in self.widths):
            # a width that can no longer be measured: only the share seen on the casts is left
            tally.missing.append(Missing("midline_share", ("mouth",), self.category))
        else:
            measured = {f.site for f in found}
            lacking = tuple(t for t in self.widths if t not in measured)
            tally.missing.append(Missing("tooth_width", lacking, self.category))

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        share, offset = (sheet.at(q, "mouth") for q in ("midline_share", "midline_offset"))
        derived = share is None and offset is not None
        if derived and offset is not None and amount(offset):
            if any(t in sheet.missing_teeth for t in self.widths):
                derived = False
            else:
                yield Ask("tooth_width", self.widths)
        yield Ask("midline_share", ("mouth",), needed=not derived)
        yield Ask("midline_offset", ("mouth",), needed=derived)
