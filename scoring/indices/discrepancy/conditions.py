"""Rows of the discrepancy index that no table can say: they read several findings together."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from portfolio import teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.components import Marked, amount, uncovered_contacts
from scoring.hits import Ask, Convention, Hit, Missing, Tally
from scoring.measured_shapes import Bands, PerUnit
from scoring.shapes import Choice, Count, Said

SPACED_FROM = Decimal("0.5")
"""From this gap on a contact is open."""
CENTRAL_CONTACT = "11-21"
CANINES = frozenset(("13", "23", "33", "43"))


@dataclass(frozen=True)
class MolarRelation:
    """Both sides summed; past a full step the millimetres count as well.

    Where a first molar does not stand, the side needs the tooth that was read instead, with a note how it was read.
    """

    category: str
    relation: Choice
    beyond: PerUnit
    revision: str = "2"

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        for side, molars in teeth.FIRST_MOLARS.items():
            substitute = sheet.at("molar_substitute", side)
            if substitute is None and any(m not in sheet.standing for m in molars):
                tally.missing.append(Missing("molar_substitute", (side,), self.category))
            elif substitute is not None and not substitute.note.strip():
                tally.missing.append(
                    Missing(
                        "molar_substitute", (side,), self.category, lacks="a note that says how it was read"
                    )
                )
            finding = sheet.at("molar_relation", side)
            if finding is None:
                tally.missing.append(Missing("molar_relation", (side,), self.category))
                continue
            read = (finding,) if substitute is None else (finding, substitute)
            if not finding.value.startswith("beyond"):
                points = self.relation.points(finding.value)
                tally.hits.append(Hit(side, read, self.relation, finding.value, points))
                continue
            past = sheet.at("molar_beyond", side)
            if past is None:
                tally.missing.append(Missing("molar_beyond", (side,), self.category))
                points = self.relation.points(finding.value)
                tally.hits.append(Hit(side, read, self.relation, finding.value, points))
            else:
                value = amount(past)
                tally.hits.append(Hit(side, (*read, past), self.beyond, value, self.beyond.points(value)))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("molar_relation", ("right", "left"))
        yield Ask("molar_beyond", ("right", "left"), needed=False)
        without = [
            s
            for s, molars in teeth.FIRST_MOLARS.items()
            if any(m not in sheet.standing for m in molars) or sheet.at("molar_substitute", s) is not None
        ]
        if without:
            yield Ask("molar_substitute", tuple(without))


@dataclass(frozen=True)
class ExtraToothOnce:
    """An impacted extra tooth scores as an extra tooth too unless it is also listed among those."""

    revision: str = "1"

    def __call__(self, sheet: Sheet, finding: Finding) -> str:
        if finding.value == "supernumerary" and sheet.at("supernumerary", finding.site) is not None:
            return "supernumerary_counted"
        return finding.value


@dataclass(frozen=True)
class SuccessorOnce:
    """A primary tooth without successor scores unless the successor itself is recorded as missing."""

    not_scored: bool
    revision: str = "1"

    def __call__(self, sheet: Sheet, finding: Finding) -> str:
        if finding.value != "no_successor":
            return finding.value
        if teeth.place(finding.site) in sheet.missing_teeth:
            return "counted_once"
        return "not_scored" if self.not_scored else finding.value


def closing_contact(sheet: Sheet, tooth: str) -> str | None:
    """The contact that closes over the place of a missing tooth; None where none can."""
    place = teeth.place(tooth)
    if sheet.holder(place) is not None:
        return None
    row = sheet.rounds[teeth.arch(place)]
    before = [t for t in row if teeth.order(t) < teeth.order(place)]
    after = [t for t in row if teeth.order(t) > teeth.order(place)]
    return f"{before[-1]}-{after[0]}" if before and after else None


@dataclass(frozen=True)
class MissingTeeth:
    """Missing teeth; under one choice a tooth whose space has closed scores nothing."""

    category: str
    row: Marked
    closed_scores_nothing: bool
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        tally = self.row.tally(sheet)
        for index, hit in enumerate(tally.hits):
            finding = hit.findings[0]
            if finding.is_statement or hit.value is None:
                continue
            if teeth.is_primary(finding.site) and teeth.place(finding.site) in sheet.standing:
                tally.hits[index] = self._as(hit, "replaced")
                continue
            if finding.value == "unknown":
                tally.conventions.append(
                    Convention("missing", finding.site, "1 point, like a tooth lost", cite("di_settled"))
                )
            if self.closed_scores_nothing and finding.value != "congenital":
                self._close(sheet, tally, index)
        return tally

    def _as(self, hit: Hit, code: str, *also: Finding) -> Hit:
        rule = self.row.rule
        return hit._replace(value=code, raw=rule.points(code), findings=(*hit.findings, *also))

    def _close(self, sheet: Sheet, tally: Tally, index: int) -> None:
        hit = tally.hits[index]
        contact = closing_contact(sheet, hit.site)
        if contact is None:
            return
        gap = sheet.at("gap", contact) or sheet.statement_over("gap", contact)
        if gap is None:
            tally.missing.append(Missing("gap", (contact,), self.category))
            tally.hits[index] = self._as(hit, "gap_not_recorded")
        elif amount(gap) < SPACED_FROM:
            tally.hits[index] = self._as(hit, "closed", gap)

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield from self.row.asks(sheet)


def closing_missing(
    category: str, rule: Choice, third_molars: tuple[str, Said], closed_scores_nothing: bool
) -> MissingTeeth:
    """The row of missing teeth under the choice in force."""
    return MissingTeeth(category, Marked(category, "missing", rule, (third_molars,)), closed_scores_nothing)


@dataclass(frozen=True)
class Gaps:
    """Generalized spacing of each arch, and the gap between the upper central incisors.

    A tooth is spaced by its gaps of 0.5 mm and more: on both sides (then a last tooth never is), or
    on either side.  Second molar to second molar.
    """

    category: str
    spacing: Bands
    central: Bands
    both_sides: bool
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        found = sheet.by_quantity.get("gap", {})
        stated = sheet.statements("gap")
        every: list[str] = []
        for arch in ("upper", "lower"):
            contacts = contacts_to_second_molars(sheet, arch)
            every += contacts
            read = tuple(found[c] for c in contacts if c in found)
            read += tuple(f for f in stated if f.site not in ("upper", "lower") or f.site == arch)
            if read:
                count = Decimal(self._spaced(found, contacts))
                tally.hits.append(Hit(arch, read, self.spacing, count, self.spacing.points(count)))
        central = found.get(CENTRAL_CONTACT)
        if central is None and CENTRAL_CONTACT in every:
            central = sheet.statement_over("gap", CENTRAL_CONTACT)
        if central is not None:
            value = amount(central)
            tally.hits.append(
                Hit(CENTRAL_CONTACT, (central,), self.central, value, self.central.points(value))
            )
        lacking = uncovered_contacts(sheet, "gap", every)
        if lacking:
            tally.missing.append(Missing("gap", lacking, self.category))
        return tally

    def _spaced(self, found: dict[str, Finding], contacts: list[str]) -> int:
        is_open = [c in found and amount(found[c]) >= SPACED_FROM for c in contacts]
        if self.both_sides:
            return sum(left and right for left, right in pairwise(is_open))
        return sum(left or right for left, right in zip([False, *is_open], [*is_open, False], strict=True))

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        contacts = (c for arch in ("upper", "lower") for c in contacts_to_second_molars(sheet, arch))
        yield Ask("gap", tuple(contacts))


def contacts_to_second_molars(sheet: Sheet, arch: str) -> list[str]:
    """Contacts of neighbours that stand, third molars left out."""
    return [c for c in sheet.contacts[arch] if not {c[:2], c[3:]} & teeth.THIRD_MOLARS]


@dataclass(frozen=True)
class BlockedCanines:
    """Blocked-out canines as impactions, those recorded as impacted left out."""

    category: str
    rule: Choice
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        impacted = {f.site for f in sheet.singles("impacted") if f.value in ("yes", "tipped")}
        for finding in sheet.singles("blocked_out"):
            if finding.site in CANINES and finding.site not in impacted:
                tally.hits.append(Hit(finding.site, (finding,), self.rule, "yes", self.rule.points("yes")))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        return iter(())


@dataclass(frozen=True)
class AddedComplexity:
    """Each thing named in words."""

    category: str
    rule: Count

    def tally(self, sheet: Sheet) -> Tally:
        found = sheet.all_of("added_complexity")
        return Tally([Hit(f.site, (f,), self.rule, None, self.rule.each) for f in found])

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("added_complexity", ("mouth",), needed=False)
