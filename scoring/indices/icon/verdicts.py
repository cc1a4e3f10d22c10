"""Published judgements on the ICON score of a single record set: need, complexity, acceptable result."""

from decimal import Decimal

from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from scoring.hits import Tallies
from scoring.index import Index, Reckoned, Terms, weighted_sum
from scoring.result import Verdict

NEED_OVER = 43
"""43 was read as the cut-off of need (Torkan et al. 2015), that need begins above it is from memory."""
ACCEPTABLE_UNDER = 31
COMPLEXITY = ((28, "easy"), (50, "mild"), (63, "moderate"), (77, "difficult"), (None, "very difficult"))
"""Highest total of each class, from memory; the last has no end."""


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """The weighted sum and what is published about such a total at the sheet's stage."""
    summed = weighted_sum(index, sheet, found, terms)
    assert summed.total is not None
    judged: tuple[Verdict, ...] = ()
    if sheet.stage == "initial":
        judged = (*_need(summed.total, summed.complete), *_complexity(summed.total, summed.complete))
    elif sheet.stage == "final":
        judged = _outcome(summed.total, summed.complete)
    return Reckoned(
        summed.total, summed.complete, summed.missing, summed.categories, summed.found, judged, summed.extra
    )


def _need(total: Decimal, complete: bool) -> tuple[Verdict, ...]:
    """Need for treatment; a floor is judged only where it lies over the limit."""
    if total > NEED_OVER:
        says = f"over {NEED_OVER}: need for treatment (that need begins above {NEED_OVER} is from memory)"
    elif complete:
        says = (
            f"{NEED_OVER} or less: no need for treatment (that need begins above {NEED_OVER} is from memory)"
        )
    else:
        return ()
    return (Verdict("need", says, cite("icon_need_2015")),)


def _complexity(total: Decimal, complete: bool) -> tuple[Verdict, ...]:
    """The class of complexity; a floor has one only in the last class."""
    low = 0
    for high, name in COMPLEXITY:
        if high is None:
            limits = f"over {low - 1}"
        elif total > high:
            low = high + 1
            continue
        elif not complete:
            return ()
        else:
            limits = f"{low} to {high}" if low else f"under {high + 1}"
        return (Verdict("complexity", f"{limits}: {name} (from memory)", cite("icon_2000_rules")),)
    raise AssertionError("the last class has no end")


def _outcome(total: Decimal, complete: bool) -> tuple[Verdict, ...]:
    """Whether a result is acceptable; a floor is judged only where it is not."""
    if total >= ACCEPTABLE_UNDER:
        says = f"{ACCEPTABLE_UNDER} or more: result not acceptable (from memory)"
    elif complete:
        says = f"under {ACCEPTABLE_UNDER}: acceptable result (from memory)"
    else:
        return ()
    return (Verdict("outcome", says, cite("icon_2000_rules")),)
