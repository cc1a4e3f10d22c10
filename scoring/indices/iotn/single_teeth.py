"""Letters about teeth that are not in their place: i, h, p, s, t and x."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.components import uncovered_regions
from scoring.hits import Convention, Hit
from scoring.indices.iotn.grades import GradeBands, GradeChoice
from scoring.indices.iotn.letters import Read, Want, code_at_mouth
from scoring.indices.iotn.rules import (
    CANNOT_BE_TOLD,
    NO_SUCCESSOR,
    NOT_UNERUPTED,
    PRIMARY_MISSING,
    SETTLED,
    THIRD_MOLAR,
)
from scoring.shapes import ZERO, Rule, Said

MOUTH = ("mouth",)
SUPPORTED = frozenset("345")
"""Canine and premolars, which the support zone is room for."""


def graded(site: str, findings: tuple[Finding, ...], rule: Rule, code: str) -> Hit:
    """A hit whose value is a code of its rule."""
    return Hit(site, findings, rule, code, rule.points(code))


def told(site: str, finding: Finding, rule: Said, *, counts: bool = True) -> Hit:
    """A finding that is read and by its rule gives nothing."""
    return Hit(site, (finding,), rule, None, ZERO, counts=counts)


def unerupted(sheet: Sheet) -> list[str]:
    """Unerupted permanent teeth but third molars, in reading order."""
    return [t for t in teeth.in_order(sheet.unerupted) if t not in teeth.THIRD_MOLARS]


@dataclass(frozen=True)
class Impeded:
    """i: teeth that cannot erupt.  `impacted` must be looked at; the rest is evidence where it is recorded."""

    impeded: GradeChoice
    space: GradeBands
    zones: tuple[tuple[str, GradeBands], ...]
    not_unerupted: Said = NOT_UNERUPTED
    third_molar: Said = THIRD_MOLAR
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        waiting = frozenset(unerupted(sheet))
        hits = [
            *self._impacted(sheet, waiting),
            *self._beside(sheet, waiting),
            *self._spaces(sheet, waiting),
            *self._zones(sheet, waiting),
        ]
        return Read(hits, [])

    def _impacted(self, sheet: Sheet, waiting: frozenset[str]) -> Iterator[Hit]:
        for finding in sheet.by_quantity.get("impacted", {}).values():
            tooth = finding.site
            if finding.is_statement:
                yield graded(tooth, (finding,), self.impeded, "none")
            elif finding.value == "yes":
                if tooth in teeth.THIRD_MOLARS:
                    yield told(tooth, finding, self.third_molar)
                else:
                    yield graded(tooth, (finding,), self.impeded, "yes")
            elif finding.value == "supernumerary" and teeth.place(tooth) in waiting:
                yield graded(teeth.place(tooth), (finding,), self.impeded, "supernumerary")

    def _beside(self, sheet: Sheet, waiting: frozenset[str]) -> Iterator[Hit]:
        for finding in sheet.singles("supernumerary"):
            if teeth.place(finding.site) in waiting:
                yield graded(teeth.place(finding.site), (finding,), self.impeded, "supernumerary")
        for finding in sheet.by_quantity.get("retained_primary", {}).values():
            if finding.is_statement:
                yield graded(finding.site, (finding,), self.impeded, "none")
            elif finding.value == "overdue":
                if teeth.place(finding.site) in waiting:
                    yield graded(teeth.place(finding.site), (finding,), self.impeded, "overdue")
                else:
                    yield told(finding.site, finding, self.not_unerupted)

    def _spaces(self, sheet: Sheet, waiting: frozenset[str]) -> Iterator[Hit]:
        for finding in sheet.singles("eruption_space"):
            if finding.site in waiting:
                space = finding.number
                yield Hit(finding.site, (finding,), self.space, space, self.space.points(space))
            else:
                third = finding.site in teeth.THIRD_MOLARS
                yield told(finding.site, finding, self.third_molar if third else self.not_unerupted)

    def _zones(self, sheet: Sheet, waiting: frozenset[str]) -> Iterator[Hit]:
        rules = dict(self.zones)
        for finding in sheet.singles("support_zone"):
            held = _in_zone(finding.site, waiting)
            if held:
                rule = rules[finding.site.split("-")[0]]
                yield Hit(held[0], (finding,), rule, finding.number, rule.points(finding.number))
            else:
                yield told(finding.site, finding, self.not_unerupted)

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        waiting = unerupted(sheet)
        yield Want("impacted", MOUTH, uncovered_regions(sheet, "impacted"), 5)
        yield Want("eruption", MOUTH, (), 0)
        yield Want("retained_primary", MOUTH, (), 0)
        if waiting:
            yield Want("eruption_space", tuple(waiting), (), 0)
        zones = tuple(z for z in sites.BACK_SEGMENTS if _in_zone(z, waiting))
        if zones:
            yield Want("support_zone", zones, (), 0)


def _in_zone(segment: str, waiting: list[str] | frozenset[str]) -> list[str]:
    """Unerupted canine and premolars of a back segment's side and arch, nearest the midline first."""
    arch, side, _ = segment.split("-")
    held = (t for t in waiting if teeth.arch(t) == arch and teeth.side(t) == side and t[1] in SUPPORTED)
    return sorted(held, key=teeth.nearest_midline_first)


