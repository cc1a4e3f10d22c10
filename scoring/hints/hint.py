"""What a hint is: two things on a sheet that are possible together, but improbable."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from portfolio.wording import site_words
from scoring.shapes import plain

LIMITS = "hint_limits"
PRACTICE = "practice"


@dataclass(frozen=True, slots=True)
class Hint:
    """A reason to look again, never a refusal.

    `words` say what was met, `why` says why that is improbable and what to look at again.
    `quantities` and `sites` are those concerned, so that a page can lead to them.
    """

    key: str
    quantities: tuple[str, ...]
    sites: tuple[str, ...]
    words: str
    why: str
    source: str


def hint(
    key: str, quantities: Iterable[str], where: Iterable[str], words: str, why: str, *sources: str
) -> Hint:
    """A hint with its sites in reading order and its sources cited, limits of our own by default."""
    cited = "; ".join(cite(source) for source in sources or (LIMITS,))
    return Hint(key, tuple(quantities), in_reading_order(where), words, why, cited)


def in_reading_order(where: Iterable[str]) -> tuple[str, ...]:
    """Each site once: wider ones first, then teeth and contacts from the patient's right to left."""
    return tuple(sorted(set(where), key=_place))


def _place(site: str) -> tuple[int, bool, int, str]:
    named = sites.teeth_of(site)
    if not named:
        return -sites.width(site), False, 0, site
    return 1, teeth.arch(named[0]) == "lower", teeth.order(named[0]), site


def listed(where: Iterable[str], notation: str, most: int = 6) -> str:
    """Sites in the reader's notation: `11, 21 and 5 more`."""
    shown = [site_words(site, notation) for site in in_reading_order(where)]
    if len(shown) > most:
        return f"{', '.join(shown[:most])} and {len(shown) - most} more"
    return ", ".join(shown)


def mm(number: Decimal) -> str:
    """A size in millimetres, its sign left to the words around it."""
    return f"{plain(abs(number))} mm"


def numbers(sheet: Sheet, quantity: str) -> dict[str, Decimal]:
    """Site → value of the single findings of a quantity that are numbers."""
    return {f.site: f.number for f in sheet.singles(quantity) if _is_number(f)}


def _is_number(finding: Finding) -> bool:
    return finding.value not in ("none", "rest_none", "unknown")


def single(sheet: Sheet, quantity: str, site: str) -> Decimal | None:
    """A number at its own site; `none` there is 0, anything that cannot be told is None."""
    finding = sheet.at(quantity, site) or sheet.statement_over(quantity, site)
    if finding is None or finding.value == "unknown":
        return None
    return Decimal(0) if finding.value in ("none", "rest_none") else finding.number


def looked_at(sheet: Sheet, quantity: str, site: str) -> bool:
    """Whether somebody looked at a site: a single value, or a statement over it."""
    return sheet.at(quantity, site) is not None or sheet.statement_over(quantity, site) is not None
