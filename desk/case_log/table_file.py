"""A table of possible cases as people send it: how it was read, what is doubtful, rows, and every fault by line.

Nothing here looks at stored rows.  Values are taken as they are written, never rounded.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from portfolio.case_log.answers import BY_KEY, FIELDS, AnswerRefused, answered
from portfolio.case_log.rows import STATE, STATES, ImportRow
from portfolio.text_files import (
    SEPARATORS,
    NoTable,
    Row,
    decoded,
    folded_name,
    line_ends,
    separators_that_fit,
    table,
)

MOST_ROWS = 5000
MOST_COLUMNS = 60
CODE = "code"
TOLD_ONLY = "at_least"
"""A column of the log's own file that is worked out anew and not read."""
COLUMNS = (CODE, *("age" if f.key == "age_months" else f.key for f in FIELDS), STATE)
"""The columns of a file, in the order of the log."""
_KEYS = {"age": "age_months"}
_NAMES = {
    **{folded_name(name): _KEYS.get(name, name) for name in COLUMNS},
    **{folded_name(f.label): f.key for f in FIELDS},
    folded_name("case"): CODE,
    folded_name(TOLD_ONLY): TOLD_ONLY,
}
_NUMBERS = frozenset(f.key for f in FIELDS if f.kind == "number")
_COMMA, _POINT = re.compile(r"[0-9],[0-9]", re.ASCII), re.compile(r"[0-9]\.[0-9]", re.ASCII)
DECIMALS = {"comma": "the comma alone", "point": "the point alone", "either": "both"}


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person has decided about a doubtful file; empty for what the file says itself."""

    separator: str = ""
    decimal: str = ""


@dataclass(frozen=True, slots=True)
class TableFault:
    """One thing that is wrong: the line of the file (0 for the whole), the column, and words with what is allowed."""

    line: int
    column: str
    words: str


@dataclass(frozen=True, slots=True)
class Question:
    """A place where the file can be read in several ways: its name and the answers offered."""

    name: str
    words: str
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class TableFile:
    """A file that was read.  With faults or questions nothing can be imported yet."""

    how: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    rows: tuple[ImportRow, ...] = ()
    faults: tuple[TableFault, ...] = ()
    questions: tuple[Question, ...] = ()


@dataclass(slots=True)
class _Reading:
    """What reading the cells found so far."""

    faults: list[TableFault] = field(default_factory=list)
    rows: list[ImportRow] = field(default_factory=list)


def read_table(content: bytes, asked: Asked | None = None) -> TableFile:
    """The rows of a file's bytes, with everything that has to be said or asked about it."""
    asked = asked or Asked()
    if content.startswith(b"PK\x03\x04"):
        return _refused("is a spreadsheet file: save it as CSV, or copy its cells and paste them")
    try:
        text, encoding = decoded(content)
    except NoTable as refusal:
        return _refused(f"{refusal}: save the table as CSV UTF-8, or copy its cells and paste them")
    if text.lstrip()[:1] in ("<", "{", "["):
        return _refused("is no table, whatever its name ends in: save the table as CSV")
    fit = separators_that_fit(text, _NAMES)
    if not fit:
        return _refused(
            f"begins with a line that names no column of the log; its names are {', '.join(COLUMNS)}"
        )
    if asked.separator not in SEPARATORS and len(fit) > 1:
        offered = tuple((s, SEPARATORS[s]) for s in fit)
        return TableFile(
            how=(f"{encoding}.",),
            questions=(Question("separator", "Cells of this file can be separated by", offered),),
        )
    separator = asked.separator if asked.separator in SEPARATORS else fit[0]
    how = (f"{encoding}, line ends {line_ends(text)}, cells separated by {SEPARATORS[separator]}.",)
    try:
        return _read(table(text, separator), how, asked)
    except NoTable as refusal:
        return TableFile(how=how, faults=(TableFault(refusal.line, "", f"{refusal}."),))


def _refused(words: str) -> TableFile:
    return TableFile(faults=(TableFault(0, "", f"The file {words}."),))


