"""One case before and after: totals, rows and published verdicts of every index, between any two stages."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from desk.change.plots import Bars, ParChart, bars, par_chart
from portfolio.access import Asker, visible_sheets
from portfolio.ages import age_text, in_order
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Case, RecordSet, Sheet
from portfolio.selectors import readings_of, sheets_to_read, stage_label
from scoring import registry
from scoring.compare.par_change import WEIGHTS_OF_VERDICTS
from scoring.compare.stages import Change, Side, change
from scoring.facts import facts, figure
from scoring.indices.outcome.verdicts import BOARD_LIMIT
from scoring.moved import signed
from scoring.present import number_words, total_words
from scoring.result import Score
from scoring.selectors import Ways, limits, ways_of

BEFORE_WORDS = ("initial", "interim")


@dataclass(frozen=True, slots=True)
class StageOption:
    """One stage of the case to compare."""

    public_id: UUID
    stage: str
    ordinal: int
    label: str
    age: str
    chosen_before: bool
    chosen_after: bool


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One row of the form before and after with its bars."""

    label: str
    before: str
    after: str
    difference: str
    bars: Bars


@dataclass(frozen=True, slots=True)
class ShownChange:
    """One index before and after."""

    key: str
    label: str
    edition: str
    before: str
    after: str
    before_sheet: UUID | None
    after_sheet: UUID | None
    difference: str
    rows: tuple[ShownRow, ...]
    verdicts: tuple[tuple[str, str], ...]
    """Words and source."""
    facts: tuple[str, ...]
    cautions: tuple[str, ...]
    chart: ParChart | None
    limit: int | None
    """The total that results are held against, for the outcome evaluation."""
    own_limit: bool

    @property
    def may_be_unsure(self) -> bool:
        """Whether there is a difference of totals whose chances can be asked for."""
        return bool(self.difference) and self.key in ("discrepancy", "par", "icon")


@dataclass(frozen=True, slots=True)
class ChangePage:
    """The whole page; `changes` is empty where fewer than two stages are measured."""

    case: UUID
    code: str
    stages: tuple[StageOption, ...]
    changes: tuple[ShownChange, ...]
    residual: bool
    residual_possible: bool

    @property
    def before_set(self) -> str:
        """Which records stand before, for addresses."""
        return next((str(one.public_id) for one in self.stages if one.chosen_before), "")

    @property
    def after_set(self) -> str:
        """Which records stand after, for addresses."""
        return next((str(one.public_id) for one in self.stages if one.chosen_after), "")


@dataclass(frozen=True, slots=True)
class MeasuredStage:
    """A stage of a case with the sheet that stands for it."""

    record_set: RecordSet
    sheet: Sheet
    reading: SheetReading

    @property
    def label(self) -> str:
        return stage_label(self.record_set.stage, self.record_set.ordinal)


def change_page(user: Asker, case: Case, before: str, after: str, *, residual: bool) -> ChangePage:
    """The page of a case that comes with patient and portfolio loaded.

    `before` and `after` are public ids of record sets; others than the case's fall back to first and last.
    """
    stages = measured_stages(user, case)
    first = named_stage(stages, before) or (stages[0] if stages else None)
    last = named_stage(stages, after) or (stages[-1] if len(stages) > 1 else None)
    ways = ways_of([case.patient.portfolio_id])[case.patient.portfolio_id]
    limit = limits([case.patient.portfolio_id], "outcome").get(case.patient.portfolio_id)
    changes: list[ShownChange] = []
    if first is not None and last is not None and first is not last:
        for key in _keys(first, last, residual=residual):
            changes.append(
                _shown(key, first, last, ways, case.patient.portfolio.notation, limit, residual=residual)
            )
    return ChangePage(
        case=case.public_id,
        code=case.code,
        stages=tuple(_option(one, one is first, one is last) for one in stages),
        changes=tuple(one for one in changes if one.before or one.after),
        residual=residual,
        residual_possible=last is not None and last.record_set.stage not in BEFORE_WORDS,
    )


def measured_stages(user: Asker, case: Case) -> list[MeasuredStage]:
    """Stages in the order of treatment, each by its sheet of record, else its first working sheet."""
    rows = visible_sheets(user).filter(record_set__case=case).select_related("record_set").order_by("pk")
    chosen = sheets_to_read(rows).values()
    read = readings_of(chosen)
    sheets = {sheet.record_set: sheet for sheet in chosen}
    return [MeasuredStage(one, sheets[one], read[sheets[one].pk]) for one in in_order(sheets)]


def named_stage(stages: Sequence[MeasuredStage], public_id: str) -> MeasuredStage | None:
    return next((one for one in stages if str(one.record_set.public_id) == public_id), None)


