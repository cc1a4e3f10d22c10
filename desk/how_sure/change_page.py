"""How sure a change is: chances that a total fell, of the published verdicts, and the change that error explains."""

from dataclasses import dataclass, replace
from decimal import Decimal
from uuid import UUID

from desk.change.case import MeasuredStage, measured_stages, named_stage
from desk.how_sure.plot import TotalsPlot, totals_plot
from portfolio.access import Asker
from portfolio.error_figures.selectors import errors_in_force
from portfolio.models import Case
from portfolio.repeated import FEWEST_PAIRS_SHOWN
from portfolio.repeating.all_readings import all_readings
from scoring import registry
from scoring.moved import signed
from scoring.present import number_words
from scoring.selectors import minimal_detectable_change, ways_of
from scoring.selectors.choices import Chosen
from scoring.shapes import plain
from scoring.uncertainty import (
    CannotBeTold,
    ChangeLaw,
    ErrorModel,
    Question,
    ScoreLaw,
    change_law,
    law_of,
    percent,
)

INDICES = ("discrepancy", "par", "icon")
"""Indices whose totals are compared before and after."""


@dataclass(frozen=True, slots=True)
class IndexOption:
    """An index to ask for."""

    key: str
    label: str
    here: bool


@dataclass(frozen=True, slots=True)
class SureChangePage:
    """Everything on the page; `refused` says why nothing can be told."""

    case: UUID
    code: str
    label: str
    options: tuple[IndexOption, ...]
    before_set: str
    after_set: str
    before: str = ""
    after: str = ""
    stages: str = ""
    difference: str = ""
    detectable: str = ""
    """The change that the reader's own error explains, in words."""
    within: bool = False
    plot: TotalsPlot | None = None
    chances: tuple[tuple[str, str], ...] = ()
    because: tuple[str, ...] = ()
    refused: str = ""


def sure_change_page(user: Asker, case: Case, index_key: str, before: str, after: str) -> SureChangePage:
    """The page of a case that comes with patient and portfolio loaded; stages as on the page of change."""
    stages = measured_stages(user, case)
    first = named_stage(stages, before) or (stages[0] if stages else None)
    last = named_stage(stages, after) or (stages[-1] if len(stages) > 1 else None)
    index = registry.index(index_key)
    page = SureChangePage(
        case=case.public_id,
        code=case.code,
        label=index.label,
        options=tuple(IndexOption(k, registry.index(k).label, k == index_key) for k in INDICES),
        before_set=str(first.record_set.public_id) if first else "",
        after_set=str(last.record_set.public_id) if last else "",
    )
    if first is None or last is None or first is last:
        return replace(page, refused="A change needs findings of two stages.")
    page = replace(page, stages=f"{first.label} to {last.label}")
    if first.sheet.reader_id != last.sheet.reader_id:
        words = "The two sheets are by different readers, so what they are off by does not cancel."
        return replace(page, refused=words)
    chosen = ways_of([case.patient.portfolio_id])[case.patient.portfolio_id].chosen[index_key]
    try:
        portfolio = case.patient.portfolio_id
        laws = tuple(_law(index_key, one, chosen, portfolio) for one in (first, last))
        found = change_law(*laws)
    except CannotBeTold as refusal:
        said = str(refusal)
        return replace(page, refused=f"{said[:1].upper()}{said[1:]}.")
    fell = laws[0].recorded - laws[1].recorded
    words, within = _detectable(first, index_key, fell)
    return replace(
        page,
        before=number_words(laws[0].recorded),
        after=number_words(laws[1].recorded),
        difference=signed(-fell),
        detectable=words,
        within=within,
        plot=totals_plot(found.difference, fell, [], "points", "fall of the total"),
        chances=_chances(found),
        because=found.because,
    )


def _law(index_key: str, one: MeasuredStage, chosen: Chosen, portfolio: int) -> ScoreLaw:
    errors = ErrorModel(
        own=errors_in_force(one.sheet.reader, portfolio),
        readings=all_readings(one.sheet, one.reading).by_place,
        step=Decimal(one.sheet.step),
    )
    return law_of(
        registry.index(index_key), one.reading, errors, Question.TRUE_SCORE, chosen.edition, chosen.values
    )


def _chances(found: ChangeLaw) -> tuple[tuple[str, str], ...]:
    low, high = found.difference.central()
    told = [
        ("The total fell at all", percent(found.less())),
        (f"It fell by {plain(low)} to {plain(high)} points", "90 %"),
    ]
    if found.improved is not None and found.greatly_improved is not None:
        told += [
            ("Improved, or greatly improved", percent(found.improved)),
            ("Greatly improved", percent(found.greatly_improved)),
        ]
    return tuple(told)


def _detectable(first: MeasuredStage, index_key: str, fell: Decimal) -> tuple[str, bool]:
    """What own repeats of totals say of a change, and whether this one is within error of measurement."""
    told = minimal_detectable_change(first.sheet.reader, index_key)
    if told is None:
        return (
            f"How large a change your own error explains is told from {FEWEST_PAIRS_SHOWN} pairs of repeated totals "
            "of this index on; there are fewer yet.",
            False,
        )
    within = abs(float(fell)) < told.mdc95
    says = "within measurement error" if within else "more than measurement error explains"
    return (
        f"From {told.pairs} pairs of your own repeated totals, changes under {told.mdc95:.1f} points are within "
        f"measurement error (95 %); this change is {says}.",
        within,
    )
