"""Which errors of measurement are in force in a portfolio, and the table of them all."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from portfolio.access import Asker, visible_sheets
from portfolio.errors import OwnError, default_error, own_error
from portfolio.models import ErrorFigure, Finding, Portfolio
from portfolio.quantity import UNIT_WORDS
from portfolio.repeating.selectors import own_errors
from portfolio.sources import SOURCES
from portfolio.vocabulary import METHODS, QUANTITIES

Key = tuple[str, str]
"""Quantity and method."""
CERTAINTIES = {
    "practice": "our judgement, not published",
    "derived": "worked out from a publication",
    "read": "as published",
    "memory": "from memory, to be checked",
}
GROUP_LABELS = {
    "front": "Front teeth",
    "behind": "Behind the canines",
    "sides": "Sides",
    "midline": "Midlines",
    "arches": "Arches",
    "contacts": "Contacts",
    "teeth": "Single teeth",
    "radiograph": "Lateral radiograph",
    "other": "Other",
    "outcome": "Finished casts",
    "clinical": "At the patient",
}


@dataclass(frozen=True, slots=True)
class StatedFigure:
    """One statement as the history tells it; an empty `sd` brought the default back."""

    number: int
    sd: str
    source: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ErrorLine:
    """The error of a quantity by a method: the default, what stands in its place, and which of them counts.

    `counts` is default, own or repeats.  `seen` is the number of the newest statement; `aside` is an own figure that
    was taken back.
    """

    key: str
    label: str
    method: str
    unit: str
    default: str
    default_source: str
    default_certainty: str
    own: str
    own_source: str
    own_by: str
    own_at: datetime | None
    aside: str
    repeats: str
    pairs: int
    counts: str
    seen: int


@dataclass(frozen=True, slots=True)
class ErrorTable:
    """The errors of one group of quantities."""

    key: str
    label: str
    lines: tuple[ErrorLine, ...]


def line_key(quantity: str, method: str) -> str:
    """`overjet-caliper`; the quantity alone where it offers no method."""
    return f"{quantity}-{method}" if method else quantity


def read_key(key: str) -> Key | None:
    """Quantity and method of a line's key; None for anything else."""
    quantity, _, method = key.partition("-")
    known = QUANTITIES.get(quantity)
    if known is None or known.kind != "number" or (method and method not in METHODS):
        return None
    return (quantity, method) if method or not known.method else None


def errors_in_force(reader: Asker, portfolio: int) -> tuple[OwnError, ...]:
    """Errors that stand in place of the defaults for sheets of a reader in a portfolio (its primary key).

    The reader's own errors from repeats come first, then the figures the portfolio has set; `portfolio.errors.error_of`
    takes the first that may be used.
    """
    return (*own_errors(reader), *figures_in_force([portfolio]).get(portfolio, ()))


def figures_in_force(portfolios: Collection[int]) -> Mapping[int, tuple[OwnError, ...]]:
    """Primary key of each portfolio that has set figures → those that count; one query."""
    newest: dict[tuple[int, str, str], ErrorFigure] = {}
    for row in ErrorFigure.objects.filter(portfolio__in=tuple(portfolios)).order_by("number"):
        newest[row.portfolio_id, row.quantity, row.method] = row
    found: defaultdict[int, list[OwnError]] = defaultdict(list)
    for (portfolio, quantity, method), row in sorted(newest.items()):
        if row.sd and read_key(line_key(quantity, method)):
            found[portfolio].append(OwnError(quantity, method, float(row.sd), 0.0, 0, row.source))
    return {portfolio: tuple(ones) for portfolio, ones in found.items()}


def figures_of(portfolio: Portfolio, quantity: str, method: str) -> tuple[StatedFigure, ...]:
    """Everything a portfolio said of one quantity and method, the newest first."""
    rows = ErrorFigure.objects.filter(portfolio=portfolio, quantity=quantity, method=method)
    return tuple(
        StatedFigure(row.number, row.sd, row.source, str(row.by), row.at)
        for row in rows.select_related("by").order_by("-number")
    )


def error_tables(user: Asker, portfolio: Portfolio) -> tuple[ErrorTable, ...]:
    """Every quantity with numbers by its usual method, by methods in use in the portfolio, and by those with figures."""
    stated: defaultdict[Key, list[StatedFigure]] = defaultdict(list)
    rows = ErrorFigure.objects.filter(portfolio=portfolio).select_related("by").order_by("-number")
    for row in rows:
        stated[row.quantity, row.method].append(
            StatedFigure(row.number, row.sd, row.source, str(row.by), row.at)
        )
    sheets = visible_sheets(user).filter(record_set__case__patient__portfolio=portfolio)
    used = Finding.objects.filter(sheet__in=sheets).values_list("quantity", "method").distinct()
    own = own_errors(user)
    keys = dict.fromkeys(_keys([*used, *stated, *((one.quantity, one.method) for one in own if one.used)]))
    grouped: defaultdict[str, list[ErrorLine]] = defaultdict(list)
    for key in keys:
        grouped[QUANTITIES[key[0]].group].append(error_line(key, stated.get(key, ()), own))
    return tuple(
        ErrorTable(group, GROUP_LABELS.get(group, group.capitalize()), tuple(lines))
        for group, lines in grouped.items()
    )


def _keys(more: Iterable[Key]) -> list[Key]:
    """All quantities with numbers in the order round the casts, each with its usual method first."""
    by_quantity: defaultdict[str, set[str]] = defaultdict(set)
    for quantity, method in more:
        if quantity in QUANTITIES and (method or not QUANTITIES[quantity].method):
            by_quantity[quantity].add(method)
    found = []
    for key, known in QUANTITIES.items():
        if known.kind == "number":
            found += [(key, known.method), *((key, m) for m in METHODS if m in by_quantity[key])]
    return found


def error_line(key: Key, stated: Iterable[StatedFigure], own: Iterable[OwnError]) -> ErrorLine:
    """One line of the table; `stated` is the newest first, `own` the reader's errors from repeats."""
    quantity, method = key
    known, default = QUANTITIES[quantity], default_error(quantity, method)
    history = list(stated)
    newest = history[0] if history else None
    in_force = newest if newest is not None and newest.sd else None
    aside = next((one.sd for one in history if one.sd), "") if in_force is None else ""
    mine = own_error(own, quantity, method)
    unit = UNIT_WORDS[known.unit]
    return ErrorLine(
        key=line_key(quantity, method),
        label=known.label,
        method=method,
        unit=unit,
        default=_with_unit(f"{default.sd:g}", unit),
        default_source="" if default.source == "error_judgement" else str(SOURCES[default.source]),
        default_certainty=CERTAINTIES.get(default.certainty, default.certainty),
        own=_with_unit(in_force.sd, unit) if in_force else "",
        own_source=in_force.source if in_force else "",
        own_by=newest.by if newest else "",
        own_at=newest.at if newest else None,
        aside=_with_unit(aside, unit) if aside else "",
        repeats=_with_unit(f"{mine.sd:.2f}", unit) if mine else "",
        pairs=mine.n if mine else 0,
        counts="repeats" if mine else "own" if in_force else "default",
        seen=newest.number if newest else 0,
    )


def _with_unit(number: str, unit: str) -> str:
    return f"± {number}{'' if unit in ('°', '') else ' '}{unit}"