def _option(one: MeasuredStage, is_before: bool, is_after: bool) -> StageOption:
    here = one.record_set
    return StageOption(
        here.public_id,
        here.stage,
        here.ordinal,
        one.label.capitalize(),
        "" if here.age_months is None else age_text(here.age_months),
        is_before,
        is_after,
    )


def _keys(first: MeasuredStage, last: MeasuredStage, *, residual: bool) -> Iterable[str]:
    """Indices with a meaning for one of the two stages; residual need only when it is asked for."""
    meant = {*registry.meant_for(first.reading), *registry.meant_for(last.reading)}
    return tuple(key for key in registry.INDEXES if key in meant or (key == "iotn" and residual))


def _shown(
    key: str,
    first: MeasuredStage,
    last: MeasuredStage,
    ways: Ways,
    notation: str,
    limit: int | None,
    *,
    residual: bool,
) -> ShownChange:
    index = registry.index(key)
    chosen = ways.chosen[key]
    scores = {
        one.label: registry.score(key, one.reading, chosen.edition, chosen.values, detail="lines")
        for one in (first, last)
    }
    sides = {one.label: _side(one, scores[one.label], residual=residual) for one in (first, last)}
    found = change(index, sides[first.label], sides[last.label])
    return ShownChange(
        key=key,
        label=index.label,
        edition=index.edition_words(scores[first.label].edition) if len(index.editions) > 1 else "",
        before=_total(scores[first.label], found.before),
        after=_total(scores[last.label], found.after),
        before_sheet=first.sheet.public_id if found.before else None,
        after_sheet=last.sheet.public_id if found.after else None,
        difference="" if found.difference is None else signed(found.difference),
        rows=_rows(found),
        verdicts=(
            *((f"{v.says[:1].upper()}{v.says[1:]}", v.source) for v in found.verdicts),
            *_own_verdicts(scores, found),
            *_own_limit(found, limit if key == "outcome" else None),
        ),
        facts=_facts(scores, found, notation),
        cautions=tuple(f"{words[:1].upper()}{words[1:]}." for words in found.cautions),
        chart=_chart(key, found),
        limit=(limit if limit is not None else int(BOARD_LIMIT)) if key == "outcome" else None,
        own_limit=limit is not None,
    )


def _side(one: MeasuredStage, score: Score, *, residual: bool) -> Side | None:
    """A stage's side; None where nothing that the index reads is recorded, or it has no meaning there."""
    if not score.lines:
        return None
    if score.outside and not (residual and score.index == "iotn"):
        return None
    return Side(
        one.label,
        score.total,
        score.complete,
        score.edition,
        score.categories,
        score.extra,
        one.sheet.medium,
        score.outside,
    )


def _total(score: Score, side: Side | None) -> str:
    if side is None:
        return ""
    return total_words(figure(score), score.complete) if figure(score) else "told below"


def _rows(found: Change) -> tuple[ShownRow, ...]:
    drawn = bars([(row.before, row.after) for row in found.rows])
    return tuple(
        ShownRow(
            row.label,
            number_words(row.before) or "not recorded",
            number_words(row.after) or "not recorded",
            "" if row.difference is None else signed(row.difference),
            two,
        )
        for row, two in zip(found.rows, drawn, strict=True)
    )


def _own_verdicts(scores: dict[str, Score], found: Change) -> tuple[tuple[str, str], ...]:
    """What publications say of a stage's own total, where the comparison itself does not say it."""
    said = {verdict.key for verdict in found.verdicts}
    listed = []
    for side in (found.before, found.after):
        if side is not None:
            for one in scores[side.stage].verdicts:
                if one.key not in said:
                    listed.append((f"{side.stage.capitalize()}: {one.says}", one.source))
    return tuple(listed)


def _own_limit(found: Change, limit: int | None) -> Iterator[tuple[str, str]]:
    """How the total after treatment stands to the limit that the owner has set."""
    if limit is not None and found.after is not None and found.after.firm is not None:
        stands = "not over" if found.after.firm <= limit else "over"
        yield f"{found.after.stage.capitalize()}: {stands} the limit of this portfolio, {limit}", "Own limit"


def _facts(scores: dict[str, Score], found: Change, notation: str) -> tuple[str, ...]:
    return tuple(
        f"{side.stage.capitalize()}: {fact}."
        for side in (found.before, found.after)
        if side is not None
        for fact in facts(scores[side.stage], notation)
    )


def _chart(key: str, found: Change) -> ParChart | None:
    if key != "par" or found.before is None or found.after is None or found.difference is None:
        return None
    if found.before.edition != WEIGHTS_OF_VERDICTS:
        return None
    before, after = found.before.firm or Decimal(0), found.after.firm or Decimal(0)
    return par_chart([(before, after, f"{number_words(before)} before, {number_words(after)} after")])
