"""One observed fact, and all facts of one examiner on one record set.

Four conditions are kept apart: measured, free (looked at, nothing there), unknown (looked for,
cannot be told) and not recorded (nobody looked: there is no finding).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from typing import Literal

from portfolio import sites, teeth

State = Literal["measured", "free", "rest_free", "unknown"]
_FREE_WORDS = frozenset(("none", "full", "parallel"))


@dataclass(frozen=True, slots=True)
class Finding:
    """A quantity at a site with its value as text, exactly as a sheet file writes it.

    The value is decimal text in the quantity's unit, a code, a tooth, words, `unknown`, or at a
    wider site `none` or `rest_none`.  `nth` numbers quantities that may repeat.  `sd` is the
    standard deviation of the measurement in the quantity's unit, empty for the default.

    `error_parts` are what that deviation is made of: pairs of a cause's name and the change of the value
    by one standard deviation of the cause, signed decimal text, in the order of the names.  Equal names,
    also of two findings, are one cause.  `evidence_at` is the change of the stored sheet that gave the
    evidence, 0 for none.  Neither is in a sheet file.
    """

    quantity: str
    site: str
    value: str
    nth: int = 1
    method: str = ""
    medium: str = ""
    plane: str = ""
    note: str = ""
    sd: str = ""
    error_parts: tuple[tuple[str, str], ...] = ()
    evidence_at: int = 0

    @property
    def number(self) -> Decimal:
        """The value as an exact decimal; InvalidOperation where it is not a number."""
        return Decimal(self.value)

    @property
    def is_statement(self) -> bool:
        """Whether this speaks of a whole region rather than of a single site."""
        return self.value == "rest_none" or (self.value == "none" and sites.width(self.site) > 0)


def state(finding: Finding) -> State:
    """measured, free, rest_free or unknown."""
    if finding.value == "rest_none":
        return "rest_free"
    if finding.value == "unknown":
        return "unknown"
    return "free" if finding.value == "none" else "measured"


def says_nothing_there(finding: Finding) -> bool:
    """Whether a single value means the same as being free: 0, none, full, parallel."""
    if finding.value in _FREE_WORDS:
        return True
    return finding.value[:1] in "-0" and not finding.value.strip("-0.")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: where it stands, what was met and what is allowed."""

    where: str
    message: str
    quantity: str = ""
    site: str = ""
    nth: int = 1

    def __str__(self) -> str:
        return f"{self.where}: {self.message}" if self.where else self.message


