"""What a quantity is: where it may be recorded, which values it takes, how it is taken."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from portfolio import sites, teeth

Kind = Literal["number", "code", "words", "tooth"]
Unit = Literal["mm", "%", "deg", ""]
UNIT_WORDS = {"mm": "mm", "%": "%", "deg": "°", "": ""}

NUMBER = re.compile(r"-?[0-9]+(\.[0-9]{1,2})?\Z", re.ASCII)
MOST_DIGITS = 8
MOST_WORDS = 300


@dataclass(frozen=True, slots=True)
class SiteRule:
    """The sites a quantity takes: one kind, and of that kind all or the listed ones."""

    kind: str
    words: str
    allowed: frozenset[str] | None = None
    members: frozenset[str] | None = None
    """For contacts: teeth of which both neighbours must be."""

    def takes(self, site: str) -> bool:
        if sites.kind(site) != self.kind:
            return False
        if self.allowed is not None and site not in self.allowed:
            return False
        return self.members is None or all(t in self.members for t in sites.teeth_of(site))

    def touches(self, region: str) -> bool:
        """Whether a wider site holds at least one site of this rule."""
        pool: Iterable[str] = self.allowed or self.members or teeth.ALL_TEETH
        return any(sites.inside(region, site) for site in pool)


def by_place(places: Iterable[str], words: str) -> SiteRule:
    """Teeth by place: the permanent tooth or, where it still stands, its primary predecessor."""
    found = set(places)
    found |= {p for p in (teeth.predecessor(t) for t in found) if p}
    return SiteRule("tooth", words, frozenset(found))


ANY_TOOTH = SiteRule("tooth", "a tooth")
PRIMARY_TOOTH = SiteRule("tooth", "a primary tooth", frozenset(teeth.PRIMARY))
UPPER_FRONT = by_place(teeth.UPPER_FRONT, "an upper tooth from canine to canine")
UPPER_BUCCAL = by_place(teeth.UPPER_BUCCAL, "an upper tooth behind the canine")
UPPER_TOOTH = SiteRule(
    "tooth", "an upper tooth", frozenset(t for t in teeth.ALL_TEETH if teeth.arch(t) == "upper")
)
CONTACT = SiteRule("contact", "a contact of two neighbours, from the patient's right to left (13-12)")
SIDE = SiteRule("side", "right or left", frozenset(sites.SIDES))
ARCH = SiteRule("arch", "upper or lower", frozenset(sites.ARCHES))
SEGMENT = SiteRule("segment", "one of the eight segments (upper-right-back)", frozenset(sites.SEGMENTS))
BACK_SEGMENT = SiteRule(
    "segment", "one of the four back segments (upper-right-back)", frozenset(sites.BACK_SEGMENTS)
)
MOUTH = SiteRule("mouth", "mouth", frozenset(("mouth",)))
FUNCTIONAL_CUSP = SiteRule(
    "cusp",
    "a functional cusp: upper l, ml, dl; lower b, mb, db, dc",
    frozenset(
        f"{t}.{c}"
        for t in teeth.ALL_TEETH
        for c in sites.cusps(t)
        if c in (("l", "ml", "dl") if teeth.arch(t) == "upper" else ("b", "mb", "db", "dc"))
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One thing that is measured or observed.

    Numbers are millimetres, degrees or per cent with at most two decimals; `sign` says what + means.
    `none_as_zero` lists wider and own sites where `none` stands for 0.
    """

    key: str
    label: str
    kind: Kind
    site: SiteRule
    group: str
    definition: str
    how: str = ""
    sign: str = ""
    unit: Unit = ""
    minimum: Decimal | None = None
    maximum: Decimal | None = None
    whole: bool = False
    codes: tuple[str, ...] = ()
    code_labels: dict[str, str] = field(default_factory=dict, hash=False, compare=False)
    aliases: dict[str, str] = field(default_factory=dict, hash=False, compare=False)
    takes_none: bool = False
    takes_rest_none: bool = False
    none_as_zero: tuple[str, ...] = ()
    takes_unknown: bool = False
    takes_plane: bool = False
    repeats: bool = False
    needs_note: bool = False
    """Taken without a note too, but then it counts as not recorded."""
    mouth_codes: tuple[str, ...] = ()
    """Codes taken at `mouth` beside the sites proper."""
    senses: tuple[str, ...] = ()
    """Sense keys a screen takes: o (open), x (reverse), e (edge to edge)."""
    method: str = ""
    """The method offered first."""
    source: str = "practice"

    def takes_region(self, site: str, value: str) -> bool:
        """Whether `none` or `rest_none` may be stated at this site."""
        if value == "none":
            if site in self.none_as_zero:
                return True
            return (
                self.takes_none
                and sites.kind(site) in ("mouth", "arch", "side", "segment")
                and self.site.touches(site)
            )
        return (
            value == "rest_none"
            and self.takes_rest_none
            and sites.width(site) > 0
            and self.site.touches(site)
        )

    def fault(self, value: str) -> str | None:
        """What is wrong with a single value in words, or None; region statements are not judged here."""
        if value == "unknown" and self.takes_unknown:
            return None
        match self.kind:
            case "number":
                return self._number_fault(value)
            case "code":
                if value in self.codes or value in self.aliases:
                    return None
                return f"{_quoted(value)} is not a code of {self.key}; allowed: {', '.join(self.allowed_words())}"
            case "tooth":
                return (
                    None
                    if teeth.is_tooth(value)
                    else f"{_quoted(value)} is not an ISO 3950 tooth (11 to 48, 51 to 85)"
                )
            case "words":
                if value in ("none", "rest_none"):
                    return f"{value} is not taken here; leave {self.key} out when there is nothing to say"
                if not value.strip():
                    return f"{self.key} needs words"
                if len(value) > MOST_WORDS:
                    return f"{self.key} takes at most {MOST_WORDS} characters, here {len(value)}"
                if unprintable(value):
                    return f"{self.key} takes one line of plain text without control characters"
        return None

    def allowed_words(self) -> tuple[str, ...]:
        return (*self.codes, *(("unknown",) if self.takes_unknown and "unknown" not in self.codes else ()))

    def _number_fault(self, value: str) -> str | None:
        if value in ("none", "rest_none", "unknown"):
            return f"{value} is not taken for {self.key} at this site"
        if not NUMBER.match(value) or len(value) > MOST_DIGITS:
            return f"{_quoted(value)} is not a number: digits with at most two decimals after a point, such as 3.5"
        number = Decimal(value)
        assert self.minimum is not None
        assert self.maximum is not None
        if not self.minimum <= number <= self.maximum:
            return f"{value} is out of range: {self.key} takes {self.minimum} to {self.maximum}{_spaced(self.unit)}"
        if self.whole and number != number.to_integral_value():
            return f"{value} is not a whole number; {self.key} takes {self.minimum} to {self.maximum}"
        return None

    def canonical(self, value: str) -> str:
        """The stored form of a value: aliases of codes are replaced, everything else stays as written."""
        return self.aliases.get(value, value)


def unprintable(text: str, but: str = "") -> bool:
    """Whether a text holds control characters, line ends or halves of characters, other than those in `but`."""
    return any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") and c not in but for c in text)


def _quoted(value: str) -> str:
    return '"' + (value if len(value) <= 40 else value[:37] + "...") + '"'


def _spaced(unit: str) -> str:
    return f" {UNIT_WORDS[unit]}" if unit else ""
