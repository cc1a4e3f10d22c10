"""Ways in which a row of a form reads a sheet: one value, the worst of several, each tooth, each side."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Convention, Hit, Missing, Tally
from scoring.shapes import ZERO, Cited, Rule, Said, Value

PRACTICE = Cited("practice", "practice")
SETTLED = Cited("di_settled", "practice")
REST_LOOKED_AT = Said("the teeth not listed were looked at: none worse", PRACTICE)
CANNOT_BE_TOLD = Said("looked for and cannot be told: counts like not recorded", SETTLED)


def amount(finding: Finding) -> Decimal:
    """The number of a finding; `none` stands for 0."""
    return ZERO if finding.value in ("none", "rest_none") else Decimal(finding.value)


def standing_teeth(sheet: Sheet, places: Iterable[str]) -> list[str]:
    """The teeth that hold the given places, permanent or primary, in the order given."""
    held = (sheet.holder(place) for place in places)
    return [tooth for tooth in held if tooth]


@dataclass(frozen=True)
class Exclusion:
    """Teeth that a row leaves out, and the rule that says so."""

    of: str
    rule: Said

    def holds(self, sheet: Sheet, tooth: str) -> bool:
        match self.of:
            case "not_fully_erupted":
                return tooth in sheet.partly_erupted
            case "blocked_out":
                return tooth in sheet.blocked_out
            case "third_molars":
                return tooth in teeth.THIRD_MOLARS
        raise ValueError(self.of)


def _left_out(exclusions: tuple[Exclusion, ...], sheet: Sheet, tooth: str) -> Said | None:
    return next((e.rule for e in exclusions if e.holds(sheet, tooth)), None)


@dataclass(frozen=True)
class EachTooth:
    """Points for every tooth of a row, summed; `free` is the value a region statement stands for."""

    category: str
    quantity: str
    places: tuple[str, ...]
    rule: Rule
    free: Value | None
    leaves_out: tuple[Exclusion, ...] = ()
    rest: Rule = REST_LOOKED_AT

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        found = sheet.by_quantity.get(self.quantity, {})
        lacking: list[str] = []
        for tooth in standing_teeth(sheet, self.places):
            finding = found.get(tooth)
            left_out = _left_out(self.leaves_out, sheet, tooth)
            if left_out is not None:
                if finding is not None:
                    tally.hits.append(Hit(tooth, (finding,), left_out, None, ZERO))
            elif finding is None:
                if sheet.statement_over(self.quantity, tooth) is None:
                    lacking.append(tooth)
            else:
                value = finding.value if isinstance(self.free, str) else Decimal(finding.value)
                tally.hits.append(Hit(tooth, (finding,), self.rule, value, self.rule.points(value)))
        for finding in sheet.statements(self.quantity):
            rule = self.rest if self.free is None else self.rule
            tally.hits.append(Hit(finding.site, (finding,), rule, self.free, ZERO))
        if lacking:
            tally.missing.append(Missing(self.quantity, tuple(lacking), self.category))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        wanted = (t for t in standing_teeth(sheet, self.places) if not _left_out(self.leaves_out, sheet, t))
        yield Ask(self.quantity, tuple(wanted))


@dataclass(frozen=True)
class WorstTooth:
    """The greatest value of a row of teeth scores once, or a rival finding that scores more.

    Rivals are quantities of the whole mouth with a rule each; when the greatest value is over
    `rivals_from`, one of them must be recorded.
    """

    category: str
    quantity: str
    places: tuple[str, ...]
    rule: Rule
    leaves_out: tuple[Exclusion, ...] = ()
    rivals: tuple[tuple[str, Rule], ...] = ()
    rivals_from: Decimal | None = None

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        row = EachTooth(self.category, self.quantity, self.places, self.rule, None, self.leaves_out).tally(
            sheet
        )
        tally.missing = row.missing
        worst = self._worst(row.hits)
        rivals, told = self._rivals(sheet)
        best = max((h for h in rivals if h.counts), key=lambda h: h.raw, default=None)
        rival_wins = worst is None or (best is not None and best.raw > worst.raw)
        winner = best if rival_wins else worst
        tally.hits = [_against(h, winner, self.quantity) for h in row.hits] + [
            _against(h, winner, h.findings[0].quantity) for h in rivals
        ]
        greatest = worst.value if worst is not None else None
        if (
            isinstance(greatest, Decimal)
            and self.rivals_from is not None
            and greatest > self.rivals_from
            and not told
        ):
            tally.missing.append(Missing(self.rivals[0][0], ("mouth",), self.category))
        return tally

    def _worst(self, hits: list[Hit]) -> Hit | None:
        values = [h for h in hits if isinstance(h.value, Decimal)]
        values.sort(key=lambda h: teeth.nearest_midline_first(h.site))
        return max(values, key=lambda h: h.value if isinstance(h.value, Decimal) else ZERO, default=None)

    def _rivals(self, sheet: Sheet) -> tuple[list[Hit], bool]:
        hits: list[Hit] = []
        for quantity, rule in self.rivals:
            finding = sheet.at(quantity, "mouth")
            if finding is None:
                continue
            if finding.value == "unknown":
                hits.append(Hit("mouth", (finding,), CANNOT_BE_TOLD, None, ZERO, counts=False))
                continue
            value: Value = finding.value if rule_takes_codes(rule) else Decimal(finding.value)
            hits.append(Hit("mouth", (finding,), rule, value, rule.points(value)))
        return hits, any(h.counts for h in hits)

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        wanted = (t for t in standing_teeth(sheet, self.places) if not _left_out(self.leaves_out, sheet, t))
        yield Ask(self.quantity, tuple(wanted))
        for quantity, _ in self.rivals:
            yield Ask(quantity, ("mouth",), needed=False)


def rule_takes_codes(rule: Rule) -> bool:
    """Whether a rule reads codes rather than numbers."""
    return hasattr(rule, "table")


def _against(hit: Hit, winner: Hit | None, quantity: str) -> Hit:
    if winner is None or hit is winner or hit.value is None:
        return hit
    return hit._replace(beaten_by=f"{winner.findings[0].quantity} {winner.site}")


@dataclass(frozen=True)
class WorstSite:
    """The greatest of several sites scores once, such as the more crowded arch; all sites are needed."""

    category: str
    readings: tuple[tuple[str, str], ...]
    """Quantity and site of each, in the order that settles ties."""
    rule: Rule
    by_absolute: bool = False

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        hits: list[Hit] = []
        for quantity, site in self.readings:
            finding = sheet.at(quantity, site) or sheet.statement_over(quantity, site)
            if finding is None:
                tally.missing.append(Missing(quantity, (site,), self.category))
            else:
                value = amount(finding)
                hits.append(Hit(site, (finding,), self.rule, value, self.rule.points(value)))
        winner = max(hits, key=lambda h: self._size(h.value), default=None)
        tally.hits = [_against(h, winner, "") for h in hits]
        return tally

    def _size(self, value: Value | None) -> Decimal:
        assert isinstance(value, Decimal)
        return abs(value) if self.by_absolute else value

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        for quantity, site in self.readings:
            yield Ask(quantity, (site,))


@dataclass(frozen=True)
class SingleNumber:
    """One number of the whole mouth; with `plane`, one that is taken to the plane in force."""

    category: str
    quantity: str
    rule: Rule
    plane: str = ""

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        finding = sheet.at(self.quantity, "mouth")
        if finding is None:
            tally.missing.append(Missing(self.quantity, ("mouth",), self.category))
            return tally
        if self.plane and finding.plane and finding.plane != self.plane:
            tally.missing.append(Missing(self.quantity, ("mouth",), self.category, finding.plane))
            return tally
        if self.plane and not finding.plane:
            tally.conventions.append(
                Convention(
                    self.quantity, "mouth", f"taken to the plane in force, {self.plane}", cite(SETTLED.source)
                )
            )
        value = amount(finding)
        tally.hits.append(Hit("mouth", (finding,), self.rule, value, self.rule.points(value)))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask(self.quantity, ("mouth",))


@dataclass(frozen=True)
class SingleCode:
    """One code of the whole mouth."""

    category: str
    quantity: str
    rule: Rule

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        finding = sheet.at(self.quantity, "mouth")
        if finding is None or finding.value == "unknown":
            tally.missing.append(Missing(self.quantity, ("mouth",), self.category))
            if finding is not None:
                tally.hits.append(Hit("mouth", (finding,), CANNOT_BE_TOLD, None, ZERO, counts=False))
        else:
            tally.hits.append(
                Hit("mouth", (finding,), self.rule, finding.value, self.rule.points(finding.value))
            )
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask(self.quantity, ("mouth",))


@dataclass(frozen=True)
class Marked:
    """Teeth marked with something, such as impacted ones; needs a statement over the whole mouth.

    `leaves_out` names teeth that are recorded but not scored.  `unknown_counts` tells whether
    `unknown` has points of its own (then it is a code of the rule).
    """

    category: str
    quantity: str
    rule: Rule
    left_out: tuple[tuple[str, Said], ...] = ()
    """`third_molars` and `primary` with the rule that says so."""
    needed: bool = True
    read_as: Callable[[Sheet, Finding], str] | None = None
    """Turns a finding into a code of the rule where the sheet decides; by default its value."""

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        for finding in sheet.by_quantity.get(self.quantity, {}).values():
            if finding.is_statement:
                tally.hits.append(Hit(finding.site, (finding,), self.rule, "none", ZERO))
                continue
            said = self._left_out(finding.site)
            if said is not None:
                tally.hits.append(Hit(finding.site, (finding,), said, None, ZERO))
                continue
            code = self.read_as(sheet, finding) if self.read_as else finding.value
            if code == "unknown" and not self._knows_unknown():
                tally.hits.append(Hit(finding.site, (finding,), CANNOT_BE_TOLD, None, ZERO, counts=False))
                tally.missing.append(Missing(self.quantity, (finding.site,), self.category))
                continue
            value: Value = code if rule_takes_codes(self.rule) else amount(finding)
            tally.hits.append(Hit(finding.site, (finding,), self.rule, value, self.rule.points(value)))
        uncovered = uncovered_regions(sheet, self.quantity) if self.needed else ()
        if uncovered:
            tally.missing.append(Missing(self.quantity, uncovered, self.category))
        return tally

    def _knows_unknown(self) -> bool:
        return any(code == "unknown" for code, _ in getattr(self.rule, "table", ()))

    def _left_out(self, tooth: str) -> Said | None:
        for which, said in self.left_out:
            if (which == "third_molars" and tooth in teeth.THIRD_MOLARS) or (
                which == "primary" and teeth.is_primary(tooth)
            ):
                return said
        return None

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask(self.quantity, ("mouth",), self.needed)


_FULL = {
    segment: tuple(t for t in teeth.DEFAULT_PERMANENT if sites.tooth_in(segment, t))
    for segment in sites.SEGMENTS
}


def uncovered_regions(sheet: Sheet, quantity: str) -> tuple[str, ...]:
    """Regions of the mouth that no statement of a quantity covers, as wide as they can be named."""
    stated = [f.site for f in sheet.statements(quantity)]
    if "mouth" in stated:
        return ()
    if not stated:
        return ("mouth",)
    marked = {teeth.place(t) for f in sheet.singles(quantity) for t in sites.teeth_of(f.site)}
    open_ = [
        segment
        for segment, members in _FULL.items()
        if any(t not in marked and not any(sites.tooth_in(s, t) for s in stated) for t in members)
    ]
    for wide in (*sites.ARCHES, *sites.SIDES):
        inner = [s for s in sites.SEGMENTS if wide in s.split("-")]
        if all(s in open_ for s in inner):
            open_ = [wide, *(s for s in open_ if s not in inner)]
    return tuple(open_)


def uncovered_contacts(sheet: Sheet, quantity: str, contacts: Iterable[str]) -> tuple[str, ...]:
    """Contacts that neither a value nor a statement covers; a whole arch or the mouth where all of it is."""
    found = sheet.by_quantity.get(quantity, {})
    wanted = list(contacts)
    lacking = [c for c in wanted if c not in found and sheet.statement_over(quantity, c) is None]
    if not lacking:
        return ()
    named: list[str] = []
    for arch in sites.ARCHES:
        of_arch = [c for c in wanted if teeth.arch(c[:2]) == arch]
        open_ = [c for c in of_arch if c in lacking]
        named += [arch] if open_ and len(open_) == len(of_arch) else open_
    return ("mouth",) if named == list(sites.ARCHES) else tuple(named)
