"""Tables as spreadsheets write them: how they are read is told, what is doubtful is asked, faults name line and column.

The readings of encodings are held against Python's own codecs, those of separators against its csv module.
"""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from desk.case_log.table_file import COLUMNS, MOST_ROWS, Asked, TableFile, read_table

ROWS = "code;age;overjet;molar_right;state\nFA78HK23;13 y 8 m;3,5;end2;chosen\n;12;;;\n"


def said(found: TableFile) -> list[tuple[int, str]]:
    return [(fault.line, fault.column) for fault in found.faults]


def test_encodings_line_ends_and_separators_are_told_and_make_no_difference() -> None:
    text = "code;overjet;molar_left\nFA78HK23;3,5;class1\n;x 2;\n"
    plain = read_table(text.encode()).rows
    assert [(row.code, dict(row.values)) for row in plain] == [
        ("FA78HK23", {"overjet": "3.5", "molar_left": "class1"}),
        ("", {"overjet": "-2"}),
    ]
    for encoding, words in (
        ("utf-8-sig", "UTF-8 with a byte order mark"),
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16 without a byte order mark"),
        ("cp1252", "UTF-8"),
    ):
        for ends, name in (("\n", "LF"), ("\r\n", "CRLF"), ("\r", "CR")):
            found = read_table(text.replace("\n", ends).encode(encoding))
            assert [row.values for row in found.rows] == [row.values for row in plain], (encoding, name)
            assert found.how[0] == f"{words}, line ends {name}, cells separated by semicolon."
            assert found.how[1] == "1 number is written with a decimal comma, such as 3,5, read as 3.5."
            assert not found.questions
    assert "Windows-1252" in read_table("code;overjet;büro\nFA78HK23;3;é".encode("cp1252")).how[0]


def test_columns_come_in_any_order_and_under_the_names_of_the_page() -> None:
    found = read_table(b"SN-MP\tMolar right\tCase\tShelf\tOpen teeth\n38\tClass I\tfa78hk23\t4\t\n")
    assert found.columns == ("sn_mp", "molar_right", "code", "open_teeth")
    assert found.unknown == ("Shelf",)
    assert "overjet" in found.absent
    assert found.rows[0].code == "FA78HK23"
    assert dict(found.rows[0].values) == {"sn_mp": "38", "molar_right": "class1"}


def test_every_fault_is_told_with_line_and_column() -> None:
    found = read_table(
        b'code;overjet;open_teeth;state\nFA78HK23;"9.999";7;gone\nX;=1+1;NaN;done\n;1e3;;\n;1.234,5;;\n;4;;;5\n'
    )
    assert said(found) == [
        (2, "overjet"),
        (2, "open_teeth"),
        (2, "state"),
        (3, "overjet"),
        (3, "open_teeth"),
        (4, "overjet"),
        (5, "overjet"),
        (6, ""),
    ]
    words = [fault.words for fault in found.faults]
    assert "decimals" in words[0]
    assert "from 1 to 6" in words[1]
    assert "allowed: possible, chosen, done, left out" in words[2]
    assert "5 cells under 4 columns" in words[-1]


def test_files_that_are_no_table_are_refused_in_words() -> None:
    for content, words in (
        (b"PK\x03\x04rest", "spreadsheet file"),
        (b"<html>", "is no table"),
        (b'{"a": 1}', "is no table"),
        (b"\x81\x8d\x8f\x90\x9d", "not a text file"),
        (b"name;born\nAnna;1990\n", "names no column of the log; its names are code, age"),
        (b"", "names no column"),
        (b"code;overjet;Overjet\n;3;4\n", "stands twice"),
        (b"code;overjet\n", "no row beneath"),
        (b'code;overjet\n;"3\n', "not readable as CSV"),
        (b"code\n" + b"FA78HK23\n" * (MOST_ROWS + 1), f"at most {MOST_ROWS}"),
    ):
        found = read_table(content)
        assert words in found.faults[0].words, content[:20]
        assert not found.questions


def test_two_separators_that_fit_alike_are_asked_for() -> None:
    content = b"code;overjet,anb\nFA78HK23;3,4\n"
    found = read_table(content)
    assert [question.name for question in found.questions] == ["separator"]
    assert not found.rows
    semicolon, comma = (read_table(content, Asked(separator=sign)) for sign in (";", ","))
    assert semicolon.unknown == ("overjet,anb",)
    assert comma.columns == ("anb",)


def test_commas_and_points_in_one_file_are_asked_for() -> None:
    content = b"code;overjet;anb\n;3,5;4\n;3.5;4.5\n"
    found = read_table(content)
    assert [question.name for question in found.questions] == ["decimal"]
    assert "1 number is written with a comma, 2 with a point." in found.questions[0].words
    either = read_table(content, Asked(decimal="either"))
    assert [row.values["overjet"] for row in either.rows] == ["3.5", "3.5"]
    assert said(read_table(content, Asked(decimal="comma"))) == [(3, "overjet"), (3, "anb")]
    assert said(read_table(content, Asked(decimal="point"))) == [(2, "overjet")]


def test_numbers_are_taken_as_written_and_never_rounded() -> None:
    found = read_table(b"code;overjet;crowding\n;3.04;2.96\n")
    assert dict(found.rows[0].values) == {"overjet": "3.04", "crowding": "2.96"}


@given(
    st.lists(st.lists(st.text(max_size=6), min_size=14, max_size=14), min_size=1, max_size=4),
    st.sampled_from(";,\t"),
)
def test_whatever_stands_in_the_cells_is_read_or_refused(cells: list[list[str]], separator: str) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows([COLUMNS, *cells])
    found = read_table(out.getvalue().encode("utf-8", "replace"))
    assert found.faults or found.rows or found.questions
