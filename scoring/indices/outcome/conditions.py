"""Rows of the outcome evaluation: every tooth, contact or cusp of the mouth, with what is left out."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Convention, Hit, Missing, Tally
from scoring.indices.outcome.places import (
    PARTIAL,
    PRIMARY,
    SITES,
    THIRD_MOLAR,
    casts_only,
    kept_gaps,
    plans,
    scored_contacts,
    scored_teeth,
    why_left_out,
)
from scoring.measured_shapes import Bands
from scoring.shapes import ZERO, Choice, Said


@dataclass(frozen=True)
class LeftOut:
    """What is said of a finding that is recorded at a tooth that is not scored."""

    third_molar: Said
    primary: Said
    partial: Said

    def said(self, sheet: Sheet, site: str) -> Said | None:
        """The reason by the first tooth of a site that has one."""
        rules = {THIRD_MOLAR: self.third_molar, PRIMARY: self.primary, PARTIAL: self.partial}
        whys = (why_left_out(sheet, tooth) for tooth in sites.teeth_of(site))
        return next((rules[why] for why in whys if why), None)


@dataclass(frozen=True)
class EachSite:
    """Points lost at every site of a row, summed; each needs a value or a statement over it."""

    category: str
    quantity: str
    of: str
    """Which sites; a key of `places.SITES`."""
    rule: Bands
    left_out: LeftOut
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        return self.over(sheet, SITES[self.of](sheet))

    def over(self, sheet: Sheet, needed: tuple[str, ...], also: tuple[str, ...] = ()) -> Tally:
        """The row over the sites it needs and over others that score only because they are recorded."""
        found = sheet.by_quantity.get(self.quantity, {})
        scored = (*needed, *also)
        tally = Tally()
        for site in scored:
            finding = found.get(site)
            if finding is not None:
                value = Decimal(finding.value)
                tally.hits.append(Hit(site, (finding,), self.rule, value, self.rule.points(value)))
        if len(found) > len(tally.hits):
            tally.hits += unscored(sheet, self.quantity, frozenset(scored), self.left_out)
            for finding in sheet.statements(self.quantity):
                tally.hits.append(Hit(finding.site, (finding,), self.rule, ZERO, ZERO))
        lacking = not_covered(sheet, self.quantity, needed)
        if lacking:
            tally.missing.append(Missing(self.quantity, lacking, self.category))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask(self.quantity, SITES[self.of](sheet))


def unscored(sheet: Sheet, quantity: str, scored: frozenset[str], left_out: LeftOut) -> Iterator[Hit]:
    """Findings at teeth that are not scored, each with the reason."""
    for finding in in_order(f for f in sheet.singles(quantity) if f.site not in scored):
        said = left_out.said(sheet, finding.site)
        if said is not None:
            yield Hit(finding.site, (finding,), said, None, ZERO, counts=False)


def not_covered(sheet: Sheet, quantity: str, wanted: tuple[str, ...]) -> tuple[str, ...]:
    """Sites with neither a value nor a statement over them."""
    found = sheet.by_quantity.get(quantity, {})
    lacking = tuple(site for site in wanted if site not in found)
    if not lacking or any(f.site == "mouth" for f in sheet.statements(quantity)):
        return ()
    return tuple(site for site in lacking if sheet.statement_over(quantity, site) is None)


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of teeth, contacts or cusps in reading order, so that their order in a file is nothing."""

    def place(finding: Finding) -> tuple[bool, int, str]:
        tooth = sites.teeth_of(finding.site)[0]
        return teeth.arch(tooth) == "lower", teeth.order(tooth), finding.site

    return sorted(findings, key=place)


@dataclass(frozen=True)
class FunctionalCusps:
    """Gaps at functional cusps; a tooth loses `most` points at most.

    The greatest gaps of a tooth count first, the more mesial cusp before the other; a cusp for which
    nothing is left is beaten by the first of them.  Distal and distolingual cusps score when recorded.
    """

    row: EachSite
    most: Decimal

    @property
    def category(self) -> str:
        return self.row.category

    def tally(self, sheet: Sheet) -> Tally:
        asked = SITES[self.row.of](sheet)
        scored = frozenset(scored_teeth(sheet))
        others = (f for f in sheet.singles(self.row.quantity) if f.site not in asked)
        also = tuple(f.site for f in in_order(others) if f.site[:2] in scored)
        tally = self.row.over(sheet, asked, also)
        by_tooth: dict[str, list[Hit]] = {}
        for hit in tally.hits:
            if hit.raw:
                by_tooth.setdefault(hit.site[:2], []).append(hit)
        beaten = {site: by for hits in by_tooth.values() for site, by in self._beaten(hits)}
        tally.hits = [hit._replace(beaten_by=beaten.get(hit.site, "")) for hit in tally.hits]
        return tally

    def _beaten(self, hits: list[Hit]) -> Iterator[tuple[str, str]]:
        """Cusps of one tooth for which no points are left, and the one that took them."""
        hits.sort(key=lambda hit: (-hit.raw, sites.cusps(hit.site[:2]).index(hit.site[3:])))
        taken = ZERO
        for hit in hits:
            if taken >= self.most:
                yield hit.site, f"{self.row.quantity} {hits[0].site}"
            taken += hit.raw

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        return self.row.asks(sheet)


