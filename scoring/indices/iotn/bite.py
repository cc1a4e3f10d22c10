"""Letters about how the arches meet: c, l, d, e, f and g."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.components import amount, standing_teeth
from scoring.front_contacts import front_contacts
from scoring.hits import Convention, Hit
from scoring.indices.iotn.front import CANINES, crossed_in_front, in_reverse
from scoring.indices.iotn.grades import GradeBands, GradeChoice
from scoring.indices.iotn.letters import Read, Want, code_at_mouth, say_nothing
from scoring.indices.iotn.rules import (
    CANNOT_BE_TOLD,
    CONTACT_ALONE,
    DEEP_FROM,
    ON_CASTS,
    PRIMARY_CONTACT,
    REST_LOOKED_AT,
    SHIFT_ALONE,
)
from scoring.indices.iotn.single_teeth import MOUTH, graded, told
from scoring.shapes import ZERO, Said

CROSSED_CODES = ("upper_inside", "upper_outside")


class Shift(NamedTuple):
    """The shift on closing: its findings, its code (empty, `unknown`, `told`) and its millimetres."""

    findings: tuple[Finding, ...]
    code: str
    millimetres: Decimal


def shift_of(sheet: Sheet) -> Shift:
    """What is known of the shift; the direction only goes along."""
    shift, code = code_at_mouth(sheet, "functional_shift")
    direction = sheet.at("shift_direction", "mouth")
    findings = tuple(f for f in (shift, direction) if f is not None)
    if shift is None or code == "unknown":
        return Shift(findings, code, ZERO)
    return Shift(findings, "told", amount(shift))


@dataclass(frozen=True)
class Crossbite:
    """c: crossbite behind or in front, graded by the shift between retruded and intercuspal contact."""

    by_shift: GradeBands
    across: tuple[tuple[int, GradeChoice], ...]
    front: tuple[tuple[int, GradeBands], ...]
    unknown: GradeChoice
    not_recorded: GradeChoice
    any_counts: bool
    shift_alone: Said = SHIFT_ALONE
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        shift = shift_of(sheet)
        grade = self._grade(shift)
        behind = self._behind(shift, grade)
        in_front = crossed_in_front(sheet, self.any_counts)
        hits = [self._crossed(f, "upper_inside", shift, grade) for f in in_front]
        for finding in sheet.by_quantity.get("crossbite", {}).values():
            if finding.value in CROSSED_CODES:
                hits.append(self._crossed(finding, finding.value, shift, grade))
            else:
                code = "none" if finding.is_statement else finding.value
                hits.append(graded(finding.site, (finding,), behind, code))
        found = any(h.raw for h in hits)
        hits += self._canines(sheet, grade)
        if not found:
            hits += (told("mouth", f, self.shift_alone) for f in shift.findings)
        taken = found and shift.code == "unknown"
        return Read(
            hits,
            [Convention("functional_shift", "mouth", "over 2 mm", cite(ON_CASTS.source))] if taken else [],
        )

    def _grade(self, shift: Shift) -> int:
        """What a crossbite comes to with this shift; without one recorded, at least."""
        return {"": 2, "unknown": 4}.get(shift.code) or int(self.by_shift.points(shift.millimetres))

    def _behind(self, shift: Shift, grade: int) -> GradeChoice:
        return {"": self.not_recorded, "unknown": self.unknown}.get(shift.code) or dict(self.across)[grade]

    def _crossed(self, finding: Finding, code: str, shift: Shift, grade: int) -> Hit:
        read = (finding, *shift.findings)
        if shift.code == "told":
            millimetres = shift.millimetres
            return Hit(finding.site, read, self.by_shift, millimetres, self.by_shift.points(millimetres))
        return graded(finding.site, read, self._behind(shift, grade), code)

    def _canines(self, sheet: Sheet, grade: int) -> Iterator[Hit]:
        """Canines that are not in reverse; incisors have their lines under overjet."""
        found = sheet.by_quantity.get("overjet", {})
        rule = dict(self.front)[grade]
        for tooth in standing_teeth(sheet, CANINES):
            if tooth in found and found[tooth].number >= 0:
                yield Hit(tooth, (found[tooth],), rule, found[tooth].number, ZERO)

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        shift = shift_of(sheet)
        best = 4 if shift.code != "told" else self._grade(shift)
        behind = tuple(standing_teeth(sheet, teeth.UPPER_BUCCAL))
        yield Want("crossbite", behind, say_nothing(sheet, "crossbite", behind), best)
        front = tuple(standing_teeth(sheet, CANINES if self.any_counts else teeth.UPPER_FRONT))
        open_ = self._front_may_cross(sheet)
        yield Want("overjet", front, say_nothing(sheet, "overjet", front), best if open_ else 0)
        crossed = bool(crossed_in_front(sheet, self.any_counts)) or any(
            f.value in CROSSED_CODES for f in sheet.singles("crossbite")
        )
        yield Want("functional_shift", MOUTH, () if shift.code else MOUTH, 4 if crossed else 0)
        yield Want("shift_direction", MOUTH, (), 0)

    def _front_may_cross(self, sheet: Sheet) -> bool:
        """Whether front teeth could still be graded here: not once a reverse overjet is sure to be graded."""
        if not in_reverse(sheet, self.any_counts):
            return True
        incisors = standing_teeth(sheet, teeth.UPPER_INCISORS)
        return not self.any_counts and bool(say_nothing(sheet, "overjet", incisors))


@dataclass(frozen=True)
class ScissorBite:
    """l: upper teeth outside without functional contact of their side."""

    rule: GradeChoice
    contact_alone: Said = CONTACT_ALONE
    cannot_be_told: Said = CANNOT_BE_TOLD
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        hits: list[Hit] = []
        for side in sites.SIDES:
            contact = sheet.at("buccal_contact", side)
            if contact is None:
                continue
            outside = self._outside(sheet, side)
            if contact.value == "unknown":
                hits.append(told(side, contact, self.cannot_be_told, counts=False))
            elif not outside:
                hits.append(told(side, contact, self.contact_alone))
            else:
                hits += (graded(f.site, (f, contact), self.rule, contact.value) for f in outside)
        return Read(hits, [])

    def _outside(self, sheet: Sheet, side: str) -> list[Finding]:
        listed = sheet.by_quantity.get("crossbite", {}).values()
        return [f for f in listed if f.value == "upper_outside" and teeth.side(f.site) == side]

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        contact = {side: self._contact(sheet, side) for side in sites.SIDES}
        behind = standing_teeth(sheet, teeth.UPPER_BUCCAL)
        held = tuple(t for t in behind if contact[teeth.side(t)] != "yes")
        yield Want("crossbite", held, say_nothing(sheet, "crossbite", held), 4)
        outside = tuple(side for side in sites.SIDES if self._outside(sheet, side))
        if outside:
            lacking = tuple(side for side in outside if contact[side] in ("", "unknown"))
            yield Want("buccal_contact", outside, lacking, 4)
        else:
            yield Want("buccal_contact", sites.SIDES, (), 0)

    def _contact(self, sheet: Sheet, side: str) -> str:
        finding = sheet.at("buccal_contact", side)
        return "" if finding is None else finding.value


@dataclass(frozen=True)
class Displacement:
    """d: the greatest faciolingual displacement of any contact between permanent teeth."""

    rule: GradeBands
    primary: Said = PRIMARY_CONTACT
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        hits = []
        for finding in sheet.by_quantity.get("contact_offset", {}).values():
            if any(teeth.is_primary(t) for t in sites.teeth_of(finding.site)):
                hits.append(told(finding.site, finding, self.primary))
            else:
                offset = amount(finding)
                hits.append(Hit(finding.site, (finding,), self.rule, offset, self.rule.points(offset)))
        return Read(hits, [])

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        wanted = tuple(
            c
            for arch in sites.ARCHES
            for c in front_contacts(sheet, arch)
            if not any(teeth.is_primary(t) for t in sites.teeth_of(c))
        )
        yield Want("contact_offset", wanted, say_nothing(sheet, "contact_offset", wanted), 4)


@dataclass(frozen=True)
class OpenBite:
    """e: the greatest open bite, in front or behind."""

    front: GradeBands
    behind: GradeBands
    rest: Said = REST_LOOKED_AT
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        hits = []
        found = sheet.by_quantity.get("overbite", {})
        for tooth in standing_teeth(sheet, teeth.UPPER_FRONT):
            if tooth not in found:
                continue
            value = found[tooth].number
            if value <= 0 or not _is_incisor(tooth):
                hits.append(Hit(tooth, (found[tooth],), self.front, value, self.front.points(value)))
        hits += (told(f.site, f, self.rest) for f in sheet.statements("overbite"))
        for finding in sheet.by_quantity.get("posterior_open_bite", {}).values():
            gap = amount(finding)
            hits.append(Hit(finding.site, (finding,), self.behind, gap, self.behind.points(gap)))
        return Read(hits, [])

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        front = tuple(standing_teeth(sheet, teeth.UPPER_FRONT))
        yield Want("overbite", front, say_nothing(sheet, "overbite", front), 4)
        behind = tuple(standing_teeth(sheet, teeth.UPPER_BUCCAL))
        lacking = say_nothing(sheet, "posterior_open_bite", behind)
        yield Want("posterior_open_bite", behind, lacking, 4)


def _is_incisor(tooth: str) -> bool:
    return teeth.number(tooth) <= 2


@dataclass(frozen=True)
class DeepBite:
    """f: contact of the lower incisors with gingiva or palate; without contact the overbite in mm."""

    contact: GradeChoice
    overbite: GradeBands
    cannot_be_told: Said = CANNOT_BE_TOLD
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        finding, code = code_at_mouth(sheet, "palatal_contact")
        hits = []
        if finding is not None and code == "unknown":
            hits.append(told("mouth", finding, self.cannot_be_told, counts=False))
        elif finding is not None:
            hits.append(graded("mouth", (finding,), self.contact, code))
        for overbite in self._overbites(sheet):
            value = overbite.number
            if value > 0:
                hits.append(
                    Hit(overbite.site, (overbite,), self.overbite, value, self.overbite.points(value))
                )
        return Read(hits, [])

    def _overbites(self, sheet: Sheet) -> list[Finding]:
        found = sheet.by_quantity.get("overbite", {})
        return [found[t] for t in standing_teeth(sheet, teeth.UPPER_INCISORS) if t in found]

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        incisors = tuple(standing_teeth(sheet, teeth.UPPER_INCISORS))
        lacking = say_nothing(sheet, "overbite", incisors)
        yield Want("overbite", incisors, lacking, 2)
        _, code = code_at_mouth(sheet, "palatal_contact")
        deep = bool(lacking) or any(f.number >= DEEP_FROM for f in self._overbites(sheet))
        yield Want("palatal_contact", MOUTH, MOUTH if code in ("", "unknown") else (), 4 if deep else 0)


@dataclass(frozen=True)
class Molars:
    """g: first molars off Class I on either side; fires only where nothing else does."""

    rule: GradeChoice
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        found = [f for side in sites.SIDES if (f := sheet.at("molar_relation", side)) is not None]
        return Read([graded(f.site, (f,), self.rule, f.value) for f in found], [])

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        lacking = tuple(s for s in sites.SIDES if sheet.at("molar_relation", s) is None)
        yield Want("molar_relation", sites.SIDES, lacking, 2)
