"""Published judgements on the PAR score of a single record set, and the totals by every set of weights."""

from decimal import Decimal

from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from scoring.hits import Tallies
from scoring.index import Index, Reckoned, Terms, weighted_sum
from scoring.indices.par.weights import WEIGHT_SETS
from scoring.result import Verdict
from scoring.shapes import ZERO, plain

NEED_FROM = 17
"""Firestone et al. 2002: with UK and US weights alike, 170 casts, 15 orthodontists."""
ACCEPTABLE_TO, NEAR_IDEAL_TO = 10, 5
"""From memory, weights of 1992."""
BEFORE = ("initial", "interim")


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """The weighted sum, the totals by every other set of weights, and what is published about such a total."""
    summed = weighted_sum(index, sheet, found, terms)
    sets = WEIGHT_SETS if terms.edition in WEIGHT_SETS else {**WEIGHT_SETS, terms.edition: terms.weights}
    raw: dict[str, Decimal] = dict.fromkeys(index.categories, ZERO)
    for category, tally in found:
        raw[category] += tally.points
    totals = {
        name: plain(sum((points * weights[c] for c, points in raw.items()), ZERO))
        for name, weights in sets.items()
    }
    return Reckoned(
        summed.total,
        summed.complete,
        summed.missing,
        summed.categories,
        summed.found,
        verdicts(sheet, terms.edition, summed),
        {"totals": totals},
    )


def verdicts(sheet: Sheet, edition: str, summed: Reckoned) -> tuple[Verdict, ...]:
    """Need before treatment (published weights), the result after it (weights of 1992).

    A floor is judged only where no missing finding can change the judgement.
    """
    total = summed.total
    assert total is not None
    if edition not in WEIGHT_SETS:
        return ()
    if sheet.stage in BEFORE:
        if total >= NEED_FROM:
            says = f"{NEED_FROM} or more: need for treatment"
        elif summed.complete:
            says = f"under {NEED_FROM}: no need for treatment"
        else:
            return ()
        return (Verdict("need", says, cite("par_need_2002")),)
    if edition != "uk1992":
        return ()
    if total > ACCEPTABLE_TO:
        says = f"over {ACCEPTABLE_TO}: past the limit of an acceptable result (from memory)"
    elif not summed.complete:
        return ()
    elif total > NEAR_IDEAL_TO:
        says = f"{ACCEPTABLE_TO} or less: acceptable result (from memory)"
    else:
        says = f"{NEAR_IDEAL_TO} or less: near ideal result (from memory)"
    return (Verdict("result", says, cite("par_1992_rules")),)