@dataclass(frozen=True)
class Relation:
    """Distance of each upper tooth from the position aimed at; the position itself gives no points."""

    row: EachSite
    target: Choice

    @property
    def category(self) -> str:
        return self.row.category

    def tally(self, sheet: Sheet) -> Tally:
        tally = self.row.tally(sheet)
        for side in sites.SIDES:
            finding = sheet.at("relation_target", side)
            if finding is not None:
                tally.hits.append(Hit(side, (finding,), self.target, finding.value, ZERO, counts=False))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield from self.row.asks(sheet)
        yield Ask("relation_target", sites.SIDES, needed=False)


@dataclass(frozen=True)
class Gaps:
    """Gaps between neighbours; one that is to be kept is left out."""

    row: EachSite
    kept: Said

    @property
    def category(self) -> str:
        return self.row.category

    def tally(self, sheet: Sheet) -> Tally:
        tally = self.row.tally(sheet)
        planned = plans(sheet) if "gap_plan" in sheet.by_quantity else {}
        if not planned:
            return tally
        kept = kept_gaps(sheet)
        for index, hit in enumerate(tally.hits):
            if hit.value is not None and hit.site in planned and hit.site not in kept:
                tally.hits[index] = hit._replace(findings=(*hit.findings, planned[hit.site]))
        tally.hits = [hit for hit in tally.hits if hit.site not in kept]
        found = sheet.by_quantity.get(self.row.quantity, {})
        for contact in kept:
            read = (found[contact], planned[contact]) if contact in found else (planned[contact],)
            tally.hits.append(Hit(contact, read, self.kept, None, ZERO, counts=False))
        tally.missing = [
            replaced
            for one in tally.missing
            if (replaced := one._replace(sites=tuple(s for s in one.sites if s not in kept))).sites
        ]
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        kept = frozenset(kept_gaps(sheet))
        contacts = scored_contacts(sheet)
        yield Ask(self.row.quantity, tuple(c for c in contacts if c not in kept))
        found = sheet.by_quantity.get(self.row.quantity, {})
        planned = plans(sheet)
        open_ = tuple(c for c in contacts if c in planned or (c in found and Decimal(found[c].value)))
        if open_:
            yield Ask("gap_plan", open_, needed=False)


@dataclass(frozen=True)
class Roots:
    """Direction of each root on a panoramic radiograph.

    Stated as not taken, the radiograph is no finding that is missing: the total is one of the casts
    only.  Beside roots that are recorded the statement says nothing, and the others are missing.
    """

    category: str
    of: str
    rule: Choice
    left_out: LeftOut
    canine: Said
    """Said of canines where the edition leaves them out."""
    not_taken: Said
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        wanted = SITES[self.of](sheet)
        found = sheet.by_quantity.get("root_angulation", {})
        tally = Tally()
        for finding in in_order(f for f in found.values() if sites.kind(f.site) == "tooth"):
            if finding.site in wanted:
                points = self.rule.points(finding.value)
                tally.hits.append(Hit(finding.site, (finding,), self.rule, finding.value, points))
            else:
                said = self.left_out.said(sheet, finding.site) or self.canine
                tally.hits.append(Hit(finding.site, (finding,), said, None, ZERO, counts=False))
        for finding in sheet.statements("root_angulation"):
            tally.hits.append(Hit(finding.site, (finding,), self.rule, "parallel", ZERO))
        stated = found.get("mouth")
        if stated is not None and stated.value == "not_taken":
            tally.hits.append(Hit("mouth", (stated,), self.not_taken, None, ZERO, counts=False))
        if casts_only(sheet):
            source = cite(self.not_taken.cited.source)
            tally.conventions.append(Convention("root_angulation", "mouth", "casts only", source))
            return tally
        lacking = not_covered(sheet, "root_angulation", wanted)
        if lacking:
            tally.missing.append(Missing("root_angulation", lacking, self.category))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("root_angulation", SITES[self.of](sheet))
