"""Tables imported into the log: previewed, confirmed once, taken back whole; the log as CSV reads back the same."""

from __future__ import annotations

import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from portfolio import services as portfolio_services
from portfolio.case_log import services
from portfolio.case_log.services import Entry
from portfolio.models import Case, LogChange, Patient, Portfolio
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, PortfolioFactory

pytestmark = pytest.mark.django_db
TABLE = "code;overjet;overbite;open_teeth;sn_mp\nFA78HK23;3,5;o2;4;38\n;x 2;3;;\n"


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def portfolio(owner: User) -> Portfolio:
    return PortfolioFactory(owner=owner)


def address(portfolio: Portfolio, name: str = "case_log_import") -> str:
    return reverse(f"desk:{name}", args=[portfolio.public_id])


def words(answer: HttpResponse) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def sent(client: Client, portfolio: Portfolio, table: str | bytes) -> HttpResponse:
    content = table if isinstance(table, bytes) else table.encode()
    return client.post(address(portfolio), {"file": SimpleUploadedFile("log.csv", content)})  # type: ignore[return-value]


def hidden(answer: HttpResponse) -> dict[str, str]:
    """What the page's confirming form would send back."""
    found = re.findall(r'<input type="hidden" name="(\w+)"(?: value="([^"]*)")?', answer.content.decode())
    return {name: value for name, value in found if name != "csrfmiddlewaretoken"}


def confirmed(client: Client, portfolio: Portfolio, answer: HttpResponse, **more: str) -> HttpResponse:
    return client.post(address(portfolio), hidden(answer) | more)  # type: ignore[return-value]


def stored(case: Case) -> dict[str, str]:
    return case.estimate or {}


def imported(client: Client, portfolio: Portfolio, table: str) -> None:
    answer = confirmed(client, portfolio, sent(client, portfolio, table))
    assert answer.status_code == 302, words(answer)


def test_a_table_is_previewed_then_imported_in_one_step(client: Client, portfolio: Portfolio) -> None:
    preview = sent(client, portfolio, TABLE)
    text = words(preview)
    assert "cells separated by semicolon" in text
    assert "2 new, 0 changed, 0 unchanged" in text
    assert "2 mm in reverse" in text
    assert not Case.objects.exists()
    with CaptureQueriesContext(connection) as queries:
        assert confirmed(client, portfolio, preview).status_code == 302
    assert len(queries) < 45
    first = Case.objects.get(code="FA78HK23")
    assert first.estimate == {
        "overjet": "3.5",
        "overbite": "-2",
        "open_teeth": "4",
        "sn_mp": "38",
        "plane": "go_me",
    }
    assert Case.objects.count() == Patient.objects.count() == 2
    assert LogChange.objects.get().action == "import"


def test_the_same_bytes_make_no_second_rows(client: Client, portfolio: Portfolio) -> None:
    preview = sent(client, portfolio, TABLE)
    for _ in range(2):
        assert confirmed(client, portfolio, preview).status_code == 302
    again = sent(client, portfolio, TABLE)
    assert "In the log already" in words(again)
    assert 'name="confirmed"' not in again.content.decode()
    forged = confirmed(client, portfolio, preview, key=str(uuid.uuid4()))
    assert forged.status_code == 302
    assert Case.objects.count() == 2


def test_a_fault_anywhere_keeps_every_row_out(client: Client, portfolio: Portfolio) -> None:
    preview = sent(client, portfolio, TABLE + "FA78HK23;99;;;\nANNA;;3;4;\n")
    assert preview.status_code == 422
    text = words(preview)
    assert "Line 4, overjet: 99 is out of range; overjet takes −20 to 25 mm" in text
    assert "Line 4, code: This code stands in line 2 already." in text
    assert "Line 5, code: &quot;ANNA&quot; is not a code" in text
    assert "Line 5, open_teeth: Open teeth are counted only" in text
    forged = confirmed(client, portfolio, preview, confirmed="on")
    assert forged.status_code == 422
    assert not Case.objects.exists()


def test_a_code_that_a_spreadsheet_made_a_number_is_named_as_such(
    client: Client, portfolio: Portfolio
) -> None:
    text = words(sent(client, portfolio, "code;overjet\n2,35E+12;4\n"))
    assert "is not a code. A spreadsheet has turned it into a number" in text


def test_codes_of_others_are_in_use(client: Client, portfolio: Portfolio) -> None:
    other = PortfolioFactory(owner=person(name="Somebody Else"))
    services.add_row(other.owner, other, uuid.uuid4(), "FA78HK23", uuid.uuid4().hex, NOON)
    assert "Line 2, code: This code is in use." in words(sent(client, portfolio, TABLE))


def test_unknown_columns_are_left_out_only_when_the_person_says_so(
    client: Client, portfolio: Portfolio
) -> None:
    preview = sent(client, portfolio, "overjet;name\n4;Anna\n")
    assert "Leave out column the log does not know: name" in words(preview)
    refused = confirmed(client, portfolio, preview)
    assert refused.status_code == 422
    assert "Say that these columns are left out" in words(refused)
    assert not Case.objects.exists()
    assert confirmed(client, portfolio, preview, leave_out="on").status_code == 302
    assert "Anna" not in str(Case.objects.values())