@dataclass(frozen=True)
class NeverFormed:
    """h: permanent teeth that never formed, counted in each quadrant."""

    rule: GradeChoice
    third_molar: Said = THIRD_MOLAR
    primary: Said = PRIMARY_MISSING
    no_successor: Said = NO_SUCCESSOR
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        hits: list[Hit] = []
        conventions: list[Convention] = []
        by_quadrant: dict[str, list[Finding]] = defaultdict(list)
        for finding in sheet.by_quantity.get("missing", {}).values():
            tooth = finding.site
            if finding.is_statement:
                hits.append(graded(tooth, (finding,), self.rule, "none"))
            elif tooth in teeth.THIRD_MOLARS:
                hits.append(told(tooth, finding, self.third_molar))
            elif teeth.is_primary(tooth):
                hits.append(told(tooth, finding, self.primary))
            elif finding.value == "congenital":
                by_quadrant[tooth[0]].append(finding)
            else:
                hits.append(graded(tooth, (finding,), self.rule, finding.value))
                if finding.value == "unknown":
                    taken = "not counted as never formed"
                    conventions.append(Convention("missing", tooth, taken, cite(SETTLED.source)))
        for findings in by_quadrant.values():
            findings.sort(key=lambda f: teeth.number(f.site))
            code = "one" if len(findings) == 1 else "several"
            hits.append(graded(findings[0].site, tuple(findings), self.rule, code))
        hits += (
            told(f.site, f, self.no_successor)
            for f in sheet.singles("retained_primary")
            if f.value == "no_successor"
        )
        return Read(hits, conventions)

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        yield Want("missing", MOUTH, uncovered_regions(sheet, "missing"), 5)


@dataclass(frozen=True)
class Cleft:
    """p: a cleft or a craniofacial anomaly; the one letter with a meaning in the primary dentition."""

    rule: GradeChoice
    cannot_be_told: Said = CANNOT_BE_TOLD

    def read(self, sheet: Sheet) -> Read:
        finding, code = code_at_mouth(sheet, "cleft_or_syndrome")
        if finding is None:
            return Read([], [])
        if code == "unknown":
            return Read([told("mouth", finding, self.cannot_be_told, counts=False)], [])
        return Read([graded("mouth", (finding,), self.rule, code)], [])

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        _, code = code_at_mouth(sheet, "cleft_or_syndrome")
        yield Want("cleft_or_syndrome", MOUTH, MOUTH if code in ("", "unknown") else (), 5)


@dataclass(frozen=True)
class Submerged:
    """s: primary teeth far below the level; waited for only while primary teeth stand."""

    rule: GradeChoice
    revision: str = "1"

    def read(self, sheet: Sheet) -> Read:
        found = sheet.by_quantity.get("submerged", {}).values()
        return Read(
            [graded(f.site, (f,), self.rule, "none" if f.is_statement else f.value) for f in found], []
        )

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        found = sheet.by_quantity.get("submerged", {})
        primary = [t for t in sheet.standing if teeth.is_primary(t)]
        if any(t not in found and sheet.statement_over("submerged", t) is None for t in primary):
            yield Want("submerged", MOUTH, uncovered_regions(sheet, "submerged"), 5)
        else:
            yield Want("submerged", MOUTH, (), 5 if primary else 0)


@dataclass(frozen=True)
class Tipped:
    """t: partly erupted teeth held against a neighbour; the statement that none is impacted stands under i."""

    rule: GradeChoice
    third_molar: Said = THIRD_MOLAR

    def read(self, sheet: Sheet) -> Read:
        hits = []
        for finding in sheet.singles("impacted"):
            if finding.value == "tipped":
                if finding.site in teeth.THIRD_MOLARS:
                    hits.append(told(finding.site, finding, self.third_molar))
                else:
                    hits.append(graded(finding.site, (finding,), self.rule, "tipped"))
        return Read(hits, [])

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        yield Want("impacted", MOUTH, uncovered_regions(sheet, "impacted"), 4)


@dataclass(frozen=True)
class ExtraTeeth:
    """x: extra teeth, also those that are themselves impacted, but for impactions beside third molars."""

    rule: GradeChoice
    third_molar: Said = THIRD_MOLAR
    revision: str = "2"

    def read(self, sheet: Sheet) -> Read:
        found = sheet.by_quantity.get("supernumerary", {})
        hits = [graded(f.site, (f,), self.rule, "none" if f.is_statement else "yes") for f in found.values()]
        for finding in sheet.singles("impacted"):
            if finding.value == "supernumerary" and finding.site not in found:
                if finding.site in teeth.THIRD_MOLARS:
                    hits.append(told(finding.site, finding, self.third_molar))
                else:
                    hits.append(graded(finding.site, (finding,), self.rule, "yes"))
        return Read(hits, [])

    def wants(self, sheet: Sheet) -> Iterator[Want]:
        yield Want("supernumerary", MOUTH, uncovered_regions(sheet, "supernumerary"), 4)
