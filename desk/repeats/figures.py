"""A reader's own measuring error in words: figures by quantity and method, totals, agreement, plots."""

from dataclasses import dataclass

from desk.repeats.plots import DifferencePlot, difference_plot, signed
from portfolio.access import Asker
from portfolio.errors import default_error
from portfolio.quantity import UNIT_WORDS
from portfolio.repeated import FEWEST_PAIRS_SHOWN, RepeatedStatistics
from portfolio.repeating.pairs import MeasuredAgain, differences, measured_again, seen_again
from portfolio.repeating.selectors import Kept, counted, kept, occasions_of
from portfolio.repeats import FEWEST_PAIRS_USED
from portfolio.vocabulary import QUANTITIES
from scoring.selectors import RepeatedTotals, repeated_totals


@dataclass(frozen=True, slots=True)
class Figures:
    """Statistics in words, rounded once; `error` never under what the step of rounding leaves."""

    error: str
    error_low: str
    error_high: str
    random: str
    bias: str
    bias_low: str
    bias_high: str
    biased: bool
    agree_low: str
    agree_high: str
    at_least: bool
    """Whether the error found was less than rounding leaves, and is given as that."""


@dataclass(frozen=True, slots=True)
class QuantityRow:
    """One quantity by one method; `figures` None while pairs are lacking."""

    label: str
    method: str
    unit: str
    pairs: int
    places: int
    lacking: int
    """How many pairs are lacking until the figures are shown or, once they are, used; 0 when used."""
    default: str
    found_once: int
    figures: Figures | None
    plot: DifferencePlot | None

    @property
    def used(self) -> bool:
        return self.lacking == 0


@dataclass(frozen=True, slots=True)
class TotalRow:
    """Repeated totals of one index; `figures`, `sem` and `change` are empty while pairs are lacking."""

    label: str
    pairs: int
    lacking: int
    incomplete: int
    sem: str
    change: str
    figures: Figures | None
    plot: DifferencePlot | None


@dataclass(frozen=True, slots=True)
class AgreementRow:
    """One quantity with codes: same of compared."""

    label: str
    same: int
    compared: int


@dataclass(frozen=True, slots=True)
class OwnError:
    """All the page of a reader's own measuring error shows."""

    kept: Kept
    rows: tuple[QuantityRow, ...]
    totals: tuple[TotalRow, ...]
    agreement: tuple[AgreementRow, ...]
    used: int
    shown_from: int = FEWEST_PAIRS_SHOWN
    used_from: int = FEWEST_PAIRS_USED

    @property
    def plots(self) -> tuple[DifferencePlot, ...]:
        found = [*(row.plot for row in self.totals), *(row.plot for row in self.rows)]
        return tuple(plot for plot in found if plot)


def own_error_page(reader: Asker) -> OwnError:
    """Figures of all counted repeats of the reader, in all portfolios."""
    occasions = [one for _, one in occasions_of(counted(reader))]
    rows = tuple(_quantity(one) for one in measured_again(occasions))
    return OwnError(
        kept=kept(reader),
        rows=rows,
        totals=tuple(_totals(one) for one in repeated_totals(reader) if one.pairs or one.incomplete),
        agreement=tuple(
            AgreementRow(QUANTITIES[one.quantity].label, one.same, one.compared)
            for one in seen_again(occasions)
        ),
        used=sum(row.used for row in rows),
    )


def _quantity(one: MeasuredAgain) -> QuantityRow:
    quantity, told = QUANTITIES[one.quantity], one.told
    unit = UNIT_WORDS[quantity.unit]
    shown = told is not None and told.pairs >= FEWEST_PAIRS_SHOWN
    wanted = FEWEST_PAIRS_USED if shown else FEWEST_PAIRS_SHOWN
    name = f"{quantity.label}, {one.method}" if one.method else quantity.label
    return QuantityRow(
        label=quantity.label,
        method=one.method,
        unit=unit,
        pairs=one.pairs,
        places=len(one.places),
        lacking=max(0, wanted - one.pairs) if shown else max(1, wanted - one.pairs),
        default=signed(default_error(one.quantity, one.method).sd),
        found_once=one.found_once,
        figures=_figures(told, one.least) if told and shown else None,
        plot=difference_plot(differences(one), told, name, unit) if told and shown else None,
    )


def _totals(one: RepeatedTotals) -> TotalRow:
    told, change = one.told, one.change
    pairs = tuple(((first + again) / 2, again - first) for first, *rest in one.totals for again in rest)
    return TotalRow(
        label=one.label,
        pairs=one.pairs,
        lacking=0 if change else max(1, FEWEST_PAIRS_SHOWN - one.pairs),
        incomplete=one.incomplete,
        sem=signed(change.sem) if change else "",
        change=signed(change.mdc95, 1) if change else "",
        figures=_figures(told, 0.0) if told and change else None,
        plot=difference_plot(pairs, told, f"Total, {one.label}", "points") if told and change else None,
    )


def _figures(told: RepeatedStatistics, least: float) -> Figures:
    return Figures(
        error=signed(max(told.error, least)),
        error_low=signed(told.error_low),
        error_high=signed(told.error_high),
        random=signed(told.random_sd),
        bias=signed(told.bias),
        bias_low=signed(told.bias_low),
        bias_high=signed(told.bias_high),
        biased=told.biased,
        agree_low=signed(told.agree_low),
        agree_high=signed(told.agree_high),
        at_least=told.error < least,
    )