def test_a_doubtful_file_waits_for_an_answer(client: Client, portfolio: Portfolio) -> None:
    asked = sent(client, portfolio, "overjet;anb\n3,5;4.5\n")
    assert "The decimal sign is" in words(asked)
    assert confirmed(client, portfolio, asked, confirmed="on").status_code == 422
    assert not Case.objects.exists()
    preview = confirmed(client, portfolio, asked, decimal="either")
    assert "1 new" in words(preview)
    assert confirmed(client, portfolio, preview).status_code == 302
    assert Case.objects.get().estimate == {"overjet": "3.5", "anb": "4.5"}
    asked = sent(client, portfolio, "overjet;crowding,anb\n3;4,5\n")
    assert "Cells of this file can be separated by" in words(asked)
    read = words(confirmed(client, portfolio, asked, separator=","))
    assert "cells separated by comma" in read
    assert "Leave out column the log does not know: overjet;crowding" in read


def test_pasted_cells_are_a_table_too(client: Client, portfolio: Portfolio) -> None:
    pasted = {"text": "overjet\tmolar_right\r\n4\tfull2\r\n"}
    preview = client.post(address(portfolio), pasted)
    assert "cells separated by tab" in words(preview)  # type: ignore[arg-type]
    faulty = client.post(address(portfolio), {"text": "overjet\tanb\r\n99\t4\r\n"})
    assert faulty.status_code == 422
    assert ">\noverjet\tanb\r\n99\t4\r\n</textarea>" in faulty.content.decode(), "what was pasted is not lost"
    for body, said in (
        ({}, "Choose a file"),
        ({"file": SimpleUploadedFile("a.csv", b"")}, "The file is empty."),
        ({"file": SimpleUploadedFile("a.csv", b"overjet\n" * 70_000)}, "at most 512 KB"),
        (pasted | {"file": SimpleUploadedFile("a.csv", b"overjet\n3\n")}, "not both"),
    ):
        answer = client.post(address(portfolio), body)
        assert answer.status_code == 422
        assert said in words(answer)  # type: ignore[arg-type]


def test_rows_with_a_known_code_change_that_case_and_empty_cells_change_nothing(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    imported(client, portfolio, TABLE)
    preview = sent(client, portfolio, "code;overjet;crowding;state\nFA78HK23;5;;chosen\n")
    text = words(preview)
    assert "0 new, 1 changed, 0 unchanged" in text
    assert "overjet 3.5 mm → 5 mm" in text
    assert confirmed(client, portfolio, preview).status_code == 302
    case = Case.objects.get(code="FA78HK23")
    assert case.state == "chosen"
    assert stored(case)["overjet"] == "5"
    assert stored(case)["overbite"] == "-2"


def test_an_import_is_taken_back_whole_or_not_at_all(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    imported(client, portfolio, TABLE)
    imported(client, portfolio, "code;overjet\nFA78HK23;5\n;7\n")
    first, second = LogChange.objects.order_by("number")

    def back(change: LogChange) -> str:
        body = {"number": change.number, "key": str(uuid.uuid4())}
        return words(client.post(address(portfolio, "case_log_import_undo"), body, follow=True))  # type: ignore[arg-type]

    assert "Changed since: FA78HK23. Nothing was taken back." in back(first)
    assert Case.objects.count() == 3
    case = Case.objects.get(code="FA78HK23")
    assert "Taken back: an import of 2 rows." in back(second)
    case.refresh_from_db()
    assert (Case.objects.count(), stored(case)["overjet"]) == (2, "3.5")
    assert "taken back already" in back(second)
    portfolio_services.edit_case(case, state="possible", note="kept", seen_version=case.version)
    assert "More hangs by now on FA78HK23" in back(first)
    case.refresh_from_db()
    portfolio_services.edit_case(case, state="possible", note="", seen_version=case.version)
    assert "Taken back: an import of 2 rows." in back(first)
    assert not Case.objects.exists()
    assert not Patient.objects.exists()
    imported(client, portfolio, TABLE)
    assert Case.objects.count() == 2


def test_the_log_as_csv_reads_back_the_same(client: Client, owner: User, portfolio: Portfolio) -> None:
    imported(client, portfolio, TABLE)
    case = Case.objects.get(code="FA78HK23")
    for key, text in (
        ("age_months", "13;8"),
        ("dentition", "mixed"),
        ("molar_left", "beyond2"),
        ("anb", "−3"),
    ):
        services.save_fields(owner, case, [Entry(key, text, "")], "go_me", uuid.uuid4().hex, NOON)
    answer = client.get(address(portfolio, "case_log_csv"))
    assert answer["Content-Disposition"] == 'attachment; filename="case-log.csv"'
    table = answer.content.decode()
    lines = table.splitlines()
    assert lines[0].startswith("code,age,dentition,overjet,overbite,open_teeth,")
    assert lines[1] == "FA78HK23,13 y 8 m,mixed,3.5,-2,4,,beyond2,,,,-3,38,possible,18"
    assert not [cell for line in lines for cell in line.split(",") if cell[:1] in "=+@\t'" and cell]
    preview = sent(client, portfolio, table)
    assert "0 new, 0 changed, 2 unchanged" in words(preview)
    empty = client.get(address(portfolio, "case_log_template")).content.decode()
    assert empty.splitlines() == [lines[0].removesuffix(",at_least")]
