"""What the page of chances shows: the law of a total, findings near a step, findings that matter for a threshold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from desk.how_sure.limits import NamedLimit
from desk.how_sure.plot import TotalsPlot, totals_plot
from desk.score_page import CAUTION, Head, head
from portfolio.error_figures.selectors import errors_in_force
from portfolio.models import Sheet
from portfolio.repeating.all_readings import Place, Readings, all_readings
from portfolio.repeating.selectors import Kept, kept
from portfolio.wording import quantity_words, site_words, value_words
from scoring.line_names import anchors_by_place
from scoring.present import number_words
from scoring.selectors import Scored
from scoring.shapes import plain
from scoring.uncertainty import (
    CannotBeTold,
    ErrorModel,
    NumberLaw,
    Question,
    ScoreLaw,
    if_repeated,
    law_of,
    leave_one_out,
    near_a_step,
    number_laws,
    percent,
)

Lines = Mapping[Place, str]
"""A finding's place → the anchor of its line on the point-by-point page."""
MORE_READINGS = 2
WITHOUT_POINTS = ("tooth_size", "space")
NUMBER_WORDS = {
    "upper": "Upper arch, space less what is required (− is short)",
    "lower": "Lower arch, space less what is required (− is short)",
    "overall_percent": "Overall ratio of tooth widths",
    "anterior_percent": "Anterior ratio of tooth widths",
}
"""Numbers of indices that give lengths or ratios, not points."""
MOST_NEAR, MOST_MATTERS = 12, 8
LEAST_SD = 0.005
"""Findings that move the chance of a threshold by less are not listed."""


@dataclass(frozen=True, slots=True)
class Reached:
    """A threshold and the chances on either side of it."""

    at: str
    chance: str
    under: str


@dataclass(frozen=True, slots=True)
class LimitChance:
    """A limit of a plan in words and the chance that it is kept."""

    label: str
    words: str
    chance: str


@dataclass(frozen=True, slots=True)
class RowRange:
    """One row of the form: recorded points and the range that holds 90 per cent."""

    label: str
    key: str
    recorded: str
    low: str
    high: str
    firm: bool


@dataclass(frozen=True, slots=True)
class Length:
    """A number that is no sum of points: recorded, its error and the range that holds 90 per cent."""

    label: str
    recorded: str
    sd: str
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class Near:
    """A finding near a step: how near in its unit and in deviations, and what lies beyond."""

    label: str
    where: str
    value: str
    at: str
    z: str
    beyond: str
    change: str
    up: bool
    quantity: str
    line: str
    """The anchor of its line on the point-by-point page."""


@dataclass(frozen=True, slots=True)
class Matter:
    """A finding that the chance of a threshold hangs on."""

    label: str
    where: str
    moves: str
    spread: str
    again: str
    quantity: str
    line: str
    """The anchor of its line on the point-by-point page; empty where no line names it."""


@dataclass(frozen=True, slots=True)
class Matters:
    """Findings that matter for one threshold, most first."""

    at: str
    chance: str
    findings: tuple[Matter, ...]


@dataclass(frozen=True, slots=True)
class HowSurePage:
    """Everything on the page; `refused` says why nothing can be told."""

    head: Head
    question: Question
    recorded: str = ""
    complete: bool = True
    counted_in: str = "points"
    plot: TotalsPlot | None = None
    median: str = ""
    low: str = ""
    high: str = ""
    exactly: str = ""
    reached: tuple[Reached, ...] = ()
    limits: tuple[LimitChance, ...] = ()
    rows: tuple[RowRange, ...] = ()
    lengths: tuple[Length, ...] = ()
    near: tuple[Near, ...] = ()
    matters: tuple[Matters, ...] = ()
    because: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    refused: str = ""
    caution: str = CAUTION


def how_sure_page(
    row: Sheet,
    scored: Scored,
    thresholds: Sequence[Decimal],
    question: Question,
    *,
    limits: Sequence[NamedLimit] = (),
) -> HowSurePage:
    """The page of a sheet by one index; nothing of it is stored.

    `limits` are those of a plan: each has its chance, and where no total is typed theirs are asked for.
    """
    top = head(row, scored.index.key, scored.index.label)
    repeated = all_readings(row, scored.reading)
    errors = ErrorModel(
        own=errors_in_force(row.reader, row.record_set.case.patient.portfolio_id),
        readings=repeated.by_place,
        step=Decimal(row.step),
    )
    if not scored.score.lines:
        return HowSurePage(top, question, refused="Nothing is on the sheet yet.")
    terms = scored.chosen.edition, scored.chosen.values
    try:
        if scored.index.key in WITHOUT_POINTS:
            return _numbers(
                HowSurePage(top, question),
                number_laws(scored.index, scored.reading, errors, question, scored.chosen.values),
            )
        law = law_of(scored.index, scored.reading, errors, question, *terms)
    except CannotBeTold as refusal:
        return HowSurePage(top, question, refused=str(refusal))
    asked = tuple(thresholds) or _totals(law, limits) or (law.recorded,)
    lines = anchors_by_place(scored.score)
    low, high = law.total.central()
    return HowSurePage(
        head=top,
        question=question,
        recorded=number_words(law.recorded),
        complete=law.complete,
        counted_in=scored.index.counted_in,
        plot=totals_plot(law.total, law.recorded, asked, scored.index.counted_in, "total"),
        median=number_words(law.total.median),
        low=number_words(low),
        high=number_words(high),
        exactly=percent(law.total.probabilities.get(law.recorded, 0.0)),
        reached=tuple(_reached(law, one) for one in asked),
        limits=tuple(_limit(law, one) for one in limits),
        rows=_rows(law),
        near=_near(law, scored.notation, lines),
        matters=tuple(_matters(law, one, scored.notation, lines) for one in asked),
        because=law.because,
        readings=_reading_words(repeated, kept(row.reader)) if repeated.repeats else (),
    )