class SheetRefused(Exception):
    """A sheet was not taken; carries every fault found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(f) for f in self.faults))


@dataclass(frozen=True)
class Sheet:
    """All findings of one examiner on one record set, with what stands in the mouth.

    `teeth` are the teeth as listed; empty means the default of the dentition.  Lookups are worked
    out once and kept.
    """

    stage: str
    dentition: str
    findings: tuple[Finding, ...] = ()
    teeth: tuple[str, ...] = ()
    age_months: int | None = None
    occlusion: str = "unknown"
    medium: str = ""

    @cached_property
    def by_quantity(self) -> dict[str, dict[str, Finding]]:
        """Quantity → site → finding; for quantities that repeat, the first of each site."""
        found: dict[str, dict[str, Finding]] = {}
        for finding in self.findings:
            here = found.get(finding.quantity)
            if here is None:
                here = found[finding.quantity] = {}
            here.setdefault(finding.site, finding)
        return found

    def at(self, quantity: str, site: str) -> Finding | None:
        """The finding at exactly this site, single value or statement."""
        return self.by_quantity.get(quantity, {}).get(site)

    def all_of(self, quantity: str) -> Iterator[Finding]:
        """All findings of a quantity in the order of the sheet, repeats included."""
        return (f for f in self.findings if f.quantity == quantity)

    def singles(self, quantity: str) -> list[Finding]:
        """Findings of single sites, statements left out."""
        return [f for f in self.by_quantity.get(quantity, {}).values() if not f.is_statement]

    def statements(self, quantity: str) -> list[Finding]:
        """Statements about regions, narrowest first and then by name, so that their order in a file is nothing."""
        known = self._statements.get(quantity)
        if known is None:
            known = [f for f in self.by_quantity.get(quantity, {}).values() if f.is_statement]
            if len(known) > 1:
                known.sort(key=lambda f: (sites.width(f.site), f.site))
            self._statements[quantity] = known
        return known

    @cached_property
    def _statements(self) -> dict[str, list[Finding]]:
        """Quantity → its statements, as far as they have been asked for; they are asked for site by site."""
        return {}

    @cached_property
    def missing_teeth(self) -> frozenset[str]:
        """Teeth recorded as missing, whatever the cause."""
        return frozenset(f.site for f in self.singles("missing"))

    @cached_property
    def listed(self) -> frozenset[str]:
        """Teeth that stand by list or default, before findings take some out or name some more."""
        if self.teeth:
            return frozenset(self.teeth)
        if self.dentition == "primary":
            return frozenset(teeth.DEFAULT_PRIMARY)
        return frozenset(teeth.DEFAULT_PERMANENT) if self.dentition == "permanent" else frozenset()

    @cached_property
    def unerupted(self) -> frozenset[str]:
        """Permanent teeth in the bone: recorded so, impacted, or neither listed nor missing.

        A third molar counts here only when recorded so.
        """
        recorded = {f.site for f in self.singles("eruption") if f.value == "unerupted"}
        recorded |= {f.site for f in self.singles("impacted") if f.value == "yes"}
        rest = set(teeth.DEFAULT_PERMANENT) - self.listed
        return frozenset((recorded | rest) - self.missing_teeth)

    @cached_property
    def standing(self) -> frozenset[str]:
        """Teeth that stand in the mouth; third molars and kept primary teeth also when only mentioned."""
        mentioned = set()
        for finding in self.findings:
            if finding.quantity in ("retained_primary", "submerged") and not finding.is_statement:
                mentioned.add(finding.site)
            else:
                named = sites.teeth_of(finding.site)
                if finding.quantity == "molar_substitute":
                    named += (finding.value,)
                mentioned.update(t for t in named if t in teeth.THIRD_MOLARS)
        return (self.listed | mentioned) - self.missing_teeth - self.unerupted

    @cached_property
    def partly_erupted(self) -> frozenset[str]:
        return frozenset(f.site for f in self.singles("eruption") if f.value == "partial")

    @cached_property
    def blocked_out(self) -> frozenset[str]:
        return frozenset(f.site for f in self.singles("blocked_out"))

    @cached_property
    def transposed(self) -> frozenset[str]:
        """The more mesial place of each exchanged pair.

        Not of a tooth that has not erupted while its predecessor stands: that one did not move.
        """
        named = frozenset(f.site for f in self.singles("transposed"))
        return frozenset(t for t in named if t in self.standing or self.holder(teeth.place(t)) is None)

    @cached_property
    def rounds(self) -> dict[str, tuple[str, ...]]:
        """Arch → standing teeth from the patient's right to left, transpositions followed."""
        return {
            arch: teeth.round_the_arch(arch, self.standing, self.transposed) for arch in ("upper", "lower")
        }

    @cached_property
    def contacts(self) -> dict[str, tuple[str, ...]]:
        """Arch → contacts of neighbours that stand, from the patient's right to left."""
        return {
            arch: tuple(f"{first}-{second}" for first, second in pairwise(row))
            for arch, row in self.rounds.items()
        }

    def holder(self, place: str) -> str | None:
        """The tooth that holds a permanent place: itself, or its predecessor where that still stands."""
        if place in self.standing:
            return place
        before = teeth.predecessor(place)
        return before if before in self.standing else None

    def statement_over(self, quantity: str, site: str) -> Finding | None:
        """The narrowest statement of a quantity in whose region a single site lies.

        A contact also counts as covered when each of its two teeth lies in some stated region.
        """
        stated = self.statements(quantity)
        if not stated:
            return None
        for finding in stated:
            if sites.inside(finding.site, site):
                return finding
        both = sites.teeth_of(site)
        if len(both) == 2 and all(any(sites.tooth_in(f.site, t) for f in stated) for t in both):
            return stated[0]
        return None
