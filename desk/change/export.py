"""A caseload as CSV and as a spreadsheet: text cells made harmless, numbers as numbers, what is missing as a word."""

import csv
import io
from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from desk.change.many import ONE_SIDED, Many, Pair
from scoring.compare.caseload import Spread
from scoring.compare.par_change import VERDICT_WORDS
from scoring.shapes import plain

Cell = str | Decimal
RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
"""Beginnings that a spreadsheet may take for a formula, and the sign that would hide one."""
HUNDREDTH = Decimal("0.01")
NO_NUMBER = "not told"


def harmless(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe goes before a risky beginning."""
    return f"'{text}" if text.startswith(RISKY) else text


def rounded(number: Decimal | None) -> Cell:
    """A number to two decimals, half away from zero; a word for none."""
    return NO_NUMBER if number is None else number.quantize(HUNDREDTH, ROUND_HALF_UP).normalize() + 0


def heading(found: Many) -> tuple[str, ...]:
    """Names of the columns."""
    return (
        "case",
        f"{found.label} {found.wanted.before}",
        f"{found.label} {found.wanted.after}",
        "change",
        "reduction in per cent",
        "verdict",
        "media",
        "edition",
    )


def cells(found: Many, pair: Pair) -> tuple[Cell, ...]:
    """One case in the order of the columns."""
    return (
        pair.code,
        pair.before_words if pair.before is None else pair.before,
        pair.after_words if pair.after is None else pair.after,
        NO_NUMBER if pair.difference is None else pair.difference,
        rounded(pair.percent),
        pair.verdict or NO_NUMBER,
        pair.media or ("the same" if pair.both_there else NO_NUMBER),
        found.edition,
    )


def csv_text(found: Many) -> str:
    """The table as CSV: comma, quotes where needed, numbers with a decimal point."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(harmless(name) for name in heading(found))
    for pair in found.pairs:
        writer.writerow(_csv_cell(cell) for cell in cells(found, pair))
    return out.getvalue()


def _csv_cell(cell: Cell) -> str:
    return plain(cell) if isinstance(cell, Decimal) else harmless(cell)


def workbook(found: Many) -> bytes:
    """The table and its summary as a spreadsheet of two sheets; numbers are numbers, text is never a formula."""
    book = Workbook(write_only=True)
    for title, rows in (("cases", _case_rows(found)), ("summary", summary(found))):
        sheet = book.create_sheet(title)
        assert isinstance(sheet, WriteOnlyWorksheet)
        for row in rows:
            sheet.append([_sheet_cell(sheet, cell) for cell in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _case_rows(found: Many) -> Iterator[Sequence[Cell]]:
    yield heading(found)
    for pair in found.pairs:
        yield cells(found, pair)


def _sheet_cell(sheet: WriteOnlyWorksheet, cell: Cell) -> Any:
    made = WriteOnlyCell(sheet, value=float(cell) if isinstance(cell, Decimal) else harmless(cell))
    if not isinstance(cell, Decimal):
        made.data_type = "s"
    return made


def summary(found: Many) -> Iterator[tuple[Cell, ...]]:
    """The figures of the page, one a row."""
    yield ("figure", "cases", "mean", "standard deviation", "least", "greatest")
    yield _spread(f"{found.label} {found.wanted.before}", found.before)
    yield _spread(f"{found.label} {found.wanted.after}", found.after)
    if found.wanted.index not in ONE_SIDED:
        yield _spread("change", found.difference)
    for row in found.rows:
        yield _spread(f"{row.label}, change", row.difference)
    if found.par is not None:
        yield ("mean of the per cents", Decimal(found.par.n), rounded(found.par.mean_of_percents))
        yield ("per cent of the means", Decimal(found.par.n), rounded(found.par.percent_of_means))
        for verdict, count in found.par.counts.items():
            yield (VERDICT_WORDS[verdict], Decimal(count), rounded(found.par.share(verdict)))
    for words, count in found.left_out:
        yield (f"left out: {words}", Decimal(count))


def _spread(name: str, found: Spread | None) -> tuple[Cell, ...]:
    if found is None:
        return (name, Decimal(0), NO_NUMBER, NO_NUMBER, NO_NUMBER, NO_NUMBER)
    return (
        name,
        Decimal(found.n),
        *(rounded(v) for v in (found.mean, found.sd, found.least, found.greatest)),
    )
