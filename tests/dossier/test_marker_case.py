"""One case with a marker in every field, header, chunk and file name: none gets into anything printed or exported.

Fields are taken from the models themselves, so a new one is marked too, or has to be named here as what exports are for.
"""

from __future__ import annotations

import csv
import io
import subprocess
import zipfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from django.db import models
from django.db.models import QuerySet
from django.test import Client

from accounts.models import User
from filing.models import StoredFile
from jobs.models import Job
from portfolio.models import (
    Case,
    Consent,
    Evidence,
    Finding,
    Patient,
    Portfolio,
    RecordItem,
    RecordSet,
    Sheet,
    SheetChange,
)
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import asked, assigned, fetched
from tests.factories.imaging import taken
from tests.factories.portfolio import ConsentFactory
from tests.factories.scoring import OPEN_FRONT, loaded, measured_sheet
from tests.imaging.made_pictures import DATE, MARKER, carries, corner, jpeg, marked_jpeg, marked_png
from tests.press.printed import everything_in, facts_of, picture_count, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
OWN_WORDS = "QQOWNWORDSQQ"
DAY = date(1987, 6, 5)
FORMS = (
    MARKER,
    MARKER.lower(),
    "1987-06-05",
    DATE,
    "19870605",
    "5 June 1987",
    "5 Jun 1987",
    "June 5, 1987",
    "05/06/1987",
)
WRITTEN_TO_BE_READ = {"Case.note", "RecordSet.reason", "Finding.note"}
"""The owner's own words about the case, printed in the candidate's copy: they get words of their own."""
WHAT_EXPORTS_ARE_FOR = {
    "Patient.code",
    "Case.code",
    "RecordSet.teeth",
    "RecordItem.view",
    "Finding.quantity",
    "Finding.site",
    "Finding.value",
    "Finding.sd",
    "Finding.method",
    "Finding.medium",
    "Finding.plane",
    "StoredFile.storage_key",
    "StoredFile.sha256",
    "StoredFile.media_type",
    "Consent.expires",
    "Consent.withdrawn_on",
}
MODELS = (
    User,
    Portfolio,
    Patient,
    Consent,
    Case,
    RecordSet,
    RecordItem,
    Sheet,
    Finding,
    Evidence,
    SheetChange,
    StoredFile,
)


def mark_every_field() -> set[str]:
    """The marker in every text field, the day in every date; the names of the fields that got one."""
    marked = set()
    for model in MODELS:
        changes: dict[str, Any] = {}
        for one in model._meta.concrete_fields:
            name = f"{model.__name__}.{one.name}"
            if one.is_relation or one.choices or name in WHAT_EXPORTS_ARE_FOR:
                continue
            if isinstance(one, models.CharField | models.TextField):
                said = OWN_WORDS if name in WRITTEN_TO_BE_READ else f"{MARKER} {name}"
                said = said.lower().replace(" ", "@") if name == "User.email" else said
                changes[one.name] = said[: one.max_length]
            elif isinstance(one, models.DateField) and not isinstance(one, models.DateTimeField):
                changes[one.name] = DAY
        if changes:
            QuerySet(model).update(**changes)
            marked |= {f"{model.__name__}.{one}" for one in changes}
    return marked


@pytest.fixture
def sheet() -> Sheet:
    made = measured_sheet(person(), *OPEN_FRONT)
    ConsentFactory(patient=made.record_set.case.patient, media=["faces", "mouth"])
    assigned(made.reader, made.record_set, "face_rest", marked_jpeg((600, 400)))
    RecordItem.objects.update(view="front")
    second = assigned(made.reader, made.record_set, "face_rest", marked_jpeg((500, 400)))
    assert second.view == "face_rest"
    third = measured_png(made)
    assert third.view == "upper"
    Finding.objects.filter(sheet=made, quantity="crowding").update(evidence_at=1)
    for crowding in Finding.objects.filter(sheet=made, quantity="crowding"):
        Evidence.objects.create(
            sheet=made,
            quantity="crowding",
            site=crowding.site,
            at_change=1,
            item=third,
            kind="witness",
            marks={"words": f"{MARKER} 1987-06-05"},
        )
    marked = mark_every_field()
    for expected in (
        "User.email",
        "Patient.locator",
        "Patient.birth_date",
        "RecordSet.taken_on",
        "Consent.paper_lies",
    ):
        assert expected in marked
    assert {
        "Evidence.source",
        "Sheet.origin",
        "StoredFile.shown_name",
        "Portfolio.name",
        "Consent.signed_on",
    } <= marked
    return loaded(made)


def measured_png(made: Sheet) -> RecordItem:
    item = taken(made.reader, made.record_set, marked_png((300, 200)), f"{MARKER} 1987-06-05.png")
    RecordItem.objects.filter(pk=item.pk).update(view="upper")
    item.refresh_from_db()
    return item


@pytest.fixture
def pages(sheet: Sheet) -> Client:
    return signed_in(User.objects.get(pk=sheet.reader.pk))


def found_in(data: bytes) -> list[str]:
    """Forms of the marker that stand in the bytes, plain or as UTF-16."""
    return [form for form in FORMS if carries(data, form) or carries(data.lower(), form.lower())]


