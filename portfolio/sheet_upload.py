"""Sheet files as people send them: any usual encoding and separator, read with words on how they were read.

The format itself is comma and UTF-8 (`readings`); what spreadsheets make of it is taken here, by `text_files`,
and said to the person before anything is stored.
"""

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

from portfolio.readings import Fault, Sheet, SheetRefused, read_csv_rows, read_json
from portfolio.text_files import SEPARATORS, NoTable, decoded

NUMBER_COLUMNS = ("value", "sd")
_COMMA_NUMBER = re.compile(r"-?[0-9]+,[0-9]+", re.ASCII)


@dataclass(frozen=True, slots=True)
class Upload:
    """A sheet and how the file was read, one sentence each."""

    sheet: Sheet
    how: tuple[str, ...]


def read_upload(content: bytes) -> Upload:
    """A sheet from the bytes of a JSON or CSV file; SheetRefused with every fault."""
    text, how = _decoded(content)
    if text.lstrip()[:1] in ("{", "["):
        return Upload(read_json(text), (f"JSON, {how}.",))
    if text.lstrip()[:1] == "<":
        words = (
            "is a web page or another marked-up file, whatever its name ends in; take the sheet file itself"
        )
        raise SheetRefused([Fault("file", words)])
    return _read_table(text, how)


def _decoded(content: bytes) -> tuple[str, str]:
    """The text and the words for its encoding."""
    try:
        return decoded(content)
    except NoTable as refusal:
        words = f"{refusal}: save the sheet as CSV UTF-8 or JSON"
        raise SheetRefused([Fault("file", words)]) from None


def _read_table(text: str, encoding: str) -> Upload:
    separator = _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            rows.append((reader.line_num, row))
    except csv.Error as error:
        raise SheetRefused([Fault(f"line {reader.line_num}", f"is not readable as CSV: {error}")]) from None
    rows, commas = _with_points(rows)
    how = [f"CSV, {encoding}, cells separated by {SEPARATORS[separator]}."]
    if commas:
        how.append(f"Numbers with a decimal comma, such as 3,5, are read with a point: {commas}.")
    return Upload(read_csv_rows(rows), tuple(how))


def _separator(text: str) -> str:
    """The separator that cuts a header row out of the text, else the commonest, else the comma."""
    lines = re.split(r"\r\n|\r|\n", text)
    for line in lines:
        for separator in SEPARATORS:
            if (
                "quantity" in (cell.strip().strip('"') for cell in line.split(separator))
                and separator in line
            ):
                return separator
    counted = Counter(character for line in lines[:20] for character in line if character in SEPARATORS)
    return counted.most_common(1)[0][0] if counted else ","


def _with_points(rows: list[tuple[int, list[str]]]) -> tuple[list[tuple[int, list[str]]], int]:
    """Rows whose numbers carry a decimal point, and how many carried a comma."""
    columns: list[int] = []
    changed = 0
    found = []
    for line, row in rows:
        cells = list(row)
        if not columns and "quantity" in (cell.strip() for cell in cells):
            columns = [number for number, cell in enumerate(cells) if cell.strip() in NUMBER_COLUMNS]
        for column in columns:
            if column < len(cells) and _COMMA_NUMBER.fullmatch(cells[column].strip()):
                cells[column] = cells[column].replace(",", ".")
                changed += 1
        found.append((line, cells))
    return found, changed
