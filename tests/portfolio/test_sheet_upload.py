"""What spreadsheets make of a sheet file is read, and said."""

from __future__ import annotations

import pytest

from portfolio.readings import SheetRefused
from portfolio.sheet_upload import read_upload

LINES = (
    "#sheet,1",
    "#stage,initial",
    "#dentition,permanent",
    "quantity,site,value,note",
    "overjet,11,3.5,café",
)


def text_of(separator: str = ",", end: str = "\r\n", number: str = "3.5") -> str:
    lines = [line.replace(",", separator) for line in LINES]
    return end.join(lines).replace("3.5", number) + end


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (text_of().encode(), "UTF-8, cells separated by comma"),
        (b"\xef\xbb\xbf" + text_of().encode(), "byte order mark"),
        (text_of().encode("utf-16"), "UTF-16"),
        (text_of().encode("utf-16-le"), "UTF-16 without"),
        (text_of().encode("utf-16-be"), "UTF-16 without"),
        (text_of().encode("cp1252"), "Windows-1252"),
        (text_of(separator=";").encode(), "semicolon"),
        (text_of(separator="\t").encode(), "tab"),
        (text_of(end="\r").encode(), "comma"),
        (text_of(end="\n").encode(), "comma"),
    ],
)
def test_encodings_separators_and_line_ends_are_detected_and_said(content: bytes, words: str) -> None:
    upload = read_upload(content)
    (finding,) = upload.sheet.findings
    assert (finding.quantity, finding.site, finding.value, finding.note) == ("overjet", "11", "3.5", "café")
    assert words in upload.how[0]


def test_decimal_commas_are_read_as_points_and_counted() -> None:
    upload = read_upload(text_of(separator=";", number="3,5").encode())
    assert upload.sheet.findings[0].value == "3.5"
    assert "decimal comma, such as 3,5, are read with a point: 1" in upload.how[1]


def test_a_quoted_decimal_comma_in_a_comma_file_is_read_too() -> None:
    assert read_upload(text_of(number='"3,5"').encode()).sheet.findings[0].value == "3.5"


def test_an_unquoted_decimal_comma_in_a_comma_file_is_refused_by_line() -> None:
    with pytest.raises(SheetRefused) as refusal:
        read_upload(text_of(number="3,5").encode())
    assert "line 5" in refusal.value.faults[0].where


@pytest.mark.parametrize("number", ["1.234,5", "9,999", "1e3", "NaN", "٣"])
def test_grouping_signs_and_what_is_no_number_are_refused(number: str) -> None:
    with pytest.raises(SheetRefused):
        read_upload(text_of(separator=";", number=number).encode())


def test_json_is_told_from_csv_by_its_text() -> None:
    text = (
        '{"sheet": 1, "stage": "initial", "dentition": "permanent", "findings": '
        '[{"quantity": "overjet", "site": "11", "value": "3"}]}'
    )
    upload = read_upload(b"\xef\xbb\xbf" + text.encode())
    assert upload.how[0].startswith("JSON")
    assert upload.sheet.findings[0].value == "3"


def test_bytes_that_are_no_text_are_refused_in_words() -> None:
    with pytest.raises(SheetRefused):
        read_upload(bytes(range(256)) * 4)


@pytest.mark.parametrize(
    "text", ["<!DOCTYPE html><html><body>sign in</body></html>", "\n<?xml version='1.0'?><a/>"]
)
def test_a_web_page_under_the_name_of_a_sheet_file_is_called_one(text: str) -> None:
    with pytest.raises(SheetRefused) as refused:
        read_upload(text.encode())
    assert [fault.where for fault in refused.value.faults] == ["file"]
    assert "is a web page or another marked-up file" in refused.value.faults[0].message