def _read(found: Sequence[Row], how: tuple[str, ...], asked: Asked) -> TableFile:
    heading, rows = found[0], found[1:]
    keys, unknown, faults = _columns(heading)
    if len(rows) > MOST_ROWS:
        faults.append(
            TableFault(0, "", f"The file has {len(rows)} rows; at most {MOST_ROWS} are taken at once.")
        )
    if not rows:
        faults.append(TableFault(heading.line, "", "There is a heading and no row beneath it."))
    if faults:
        return TableFile(how=how, unknown=unknown, faults=tuple(faults))
    commas, points = _decimals(rows, keys)
    if commas:
        how += (f"{_numbers(commas)} written with a decimal comma, such as 3,5, read as 3.5.",)
    questions: tuple[Question, ...] = ()
    if commas and points and asked.decimal not in DECIMALS:
        words = f"{_numbers(commas)} written with a comma, {points} with a point. The decimal sign is"
        questions = (Question("decimal", words, tuple(DECIMALS.items())),)
    read = _Reading()
    for row in rows:
        _read_row(read, row, keys, asked.decimal)
    known = [key for key in keys if key and key != TOLD_ONLY]
    return TableFile(
        how=how,
        columns=tuple(known),
        unknown=unknown,
        absent=tuple(name for name in COLUMNS if _KEYS.get(name, name) not in known),
        rows=tuple(read.rows),
        faults=tuple(read.faults),
        questions=questions,
    )


def _columns(heading: Row) -> tuple[list[str], tuple[str, ...], list[TableFault]]:
    """Key of each column, empty for one to be left out; names that are not known; faults of the heading."""
    keys: list[str] = []
    unknown: list[str] = []
    faults: list[TableFault] = []
    if len(heading.cells) > MOST_COLUMNS:
        faults.append(
            TableFault(heading.line, "", f"{len(heading.cells)} columns; at most {MOST_COLUMNS} are taken.")
        )
    for cell in heading.cells[:MOST_COLUMNS]:
        name = " ".join(cell.split())
        key = _NAMES.get(folded_name(name), "")
        if key and key in keys:
            faults.append(TableFault(heading.line, name, "This column stands twice; take one of them out."))
        if not key and name:
            unknown.append(name[:60])
        keys.append(key)
    return keys, tuple(unknown), faults


def _decimals(rows: Sequence[Row], keys: Sequence[str]) -> tuple[int, int]:
    """How many cells with numbers have a decimal comma, and how many a point."""
    commas = points = 0
    for row in rows:
        for key, cell in zip(keys, row.cells, strict=False):
            if key in _NUMBERS:
                commas += bool(_COMMA.search(cell))
                points += bool(_POINT.search(cell))
    return commas, points


def _numbers(count: int) -> str:
    return "1 number is" if count == 1 else f"{count} numbers are"


def _read_row(read: _Reading, row: Row, keys: Sequence[str], decimal: str) -> None:
    if any(cell.strip() for cell in row.cells[len(keys) :]):
        words = (
            f"{len(row.cells)} cells under {len(keys)} columns. A number with a decimal comma needs another separator "
            "than the comma, or quotes."
        )
        read.faults.append(TableFault(row.line, "", words))
        return
    code, values, faults = "", {}, []
    for key, cell in zip(keys, row.cells, strict=False):
        plain = " ".join(cell.split())
        if not key or key == TOLD_ONLY or not plain:
            continue
        if key == CODE:
            code = plain.upper()
            continue
        try:
            values[key] = _value(key, plain, decimal)
        except AnswerRefused as refusal:
            faults.append(TableFault(row.line, column_name(key), str(refusal)))
    read.faults += faults
    read.rows.append(ImportRow(row.line, code, values))


def _value(key: str, plain: str, decimal: str) -> str:
    if key == STATE:
        for state, words in STATES.items():
            if plain.casefold() in (state, words):
                return state
        raise AnswerRefused(f'"{plain[:40]}" is not known here; allowed: {", ".join(STATES.values())}.')
    if key in _NUMBERS:
        if decimal == "point" and _COMMA.search(plain):
            raise AnswerRefused(f'"{plain[:40]}" has a comma; the decimal sign of this file is the point.')
        if decimal == "comma" and _POINT.search(plain):
            raise AnswerRefused(f'"{plain[:40]}" has a point; the decimal sign of this file is the comma.')
    return answered(key, plain, step="0.01").value


def column_name(key: str) -> str:
    """The name of a column as files write it."""
    return "age" if key == "age_months" else key


def labels(keys: Sequence[str]) -> Iterator[str]:
    """Headings for columns given by key."""
    for key in keys:
        yield {CODE: "Case", STATE: "State"}.get(key) or BY_KEY[key].label
