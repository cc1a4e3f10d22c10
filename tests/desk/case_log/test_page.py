"""The page of the case log: rows, floors, the measured score that counts, saves as JSON, and its queries."""

from __future__ import annotations

import json
import re
import uuid
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from portfolio.case_log import services
from portfolio.case_log.rows import ImportRow
from portfolio.case_log.services import Added, Entry
from portfolio.models import Case, LogChange, Portfolio
from scoring import services as scoring_services
from scoring.models import ChoiceSet, StandingScore
from tests.factories.accounts import person, searched, signed_in
from tests.factories.portfolio import NOON, PortfolioFactory
from tests.factories.repeat_sheets import first_sheet_of, repeat_sheet_of
from tests.factories.scoring import measured_sheet

pytestmark = pytest.mark.django_db
MOST_QUERIES = 16


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def portfolio(owner: User) -> Portfolio:
    return PortfolioFactory(owner=owner)


def row(owner: User, portfolio: Portfolio, code: str = "", **texts: str) -> Case:
    answer = services.add_row(owner, portfolio, uuid.uuid4(), code, uuid.uuid4().hex, NOON)
    assert isinstance(answer, Added), answer
    for key, text in texts.items():
        seen = "possible" if key == "state" else ""
        services.save_fields(owner, answer.case, [Entry(key, text, seen)], "go_me", uuid.uuid4().hex, NOON)
    return answer.case


