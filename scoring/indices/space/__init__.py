"""Space analysis: the length available in each arch less the widths of the teeth it has to hold.

There is no total and there are no points; minus is short of space.  Sources: lecture slides on cast and
space analysis (read); Tanaka and Johnston 1974; Moyers 1973 (from memory); words for severity as quoted
from Cobourne and DiBiase 2010.
"""

from collections.abc import Iterator
from decimal import Decimal

from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Tallies, Tally, gathered
from scoring.index import Index, Reckoned, RuleChoice, Terms
from scoring.indices.space.rules import components, millimetres
from scoring.result import Json, Verdict
from scoring.shapes import ZERO, plain

MODERATE_FROM, SEVERE_OVER = Decimal(4), Decimal(8)

CHOICES = (
    RuleChoice(
        "prediction",
        "Unerupted canines and premolars are predicted",
        (
            ("tanaka_johnston", "half the lower incisors and 11.0 mm above, 10.5 mm below"),
            ("moyers_1973_75", "by the table of 1973, 75 %, sexes pooled (from memory)"),
        ),
        "Several predictions are published; both read the four lower incisors and neither fits every population.",
        ("upper", "lower"),
    ),
)


def outside(sheet: Sheet) -> str:
    """Why space analysis has no meaning for a sheet, or an empty text."""
    return "space analysis is not meant for the primary dentition" if sheet.dentition == "primary" else ""


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """Each arch for itself; what cannot be told is None and named as missing."""
    missing = gathered(m for _, tally in found for m in tally.missing)
    arches: dict[str, Json] = {}
    verdicts: list[Verdict] = []
    for arch, tally in found:
        available, required = _told(tally)
        discrepancy = None if available is None or required is None else available - required
        arches[arch] = {
            "available": _shown(available),
            "required": _shown(required),
            "discrepancy": _shown(discrepancy),
            "method": _method(tally),
        }
        if discrepancy is not None:
            verdicts += _verdicts(arch, discrepancy)
    return Reckoned(None, not missing, missing, {}, found, tuple(verdicts), arches, arches)


def _told(tally: Tally) -> tuple[Decimal | None, Decimal | None]:
    lacking = {m.quantity for m in tally.missing}
    available = millimetres(tally.hits, "arch_segment", "arch_available", "gap_plan")
    required = -millimetres(tally.hits, "tooth_width")
    return (
        None if lacking & {"arch_available", "gap"} else available,
        None if "tooth_width" in lacking else required,
    )


def _shown(number: Decimal | None) -> str | None:
    return None if number is None else plain(number)


def _method(tally: Tally) -> str | None:
    """How the length was measured; None where it was not, or where nobody said how."""
    for hit in tally.hits:
        first = hit.findings[0]
        if first.quantity == "arch_segment" and hit.counts:
            return "segments"
        if first.quantity == "arch_available":
            return first.method or None
    return None


def severity(short: Decimal) -> str:
    """The published word for an arch that is short of some mm; empty for one that is not."""
    if short <= ZERO:
        return ""
    if short < MODERATE_FROM:
        return "mild"
    return "moderate" if short <= SEVERE_OVER else "severe"


def _verdicts(arch: str, discrepancy: Decimal) -> Iterator[Verdict]:
    word = severity(-discrepancy)
    if word:
        says = f"{arch} arch short by {plain(-discrepancy)} mm: {word} crowding"
        yield Verdict(f"{arch}_crowding", says, cite("crowding_words"))


INDEX = Index(
    key="space",
    label="Space analysis",
    editions=("1",),
    categories={},
    choices=CHOICES,
    components=components,
    outside=outside,
    extra_asks=(
        Ask("missing", ("mouth",), needed=False),
        Ask("eruption", ("mouth",), needed=False),
        Ask("impacted", ("mouth",), needed=False),
    ),
    reckon=reckon,
    edition_labels={"1": "available less required"},
    line_labels={"upper": "Upper arch", "lower": "Lower arch"},
    counted_in="mm",
    revision=f"1: mild under {MODERATE_FROM}, severe over {SEVERE_OVER} mm",
)
