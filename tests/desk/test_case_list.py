"""The desk's home: the person's cases searched, narrowed, sorted, with the standing discrepancy score."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import User
from portfolio import services
from portfolio.models import Case, Portfolio
from scoring import services as scoring_services
from scoring.models import StandingScore
from tests.factories.accounts import person, searched, signed_in
from tests.factories.portfolio import NOON, PortfolioFactory, case_of
from tests.factories.scoring import OPEN_FRONT, change, measured_sheet

pytestmark = pytest.mark.django_db
MOST_QUERIES = 11
HOME = "/"


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def measured_case(owner: User, *changes: str) -> Case:
    return measured_sheet(owner, *changes).record_set.case


def page(client: Client, address: str = HOME) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def codes(html: str) -> list[str]:
    """Codes of the cases in the order of the table."""
    return re.findall(r'<th scope="row"><a class="code-text" href="/cases/[0-9a-f-]+/">(\w+)</a>', html)


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_without_a_portfolio_the_page_leads_to_the_first_one(client: Client) -> None:
    html = page(client)
    assert "No portfolio yet" in html
    assert reverse("portfolio:portfolio_new") in html


def test_without_a_case_the_page_leads_to_the_first_one(client: Client, owner: User) -> None:
    PortfolioFactory(owner=owner)
    html = page(client)
    assert "No case yet" in html
    assert reverse("portfolio:case_new") in html


def test_a_score_stands_in_words(client: Client, owner: User) -> None:
    measured_case(owner, *OPEN_FRONT)
    measured_case(owner, "overjet 11 11", "- anb mouth")
    case_of(owner)
    case_of(owner, stage="final")
    text = words(page(client))
    assert " 35 " in text
    assert "at least 5 " in text
    assert "not measured" in text
    assert "no records before treatment" in text


def test_a_portfolio_that_is_not_measured_for_the_index_says_so(client: Client, owner: User) -> None:
    measured_case(owner, "overjet 11 11", "- anb mouth")
    scoring_services.choose_indices(Portfolio.objects.get(), "initial", ["par"])
    text = words(page(client))
    assert "not measured for it" in text
    assert "at least 5" not in text


def test_deleting_the_stored_scores_changes_nothing_on_the_page(client: Client, owner: User) -> None:
    for n in (2, 4, 6, 8):
        measured_case(owner, f"overjet 11 {n}")
    before = words(page(client, "/?sort=-score"))
    StandingScore.objects.all().delete()
    assert words(page(client, "/?sort=-score")) == before


def test_a_change_shows_at_once(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, "overjet 11 11")
    assert '<span class="figure">5</span>' in page(client)
    change(sheet, "overjet", "11", "8")
    assert '<span class="figure">4</span>' in page(client)


def test_cases_sort_by_score_code_state_age_and_last_change(client: Client, owner: User) -> None:
    low = measured_case(owner, "overjet 11 4")
    high = measured_case(owner, *OPEN_FRONT)
    unmeasured = case_of(owner, age_months=100)
    by_code = sorted((low.code, high.code, unmeasured.code))
    assert codes(page(client, "/?sort=-score")) == [high.code, low.code, unmeasured.code]
    assert codes(page(client, "/?sort=score")) == [unmeasured.code, low.code, high.code]
    assert codes(page(client, "/?sort=code")) == by_code
    assert codes(page(client, "/?sort=-code")) == by_code[::-1]
    services.edit_case(low, state="done", note="", seen_version=low.version)
    assert codes(page(client, "/?sort=state"))[0] == low.code
    assert codes(page(client, "/?sort=age"))[0] == unmeasured.code
    assert codes(page(client, "/?sort=-changed"))[-1] == unmeasured.code
    assert len(codes(page(client, "/?sort=nonsense"))) == 3


def test_the_sorted_column_says_so_and_turns_round(client: Client, owner: User) -> None:
    case_of(owner)
    html = page(client, "/?sort=code&state=possible")
    assert 'aria-sort="ascending"' in html
    assert "?state=possible&amp;sort=-code" in html


def test_cases_are_searched_by_code_patient_note_and_locator(client: Client, owner: User) -> None:
    first, second = case_of(owner), case_of(owner)
    services.edit_case(first, state="possible", note="Second Opinion", seen_version=first.version)
    assert codes(searched(client, "/", first.code.lower())) == [first.code]
    assert codes(searched(client, "/", second.patient.code)) == [second.code]
    assert codes(searched(client, "/", "opinion second")) == [first.code]
    html = searched(client, "/", "nobody")
    assert "No case found" in html
    assert 'value="nobody"' in html


def test_cases_are_narrowed_by_state_stage_and_portfolio(client: Client, owner: User) -> None:
    first, second = case_of(owner), case_of(owner)
    services.edit_case(first, state="chosen", note="", seen_version=first.version)
    services.add_record_set(owner, second, services.RecordSetDetails(stage="final", age_months=200))
    elsewhere = PortfolioFactory(owner=owner, name="Second portfolio")
    assert codes(page(client, "/?state=chosen")) == [first.code]
    assert codes(page(client, "/?stage=final")) == [second.code]
    assert codes(page(client, f"/?portfolio={elsewhere.public_id}")) == []
    assert len(codes(page(client, f"/?portfolio={first.patient.portfolio.public_id}"))) == 2


def test_narrowing_by_stage_leaves_the_last_change_of_the_whole_case(client: Client, owner: User) -> None:
    case = measured_case(owner, "overjet 11 11")
    services.add_record_set(owner, case, services.RecordSetDetails(stage="final", age_months=200))
    assert "2 Mar 2026" in words(page(client, "/?stage=final"))


def test_a_narrowing_that_does_not_exist_is_passed_over(client: Client, owner: User) -> None:
    case_of(owner)
    for query in (
        "state=lost",
        "stage=never",
        "portfolio=nonsense",
        f"portfolio={PortfolioFactory().public_id}",
    ):
        assert client.get(f"/?{query}&page=9999").status_code == 200


def test_nobody_elses_cases_are_listed(client: Client, owner: User) -> None:
    mine = case_of(owner)
    case_of(person(name="Piet Vandermeulen"))
    assert codes(page(client)) == [mine.code]


def test_deleted_cases_are_not_listed(client: Client, owner: User) -> None:
    gone, stays = case_of(owner), case_of(owner)
    services.delete_case(gone, NOON)
    assert codes(page(client)) == [stays.code]


def test_the_fifty_first_case_is_on_the_second_page(client: Client, owner: User) -> None:
    for _ in range(51):
        case_of(owner)
    first = page(client, "/?sort=code")
    assert len(codes(first)) == 50
    assert "1 to 50 of 51 cases" in words(first)
    assert "?sort=code&amp;page=2" in first
    second = page(client, "/?sort=code&page=2")
    assert "51 to 51 of 51 cases" in words(second)
    assert not set(codes(first)) & set(codes(second))


def test_the_page_takes_few_queries_whatever_the_number_of_cases(client: Client, owner: User) -> None:
    for n in range(55):
        measured_case(owner, f"overjet 11 {n % 12}")
    for query in ("", "?sort=-score", "?sort=changed&state=possible", "?page=2"):
        StandingScore.objects.all().delete()
        for _ in range(2):
            client.get(
                reverse("accounts:own_account")
            )  # a page after a minute also notes that the session is used
            with CaptureQueriesContext(connection) as asked:
                page(client, HOME + query)
            assert len(asked) <= MOST_QUERIES, "\n".join(q["sql"][:150] for q in asked)