def log(client: Client, portfolio: Portfolio, query: str = "") -> str:
    answer = client.get(reverse("desk:case_log", args=[portfolio.public_id]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def codes(html: str) -> list[str]:
    return re.findall(r'<th scope="row"><a class="code-text"[^>]*>(\w+)</a>', html)


def post(client: Client, name: str, on: Portfolio | Case, **body: Any) -> HttpResponse:
    address = reverse(f"desk:{name}", args=[on.public_id])
    body.setdefault("request_key", uuid.uuid4().hex)
    return client.post(  # type: ignore[return-value]
        address, json.dumps(body), content_type="application/json", headers={"X-Requested-With": "fetch"}
    )


def test_the_page_is_reached_from_the_home_page(client: Client, portfolio: Portfolio) -> None:
    assert reverse("desk:case_log", args=[portfolio.public_id]) in client.get("/").content.decode()
    assert "No possible case yet" in log(client, portfolio)


def test_a_row_tells_at_least_how_much_and_what_is_not_asked(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    row(owner, portfolio, overjet="5,5", molar_right="full2", anb="6")
    text = words(log(client, portfolio))
    assert "at least 11" in text
    assert (
        "Not asked: eleven things; empty: overbite, molar left, crowding, crossbite inside, crossbite outside"
        in text
    )
    assert "Overjet over 5 to 7 mm: 3 points" in text
    assert "They can only add points" in text
    assert not StandingScore.objects.exists(), "an estimate is never stored as a score"


def test_the_floor_follows_the_rule_choices_of_the_portfolio(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    row(owner, portfolio, overbite="o 4")
    assert "at least 4" in words(log(client, portfolio))
    scoring_services.choose_set(portfolio, "discrepancy", ChoiceSet.AS_PRINTED)
    assert "at least 5" in words(log(client, portfolio))


def test_a_measured_score_stands_in_front_of_the_estimate_and_counts(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    case = measured_sheet(owner, "overjet 11 9.5").record_set.case
    services.save_fields(owner, case, [Entry("overjet", "6", "")], "go_me", uuid.uuid4().hex, NOON)
    text = words(log(client, portfolio))
    assert "5 measured" in text
    assert "The measured score counts. By eye: at least 3; not asked: eleven things" in text


def test_the_first_records_of_a_row_begin_with_what_the_log_says(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    case = row(owner, portfolio, age_months="11;4", dentition="mixed")
    page = client.get(reverse("desk:case", args=[case.public_id]))
    assert "No records yet." in page.content.decode()
    form = client.get(reverse("portfolio:record_set_new", args=[case.public_id])).context["form"]
    assert {key: form.initial[key] for key in ("stage", "age_months", "dentition")} == {
        "stage": "initial",
        "age_months": 136,
        "dentition": "mixed",
    }


def test_broken_answers_are_told_and_never_break_the_page(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    for estimate in ({"overjet": {"deep": []}, "anb": "6"}, "text", [1], {"crowding": "1e9"}):
        Case.objects.filter(pk=row(owner, portfolio).pk).update(estimate=estimate)
    text = words(log(client, portfolio))
    assert "Could not be read and counts as empty: Overjet." in text
    assert "Could not be read and counts as empty: the whole row." in text
    assert "at least 4" in text


def test_rows_are_searched_narrowed_and_sorted(client: Client, owner: User, portfolio: Portfolio) -> None:
    row(owner, portfolio, "AA234567", overjet="9,5")
    row(owner, portfolio, "CC234567", overjet="6", state="chosen")
    row(owner, portfolio, "DD234567")
    assert codes(log(client, portfolio)) == ["DD234567", "CC234567", "AA234567"]
    assert codes(log(client, portfolio, "?sort=code")) == ["AA234567", "CC234567", "DD234567"]
    assert codes(log(client, portfolio, "?sort=-floor")) == ["AA234567", "CC234567", "DD234567"]
    assert codes(log(client, portfolio, "?sort=floor")) == ["DD234567", "CC234567", "AA234567"]
    assert codes(log(client, portfolio, "?state=chosen")) == ["CC234567"]
    address = reverse("desk:case_log", args=[portfolio.public_id])
    assert codes(searched(client, address, "aa23")) == ["AA234567"]
    assert "No case found" in searched(client, address, "nothing")
    assert codes(log(client, portfolio, "?sort=lost&state=lost&page=x")) == [
        "DD234567",
        "CC234567",
        "AA234567",
    ]


def test_queries_do_not_grow_with_the_rows(client: Client, owner: User, portfolio: Portfolio) -> None:
    for number in range(3):
        row(owner, portfolio, overjet=f"{number + 4}")
    measured_sheet(owner, "overjet 11 9.5")
    log(client, portfolio)
    with CaptureQueriesContext(
        connection,
    ) as few:
        log(client, portfolio, "?sort=-floor")
    for number in range(20):
        row(owner, portfolio, overjet=f"{number / 2}")
    measured_sheet(owner, "overjet 11 9.5")
    log(client, portfolio)
    with CaptureQueriesContext(connection) as many:
        log(client, portfolio, "?sort=-floor")
    assert len(many) <= len(few) <= MOST_QUERIES


def test_a_long_log_is_paged(client: Client, owner: User, portfolio: Portfolio) -> None:
    rows = [ImportRow(number, "", {"overjet": str(number % 10)}) for number in range(60)]
    services.import_rows(owner, portfolio, rows, "a" * 64, "go_me", uuid.uuid4().hex, NOON)
    first, second = (codes(log(client, portfolio, f"?sort=floor&page={n}")) for n in (1, 2))
    assert (len(first), len(second)) == (50, 10)
    assert not set(first) & set(second)


def test_saving_answers_with_what_stands_and_what_can_be_undone(
    client: Client, owner: User, portfolio: Portfolio
) -> None:
    case = row(owner, portfolio)
    answer = post(client, "log_row", case, entries=[{"key": "overjet", "typed": "5,52", "seen": ""}])
    assert answer.status_code == 200
    data = json.loads(answer.content)
    assert data["fields"]["overjet"] == {"value": "5.5", "text": "5.5"}
    assert data["said"] == {"overjet": "5,52 recorded as 5.5 mm"}
    assert "at least" in data["figure"]
    assert data["undo"]["words"] == f"{case.code}, overjet nothing → 5.5 mm"
    refused = post(client, "log_row", case, entries=[{"key": "overjet", "typed": "99", "seen": "5.5"}])
    assert refused.status_code == 422
    assert "takes −20 to 25 mm" in json.loads(refused.content)["faults"]["overjet"]
    late = post(client, "log_row", case, entries=[{"key": "overjet", "typed": "7", "seen": ""}])
    assert late.status_code == 409
    assert json.loads(late.content)["theirs"]["overjet"]["words"] == "5.5 mm"
    number = data["undo"]["number"]
    undone = post(client, "case_log_undo", portfolio, number=number)
    assert json.loads(undone.content)["rows"][0]["id"] == str(case.public_id)
    again = post(client, "case_log_undo", portfolio, number=number)
    assert again.status_code == 422
    assert "taken back already" in json.loads(again.content)["faults"][""]


def test_bodies_of_another_shape_are_refused(client: Client, owner: User, portfolio: Portfolio) -> None:
    case = row(owner, portfolio)
    before = LogChange.objects.count()
    bodies: list[dict[str, Any]] = [
        {"entries": []},
        {"entries": [{"key": "estimate", "typed": "1", "seen": ""}]},
        {"entries": [{"key": "overjet", "typed": 3, "seen": ""}]},
        {"entries": [{"key": "overjet", "typed": "3\x00", "seen": ""}]},
        {"entries": [{"key": "overjet", "typed": "3" * 61, "seen": ""}]},
        {"entries": [{"key": "overjet", "typed": "3", "seen": ""}], "request_key": "x"},
    ]
    for body in bodies:
        assert post(client, "log_row", case, **body).status_code == 400, body
    assert post(client, "case_log_add", portfolio, key="no", code="").status_code == 400
    assert post(client, "case_log_undo", portfolio, number=-1).status_code == 400
    assert LogChange.objects.count() == before


def test_a_case_that_is_measured_again_is_shut_in_the_log(client: Client, owner: User) -> None:
    sheet = first_sheet_of(owner)
    case = sheet.record_set.case
    portfolio = case.patient.portfolio
    services.save_fields(owner, case, [Entry("overjet", "7", "")], "go_me", uuid.uuid4().hex, NOON)
    number = LogChange.objects.get().number
    repeat_sheet_of(sheet)
    html = log(client, portfolio)
    assert "Shut while you measure this case again" in html
    assert "7 mm" not in words(html)
    assert "nothing to undo" in html
    assert post(client, "log_row", case, entries=[]).status_code == 423
    assert post(client, "case_log_undo", portfolio, number=number).status_code == 422
    exported = client.get(reverse("desk:case_log_csv", args=[portfolio.public_id])).content.decode()
    assert case.code not in exported
