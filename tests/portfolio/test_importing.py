"""A sheet file is previewed, imported in one change, and taken back; nothing is saved before it is confirmed."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio import readings, selectors, services
from portfolio.models import Finding, Sheet, SheetChange
from portfolio.services import Entry
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, changed, recorded, refused, save, sheet_of, values

pytestmark = pytest.mark.django_db

CSV = "#sheet,1\r\n#stage,initial\r\n#dentition,permanent\r\nquantity,site,value,method\r\n"


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return sheet_of(owner)


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


def file_of(*findings: readings.Finding, **frame: str) -> readings.Sheet:
    return readings.Sheet(**{"stage": "initial", "dentition": "permanent", **frame}, findings=findings)  # type: ignore[arg-type]


def address(sheet: Sheet) -> str:
    return reverse("portfolio:sheet_import", args=[sheet.public_id])


def upload(pages: Client, sheet: Sheet, content: bytes, name: str = "case.csv") -> bytes:
    return bytes(pages.post(address(sheet), {"file": SimpleUploadedFile(name, content)}).content)


def hidden_fields(page: bytes, *names: str) -> dict[str, str]:
    """Values of hidden fields of a page."""
    found = {name: re.search(rf'name="{name}" value="([^"]*)"', page.decode()) for name in names}
    return {name: unescape(match[1]) for name, match in found.items() if match}


def confirmation(page: bytes) -> dict[str, str]:
    """What the preview's form would send."""
    return hidden_fields(page, "text", "seen_version", "key")


def test_a_preview_says_what_is_new_changed_and_unchanged_and_saves_nothing(
    pages: Client, sheet: Sheet
) -> None:
    save(sheet, Entry("overjet", "11", typed="4"), Entry("overjet", "12", typed="3"))
    content = CSV + "overjet,11,5,\r\noverjet,12,3.0,\r\noverbite,11,2.25,\r\n"
    page = upload(pages, sheet, content.encode()).decode()
    assert "1 new, 1 changed, 1 unchanged; nothing is cleared" in page
    assert values(sheet) == {"overjet 11": "4", "overjet 12": "3"}
    assert SheetChange.objects.filter(sheet=sheet).count() == 1


def test_confirming_imports_in_one_change_without_rounding_and_the_page_takes_it_back(
    pages: Client, sheet: Sheet
) -> None:
    save(sheet, Entry("overjet", "11", typed="4"))
    page = upload(pages, sheet, (CSV + "overjet,11,5.27,caliper\r\noverbite,11,2,\r\n").encode())
    after = pages.post(address(sheet), confirmation(page), follow=True).content
    assert values(sheet) == {"overjet 11": "5.27", "overbite 11": "2"}
    assert SheetChange.objects.get(sheet=sheet, number=2).action == "import"
    form = hidden_fields(after, "number", "key")
    undo = reverse("portfolio:sheet_import_undo", args=[sheet.public_id])
    for _ in range(2):
        pages.post(undo, form)
    assert values(sheet) == {"overjet 11": "4"}
    assert SheetChange.objects.filter(sheet=sheet).count() == 3


def test_a_confirmation_sent_twice_imports_once(pages: Client, sheet: Sheet) -> None:
    form = confirmation(upload(pages, sheet, (CSV + "overjet,11,5,\r\n").encode()))
    for _ in range(2):
        assert pages.post(address(sheet), form).status_code == 302
    assert SheetChange.objects.filter(sheet=sheet).count() == 1


def test_a_sheet_changed_since_the_preview_is_told_and_previewed_anew(pages: Client, sheet: Sheet) -> None:
    form = confirmation(upload(pages, sheet, (CSV + "overjet,11,5,\r\n").encode()))
    save(sheet, Entry("overjet", "11", typed="7"), by=person(name="Tomas Wren"))
    answer = pages.post(address(sheet), form)
    assert answer.status_code == 409
    assert "Tomas Wren" in answer.content.decode()
    assert values(sheet) == {"overjet 11": "7"}
    pages.post(address(sheet), confirmation(answer.content))
    assert values(sheet) == {"overjet 11": "5"}


