"""Text and tables as people send them: any usual encoding, separator and line end, told in words.

What spreadsheets make of a file is taken here and nowhere else, so that a page can say how it was read before
anything is stored.
"""

import codecs
import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8 with a byte order mark"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_LINE_ENDS = (("\r\n", "CRLF"), ("\n", "LF"), ("\r", "CR"))
NO_TEXT = "is not a text file"


class NoTable(ValueError):
    """Bytes or text that cannot be read as a table; `line` is 0 where no line can be named."""

    def __init__(self, words: str, line: int = 0) -> None:
        self.line = line
        super().__init__(words)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table and the line of the file on which it ends."""

    line: int
    cells: tuple[str, ...]


def decoded(content: bytes) -> tuple[str, str]:
    """The text and the words for its encoding; NoTable for bytes that are no text."""
    for mark, encoding, words in _MARKS:
        if content.startswith(mark):
            return _decode(content, encoding), words
    start = content[:400]
    if b"\0" in start:
        encoding = "utf-16-le" if start[1::2].count(0) >= start[::2].count(0) else "utf-16-be"
        return _decode(content, encoding), "UTF-16 without a byte order mark"
    try:
        return content.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        words = "not UTF-8, read as Windows-1252; look at the letters with accents"
        return _decode(content, "cp1252"), words


def _decode(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError:
        raise NoTable(NO_TEXT) from None


def line_ends(text: str) -> str:
    """`CRLF`, `LF`, `CR`, several of them, or `none` for a single line."""
    rest, found = text, []
    for ends, name in _LINE_ENDS:
        if ends in rest:
            found.append(name)
            rest = rest.replace(ends, " ")
    return " and ".join(found) or "none"


def separators_that_fit(text: str, names: Iterable[str]) -> tuple[str, ...]:
    """Separators that cut most of the known column names out of the first line with words.

    Several where they cut equally many; none where no known name stands alone.
    """
    known = frozenset(names)
    first = next((line for line in text.splitlines() if line.strip()), "")
    counts = {}
    for separator in SEPARATORS:
        cells = {folded_name(cell.strip().strip('"')) for cell in first.split(separator)}
        counts[separator] = len(cells & known)
    most = max(counts.values())
    if not most:
        return ()
    fit = tuple(separator for separator, count in counts.items() if count == most)
    standing = tuple(separator for separator in fit if separator in first)
    return standing or (",",)


def folded_name(name: str) -> str:
    """A column name without what people write in other ways: `Molar right`, `molar_right` and `MOLAR-RIGHT` are one."""
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def table(text: str, separator: str) -> tuple[Row, ...]:
    """The rows of a text, empty ones left out; NoTable names the line that cannot be read."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[Row] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append(Row(reader.line_num, tuple(cells)))
    except csv.Error as error:
        raise NoTable(f"is not readable as CSV: {error}", reader.line_num) from None
    return tuple(rows)
