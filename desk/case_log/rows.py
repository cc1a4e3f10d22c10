"""One row of the case log as its page shows it: fields, the least total, and the score where one was measured."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from desk.repeats.shut import open_cases
from desk.standing_words import LISTED, StandingWords, has_a_meaning, standing_words
from portfolio.access import Asker, visible_sheets
from portfolio.case_log.answers import FIELDS, Answers, LogField, read_answers, shown
from portfolio.case_log.rows import STATE, STATES, lowered
from portfolio.models import Case, Portfolio, Sheet, SheetPurpose
from portfolio.quantities.radiograph import PLANE_LABELS
from portfolio.wording import in_sentence
from scoring.indices.discrepancy.estimate import Choices, Estimate, EstimateLine, estimate, in_force
from scoring.present import number_words
from scoring.selectors import Chosen, chosen, standing_scores

NUMBER_WORDS = (
    "none",
    "one thing",
    *(f"{w} things" for w in "two three four five six seven eight nine ten eleven twelve".split()),
)


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a list."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the log: heading, unit, and the definition that its help tells."""

    key: str
    label: str
    unit: str
    definition: str


@dataclass(frozen=True, slots=True)
class LogCell:
    """One field of a row: the stored value, the text in its field, and the choices where it has any."""

    key: str
    label: str
    unit: str
    value: str
    text: str
    options: tuple[Option, ...]
    is_wide: bool


@dataclass(frozen=True, slots=True)
class FloorLine:
    """What one answer comes to, by the words of the index's rule."""

    rule: str
    points: str
    source: str


@dataclass(frozen=True, slots=True)
class FloorWords:
    """The least total for the eye; `figure` is empty where there is none, `words` says why."""

    figure: str
    words: str
    lines: tuple[FloorLine, ...]
    not_asked: tuple[str, ...]
    not_asked_words: str
    not_told: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LogRow:
    """One row.  `score` is measured and counts where `sheet` is given; `broken` names fields that could not be read."""

    public_id: UUID
    code: str
    cells: tuple[LogCell, ...]
    floor: FloorWords
    sheet: UUID | None
    score: StandingWords
    broken: tuple[str, ...]
    is_shut: bool


@dataclass(frozen=True, slots=True)
class Reading:
    """By what the rows of a portfolio are read: rule choices, and the plane that SN–MP is taken to."""

    choices: Choices
    plane: str


def reading_of(portfolio: Portfolio) -> Reading:
    """The rule choices of the portfolio for the discrepancy index; one query."""
    found: Chosen = chosen(portfolio, LISTED)
    return Reading(in_force(found.values), found.values["mandibular_plane"])


def columns(reading: Reading) -> tuple[Column, ...]:
    """The columns of answers, then the state."""
    made = [Column(f.key, f.label, f.unit, _definition(f, reading)) for f in FIELDS]
    return (*made, Column(STATE, "State", "", "Possible, chosen, done or left out."))


def _definition(field: LogField, reading: Reading) -> str:
    if field.key != "sn_mp":
        return field.definition
    return f"{field.definition} Taken to {PLANE_LABELS[reading.plane]}, the rule choice of this portfolio."


def log_rows(user: Asker, cases: Sequence[Case], reading: Reading) -> tuple[LogRow, ...]:
    """The rows of the cases, in their order; the number of queries does not depend on how many they are."""
    shut = set(open_cases(user)) if cases else set()
    sheets = _measured(user, [case for case in cases if case.pk not in shut])
    scores = standing_scores(list(sheets.values()), LISTED) if sheets else {}
    rows = []
    for case in cases:
        sheet = sheets.get(case.pk)
        words = standing_words(scores.get(sheet.pk)) if sheet else StandingWords()
        rows.append(_row(case, reading, sheet if words.figure else None, words, case.pk in shut))
    return tuple(rows)


def _measured(user: Asker, cases: Sequence[Case]) -> dict[int, Sheet]:
    """Case → working sheet of its first records before treatment, where something was recorded on it."""
    rows = visible_sheets(user).filter(
        record_set__case__in=cases, purpose=SheetPurpose.WORKING, version__gt=0
    )
    found: dict[int, Sheet] = {}
    for sheet in rows.select_related("record_set__case__patient").order_by("record_set__ordinal", "pk"):
        if sheet.record_set.stage == "initial" and has_a_meaning(sheet.record_set):
            found.setdefault(sheet.record_set.case_id, sheet)
    return found


def _row(case: Case, reading: Reading, sheet: Sheet | None, score: StandingWords, is_shut: bool) -> LogRow:
    answers, broken = read_answers(case.estimate)
    return LogRow(
        public_id=case.public_id,
        code=case.code,
        cells=() if is_shut else cells(case.state, answers),
        floor=floor_words(Estimate(None) if is_shut else estimate(answers, reading.choices)),
        sheet=sheet.public_id if sheet else None,
        score=score,
        broken=broken,
        is_shut=is_shut,
    )


def cells(state: str, answers: Answers) -> tuple[LogCell, ...]:
    """The fields of a row, in the order of the columns."""
    made = [_cell(field, answers.text(field.key)) for field in FIELDS]
    states = tuple(Option(key, words, key == state) for key, words in STATES.items())
    return (*made, LogCell(STATE, "State", "", state, state, states, is_wide=False))


def _cell(field: LogField, value: str) -> LogCell:
    options: tuple[Option, ...] = ()
    if field.kind == "choice":
        options = (
            Option("", "–", not value),
            *(Option(code, words, code == value) for code, words in field.words),
        )
    is_wide = field.kind in ("choice", "age")
    return LogCell(field.key, field.label, field.unit, value, shown(field.key, value), options, is_wide)


def floor_words(found: Estimate) -> FloorWords:
    """The estimate in words."""
    figure = "" if found.floor is None else number_words(found.floor)
    return FloorWords(
        figure=figure,
        words=(f"{found.outside[0].upper()}{found.outside[1:]}." if found.outside else "")
        or ("" if figure else "nothing said yet"),
        lines=tuple(
            FloorLine(_rule(one), number_words(one.points), _source(one.source, one.certainty))
            for one in found.lines
        ),
        not_asked=tuple(in_sentence(key) for key in found.not_asked),
        not_asked_words=_things(len(found.not_asked)),
        not_told=tuple(lowered(name) for name in found.not_told),
        notes=found.notes,
    )


def _rule(one: EstimateLine) -> str:
    words = f"{one.rule[0].upper()}{one.rule[1:]}"
    if one.times == 1:
        return words
    return f"{one.label}: no tooth" if not one.times else f"{words}, on {one.times} teeth"


def _source(source: str, certainty: str) -> str:
    return source if certainty in ("read", "practice") else f"{source} ({certainty})"


def _things(count: int) -> str:
    return NUMBER_WORDS[count] if count < len(NUMBER_WORDS) else f"{count} things"


def floor_key(least: Decimal | None) -> Decimal:
    """What rows are sorted by: rows without a floor come last from the top."""
    return Decimal(-1) if least is None else least


def field_states(row: LogRow) -> Mapping[str, Mapping[str, str]]:
    """Key → stored value and shown text, as the page's script keeps them."""
    return {cell.key: {"value": cell.value, "text": cell.text} for cell in row.cells}