def _numbers(page: HowSurePage, laws: Mapping[str, NumberLaw | CannotBeTold]) -> HowSurePage:
    """The page of an index without points; it says why where none of its numbers can be told."""
    told = [law for law in laws.values() if isinstance(law, NumberLaw)]
    if not told:
        return replace(page, refused=" ".join(dict.fromkeys(str(one) for one in laws.values())))
    return replace(page, lengths=tuple(map(_length, told)), because=told[0].because)


def _length(law: NumberLaw) -> Length:
    unit = "mm" if law.unit == "mm" else "%"
    low, high = law.central()
    return Length(
        label=NUMBER_WORDS.get(law.key, law.key),
        recorded=f"{_two(float(law.recorded))} {unit}",
        sd=f"± {law.sd:.2f} {unit}",
        low=_two(low),
        high=f"{_two(high)} {unit}",
    )


def _two(number: float) -> str:
    return f"{number:.2f}".replace("-", "−")


def _reached(law: ScoreLaw, threshold: Decimal) -> Reached:
    chance = law.total.at_least(threshold)
    return Reached(number_words(threshold), percent(chance), percent(1 - chance))


def _totals(law: ScoreLaw, limits: Sequence[NamedLimit]) -> tuple[Decimal, ...]:
    """The totals at which limits are reached or passed, in ascending order."""
    reached = {one.at_least for one in limits if one.at_least is not None}
    passed = {one.at_most + law.total.unit for one in limits if one.at_most is not None}
    return tuple(sorted(reached | passed))


def _limit(law: ScoreLaw, limit: NamedLimit) -> LimitChance:
    low, high = limit.at_least, limit.at_most
    chance = law.total.at_least(low) if low is not None else 1.0
    words = [f"{number_words(low)} or more"] if low is not None else []
    if high is not None:
        chance -= law.total.at_least(high + law.total.unit)
        words.append(f"{number_words(high)} or fewer")
    return LimitChance(limit.label, " and ".join(words), percent(max(chance, 0.0)))


def _rows(law: ScoreLaw) -> tuple[RowRange, ...]:
    found = []
    for key, label in law.index.categories.items():
        recorded = law.categories[key]
        if recorded is None:
            continue
        low, high = law.category(key).central()
        found.append(
            RowRange(label, key, number_words(recorded), number_words(low), number_words(high), low == high)
        )
    return tuple(found)


def _near(law: ScoreLaw, notation: str, lines: Lines) -> tuple[Near, ...]:
    found = []
    for one in near_a_step(law)[:MOST_NEAR]:
        finding = one.findings[0]
        found.append(
            Near(
                label=quantity_words(finding.quantity),
                where=site_words(one.site, notation),
                value=value_words(finding.quantity, finding.value),
                at=value_words(finding.quantity, plain(one.at)),
                z=f"{one.z:.1f}",
                beyond=percent(one.beyond),
                change=number_words(abs(one.change)),
                up=one.change > 0,
                quantity=finding.quantity,
                line=lines.get((finding.quantity, finding.site), ""),
            )
        )
    return tuple(found)


def _matters(law: ScoreLaw, threshold: Decimal, notation: str, lines: Lines) -> Matters:
    listed = []
    for one in leave_one_out(law, threshold)[:MOST_MATTERS]:
        if one.sd < LEAST_SD:
            break
        quantity = one.places[0][0]
        listed.append(
            Matter(
                label=" with ".join(dict.fromkeys(quantity_words(q) for q, _ in one.places)),
                where=", ".join(dict.fromkeys(_site(site, notation) for _, site in one.places)),
                moves=percent(one.sd),
                spread=percent(one.spread),
                again=_again(law, one.places, threshold),
                quantity=quantity,
                line=next((lines[place] for place in one.places if place in lines), ""),
            )
        )
    return Matters(number_words(threshold), percent(law.total.at_least(threshold)), tuple(listed))


def _site(site: str, notation: str) -> str:
    """A site in words; a second entry at one site is told by its number."""
    name, _, number = site.partition("#")
    return f"{site_words(name, notation)} ({number})" if number else site_words(name, notation)


def _again(law: ScoreLaw, places: Sequence[Place], threshold: Decimal) -> str:
    """Where the chance would lie after more readings, or why more readings tell nothing."""
    if len(places) > 1:
        return "worked out of several findings"
    try:
        told = if_repeated(law, places[0], MORE_READINGS, threshold)
    except CannotBeTold as refusal:
        return str(refusal).rpartition("; ")[2]
    low, high = percent(told.low), percent(told.high)
    return "no change worth naming" if low == high else f"{low} to {high}, up or down"


def _reading_words(repeated: Readings, told: Kept) -> tuple[str, ...]:
    """How many repeats are counted here and how many are not, in words."""
    said = []
    if repeated.repeats:
        said.append(
            f"{len(repeated.by_place)} numbers were read more than once, in {repeated.repeats} "
            f"repeat{'' if repeated.repeats == 1 else 's'}; all readings count, and their mean stands in the "
            "chances. The recorded numbers stay."
        )
    if told.left_out or told.given_up:
        said.append(
            f"Not counted, each with a written reason: {told.left_out} repeats left out, {told.given_up} given up."
        )
    return tuple(said)