def unpacked(pdf: Path, to: Path) -> Iterator[tuple[str, bytes]]:
    """A PDF as it is, inflated, as text and metadata; every object; every picture taken out; its XMP and attachments."""
    yield "raw, inflated, words, metadata", everything_in(pdf)
    with pikepdf.open(pdf) as opened:
        assert len(opened.attachments) == 0
        assert "/Author" not in opened.docinfo
        yield "XMP", str(opened.open_metadata()).encode()
        for number, thing in enumerate(opened.objects):
            yield f"object {number}", repr(thing).encode()
            if isinstance(thing, pikepdf.Stream):
                yield f"raw stream {number}", thing.read_raw_bytes()
    to.mkdir()
    subprocess.run(["pdfimages", "-all", str(pdf), str(to / "picture")], check=True)
    pictures = sorted(to.iterdir())
    assert len(pictures) >= picture_count(pdf)
    for picture in pictures:
        yield picture.name, picture.read_bytes()
    yield (
        "outline",
        subprocess.run(["pdfinfo", "-struct-text", str(pdf)], check=True, capture_output=True).stdout,
    )
    yield "fonts", subprocess.run(["pdffonts", str(pdf)], check=True, capture_output=True).stdout


def headers_of(answer: Any) -> bytes:
    return "\n".join(f"{name}: {value}" for name, value in answer.headers.items()).encode()


@pytest.mark.parametrize("edition", ["examiner", "candidate"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_marker_is_in_a_print_or_its_download(
    sheet: Sheet, pages: Client, tmp_path: Path, edition: str, paper: str
) -> None:
    job = asked(sheet.record_set.case, edition, paper, faces="on")
    assert (job.state, job.message) == ("done", "")
    pdf = fetched(job, tmp_path)
    assert picture_count(pdf) == 3
    for where, data in unpacked(pdf, tmp_path / "taken-out"):
        assert found_in(data) == [], where
    assert (OWN_WORDS in words_of(pdf)) is (edition == "candidate")
    assert (OWN_WORDS.encode() in everything_in(pdf)) is (edition == "candidate")
    download = pages.get(f"/jobs/{job.public_id}/result/")
    assert download.headers["Content-Disposition"] == (
        f'attachment; filename="{sheet.record_set.case.code}-{edition}-{paper}.pdf"'
    )
    assert found_in(headers_of(download)) == []
    assert found_in(str(Job.objects.values().get()).encode()) == []
    assert f"Case {sheet.record_set.case.code}" in facts_of(pdf)


@pytest.mark.parametrize("kind", ["json", "csv"])
def test_no_marker_is_in_a_sheet_file_or_its_headers(sheet: Sheet, pages: Client, kind: str) -> None:
    answer = pages.get(f"/sheets/{sheet.public_id}/sheet.{kind}")
    assert answer.status_code == 200
    assert found_in(answer.content) == []
    assert found_in(headers_of(answer)) == []
    assert sheet.record_set.case.code in answer.headers["Content-Disposition"]
    if kind == "csv":
        assert len(list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))) > 30


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_no_marker_is_in_the_table_of_changes(sheet: Sheet, pages: Client, kind: str) -> None:
    answer = pages.get(f"/changes/table.{kind}")
    assert answer.status_code == 200
    assert found_in(headers_of(answer)) == []
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
    assert found_in(content) == []
    if kind == "xlsx":
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            for name in parts.namelist():
                assert found_in(name.encode() + parts.read(name)) == [], name


@pytest.mark.parametrize("sheet_of_paper", ["bench-sheet", "transfer-sheet"])
def test_no_marker_is_on_pages_made_for_paper(sheet: Sheet, pages: Client, sheet_of_paper: str) -> None:
    answer = pages.get(f"/sheets/{sheet.public_id}/{sheet_of_paper}/")
    assert answer.status_code == 200
    main = answer.content.decode().partition("<main")[2].partition("</main>")[0]
    assert main
    assert found_in(main.encode()) == []


def test_no_marker_is_in_a_picture_that_is_shown_or_its_headers(sheet: Sheet, pages: Client) -> None:
    for item in RecordItem.objects.all():
        for rendition in ("screen", "print"):
            answer = pages.get(f"/pictures/{item.public_id}/{rendition}.picture")
            assert answer.status_code == 200
            assert found_in(headers_of(answer)) == []
            assert found_in(b"".join(answer.streaming_content)) == []  # type: ignore[attr-defined]


def test_the_search_finds_a_marker_that_is_there(tmp_path: Path, sheet: Sheet) -> None:
    """Marked on purpose: a title, a stream and a picture of a finished print."""
    job = asked(sheet.record_set.case, faces="on")
    pdf = fetched(job, tmp_path)
    with pikepdf.open(pdf, allow_overwriting_input=True) as opened:
        opened.pages[0].Resources.Hidden = opened.make_stream(jpeg(corner(), comment=MARKER.encode()))
        opened.save(pdf)
    assert any(MARKER in found_in(data) for _, data in unpacked(pdf, tmp_path / "taken-out"))