def test_all_faults_of_a_file_are_listed_by_place_and_nothing_is_saved(pages: Client, sheet: Sheet) -> None:
    content = CSV + "overjet,11,1e3,\r\noverjet,99,3,\r\nnonsense,11,1,\r\ncrossbite,16,sideways,\r\n"
    answer = pages.post(address(sheet), {"file": SimpleUploadedFile("bad.csv", content.encode())})
    page = answer.content.decode()
    assert answer.status_code == 422
    for line in ("line 5", "line 6", "line 7", "line 8"):
        assert line in page
    assert "4 faults in bad.csv" in page
    assert values(sheet) == {}


def test_a_file_that_contradicts_the_sheet_is_refused_in_the_preview(pages: Client, sheet: Sheet) -> None:
    save(sheet, Entry("crossbite", "16", typed="edge"))
    page = upload(pages, sheet, (CSV + "crossbite,mouth,none,\r\n").encode()).decode()
    assert "none at whole mouth stands beside crossbite behind the canines cusp to cusp at 16" in page
    assert 'name="seen_version"' not in page


def test_a_file_of_another_stage_or_dentition_is_refused(sheet: Sheet) -> None:
    file = file_of(readings.Finding("overjet", "11", "3"), stage="final")
    preview = services.preview_import(sheet, file)
    assert "final" in preview.faults[0].message
    assert refused(services.import_sheet(sheet.reader, sheet, file, "key", NOON)).faults == preview.faults


def test_teeth_that_differ_between_file_and_records_are_pointed_out(sheet: Sheet) -> None:
    standing = (*(one for one in sheet.record_set.teeth.split() if one != "37"), "18")
    file = readings.Sheet("initial", "permanent", (readings.Finding("overjet", "11", "3"),), standing)
    hints = " ".join(services.preview_import(sheet, file).hints)
    assert "not in this record set: 18" in hints
    assert "not in the file: 37" in hints


def test_a_file_without_a_list_of_teeth_gives_no_hint_about_them(sheet: Sheet) -> None:
    assert services.preview_import(sheet, file_of(readings.Finding("overjet", "11", "3"))).hints == ()


def test_the_medium_of_the_file_goes_to_its_findings_where_it_differs_from_the_sheets(sheet: Sheet) -> None:
    file = file_of(readings.Finding("overjet", "11", "3"), medium="scan")
    recorded(services.import_sheet(sheet.reader, sheet, file, "key", NOON))
    assert Finding.objects.get(sheet=sheet).medium == "scan"


def test_an_import_after_a_change_since_the_preview_gives_who_changed_what(sheet: Sheet) -> None:
    save(sheet, Entry("overjet", "12", typed="7"))
    file = file_of(readings.Finding("overjet", "11", "3"))
    answer = services.import_sheet(sheet.reader, sheet, file, "key", NOON, seen_version=0)
    assert [(one.site, one.value) for one in changed(answer).theirs] == [("12", "7")]


def test_a_sheet_written_as_a_file_is_read_back_unchanged(sheet: Sheet) -> None:
    save(
        sheet,
        Entry("overjet", "11", typed="3.5", method="caliper", note="a note"),
        Entry("crossbite", "mouth", typed="none"),
        Entry("molar_relation", "right", typed="end2"),
    )
    sheet.refresh_from_db()
    plain = selectors.reading(sheet)
    for read, write in ((readings.read_json, readings.write_json), (readings.read_csv, readings.write_csv)):
        again = read(write(plain))
        preview = services.preview_import(sheet, again)
        assert {one.kind for one in preview.rows} == {"unchanged"}
        assert preview.hints == ()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not"),
        (b'{"sheet": 1', "not readable as JSON"),
        (b"x" * (513 * 1024), "512 KB"),
    ],
)
def test_what_is_no_sheet_file_is_refused_in_words(
    pages: Client, sheet: Sheet, content: bytes, words: str
) -> None:
    answer = pages.post(address(sheet), {"file": SimpleUploadedFile("x.csv", content)})
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_a_request_without_a_file_is_refused(pages: Client, sheet: Sheet) -> None:
    answer = pages.post(address(sheet), {})
    assert answer.status_code == 422
    assert "Choose a file" in answer.content.decode()


def test_a_tampered_confirmation_is_read_and_checked_like_any_file(pages: Client, sheet: Sheet) -> None:
    form = confirmation(upload(pages, sheet, (CSV + "overjet,11,5,\r\n").encode()))
    form["text"] = form["text"].replace('"value": "5"', '"value": "555"')
    assert pages.post(address(sheet), form).status_code == 422
    assert values(sheet) == {}
