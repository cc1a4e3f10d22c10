"""Tooth-width ratios: how well the widths of the lower teeth fit those of the upper ones.

There is no total and there are no points: the index tells two ratios and what each means in millimetres.
Sources: Bolton, Angle Orthod 1958;28:113-130 and Am J Orthod 1962;48:504-529; limits of the verdicts:
Othman and Harradine, Angle Orthod 2007;77:668-674.
"""

from collections.abc import Iterator
from decimal import Decimal

from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Tallies, gathered
from scoring.index import Index, Reckoned, Terms
from scoring.indices.tooth_size.rules import (
    MOST_DEVIATIONS,
    MOST_EXCESS_MM,
    RATIOS,
    Excess,
    Ratio,
    components,
    sums,
)
from scoring.result import Json, Verdict
from scoring.shapes import plain


def outside(sheet: Sheet) -> str:
    """Why the ratios have no meaning for a sheet, or an empty text."""
    if sheet.dentition != "permanent":
        return f"tooth-width ratios are meant for the permanent dentition, not for the {sheet.dentition} one"
    return ""


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """Both ratios and their excess; complete without the overall one where teeth behind the canines are missing."""
    missing = gathered(m for _, tally in found for m in tally.missing)
    told = {key: sums(RATIOS[key], tally.hits) for key, tally in found}
    extra: dict[str, Json] = {}
    for key, ratio in RATIOS.items():
        both = told[key]
        extra[f"{key}_percent"] = plain(ratio.percent(*both)) if both else None
    for key, ratio in RATIOS.items():
        both = told[key]
        extra[f"{key}_excess"] = _shown(ratio.excess(*both)) if both else None
    verdicts = [v for key, both in told.items() if both for v in _verdicts(RATIOS[key], *both)]
    return Reckoned(None, not missing, missing, {}, found, tuple(verdicts), extra)


def _shown(excess: Excess) -> Json:
    return {"arch": excess.arch, "mm": plain(excess.millimetres)}


def _verdicts(ratio: Ratio, upper: Decimal, lower: Decimal) -> Iterator[Verdict]:
    percent, excess, lack = (
        ratio.percent(upper, lower),
        ratio.excess(upper, lower),
        ratio.lack(upper, lower),
    )
    too_wide = (
        f"the {excess.arch} teeth are {plain(excess.millimetres)} mm too wide, or, named the other way, "
        f"the {lack.arch} teeth {plain(lack.millimetres)} mm too narrow"
    )
    if abs(percent - ratio.mean) > MOST_DEVIATIONS * ratio.deviation:
        yield Verdict(
            f"{ratio.key}_beyond_2_sd",
            f"{ratio.key} ratio {plain(percent)} % lies beyond 2 standard deviations of the published mean "
            f"({ratio.mean} %, SD {ratio.deviation}): {too_wide}",
            cite("tooth_size_limits"),
        )
    if excess.millimetres > MOST_EXCESS_MM:
        yield Verdict(
            f"{ratio.key}_over_2_mm",
            f"{ratio.key} ratio {plain(percent)} %: over 2 mm, {too_wide}",
            cite("tooth_size_limits"),
        )


INDEX = Index(
    key="tooth_size",
    label="Tooth-width ratios",
    editions=("1958",),
    categories={},
    choices=(),
    components=components,
    outside=outside,
    extra_asks=(Ask("missing", ("mouth",), needed=False),),
    reckon=reckon,
    line_labels={
        "overall": "Overall ratio, first molars to first molars",
        "anterior": "Anterior ratio, canines to canines",
    },
    counted_in="mm",
    revision=f"1: beyond {MOST_DEVIATIONS} SD, over {MOST_EXCESS_MM} mm",
)
