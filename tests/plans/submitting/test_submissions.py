"""Submissions: frozen once, checked by digest, told when something moved, answered, and begun from again."""

from __future__ import annotations

import html
import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from plans.document import Plan
from plans.models import Submission, SubmissionResult, SubmittedCase
from plans.submitting.frozen import digest, whole_digest
from portfolio import services
from portfolio.models import Case, CaseState, Portfolio
from scoring.models import ScoreRun
from tests.factories.accounts import person, signed_in
from tests.factories.plans import held_against
from tests.factories.portfolio import NOON
from tests.factories.repeat_sheets import repeat_sheet_of
from tests.factories.scoring import OPEN_FRONT, change, measured_sheet
from tests.factories.submissions import submission_of, submitted_of
from tests.plans.slots.test_pages import PLAN as PLAN_OF_THREE

pytestmark = pytest.mark.django_db

PLAN = Plan("Harbour plan", PLAN_OF_THREE.slots[:2])


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def words(answer: object) -> str:
    text = answer.content.decode()  # type: ignore[attr-defined]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def page(client: Client, row: Submission, status: int = 200) -> str:
    answer = client.get(reverse("plans:submission", args=[row.public_id]))
    assert answer.status_code == status
    return words(answer)


def sent(client: Client, portfolio: Portfolio, **changed: str) -> dict[str, str]:
    """What the form of the preview would send."""
    address = reverse("plans:submission_new", args=[portfolio.public_id])
    text = client.get(address).content.decode()
    state = re.search(r'name="state" value="([^"]*)"', text)
    assert state, text
    typed = {
        "state": html.unescape(state[1]),
        "key": str(uuid.uuid4()),
        "session": "Spring session",
        "submitted_on": "2026-03-01",
        "reason": "the other slots come next year",
    }
    return typed | changed


def test_what_is_open_is_told_and_needs_a_reason_and_a_double_click_freezes_once(
    client: Client, owner: User
) -> None:
    case = measured_sheet(owner, *OPEN_FRONT).record_set.case
    portfolio = case.patient.portfolio
    held_against(portfolio, PLAN)
    Case.objects.filter(pk=case.pk).update(state=CaseState.CHOSEN)
    address = reverse("plans:submission_new", args=[portfolio.public_id])
    assert "Without a case: High whatever the reading." in words(client.get(address))
    refused = client.post(address, sent(client, portfolio, reason="", session=""))
    assert refused.status_code == 422
    assert not Submission.objects.exists()
    typed = sent(client, portfolio)
    assert client.post(address, {**typed, "submitted_on": "2099-01-01"}).status_code == 422
    assert client.post(address, {**typed, "state": "something else"}).status_code == 409
    for _ in range(2):
        assert client.post(address, typed).status_code == 302
    row = Submission.objects.get()
    assert row.head["reason"] == "the other slots come next year"
    frozen = SubmittedCase.objects.get().frozen
    assert [score["total"] for score in frozen["scores"]] == ["35"]
    assert ScoreRun.objects.get().public_id == uuid.UUID(frozen["scores"][0]["run"])


def test_the_digest_is_that_of_the_plain_data_and_a_changed_row_is_noticed(
    client: Client, owner: User
) -> None:
    measured_sheet(owner, *OPEN_FRONT)
    row = submission_of(owner, PLAN)
    part = submitted_of(row)
    assert part.digest == digest(part.frozen)
    assert row.digest == whole_digest(row.head, [part.digest])
    assert "Not whole" not in page(client, row)
    with pytest.raises(TypeError):
        SubmittedCase.objects.filter(pk=part.pk).update(slot="any")
    part.frozen["scores"][0]["total"] = "12"
    part.save()
    assert "the digests do not agree" in page(client, row)


def test_a_finding_changed_since_is_told_beside_the_score_as_it_stood(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    row = submission_of(owner, PLAN)
    assert "Stands as it stood." in page(client, row)
    change(sheet, "overjet", "11", "9")
    said = page(client, row)
    assert "since then 1 finding changed since" in said
    assert "The discrepancy index before treatment is at least 30. 35" in said


def test_what_came_back_is_kept_with_its_history_and_stands_beside_ours(client: Client, owner: User) -> None:
    measured_sheet(owner, *OPEN_FRONT)
    row = submission_of(owner, PLAN)
    part = submitted_of(row)
    address = reverse("plans:submission_result", args=[part.public_id])
    fields = re.findall(r'name="(points-0-[a-z_]+)"', client.get(address).content.decode())
    open_bite = next(name for name in fields if name.endswith("anterior_open_bite"))
    assert client.post(address, {"state": "", open_bite: "x"}).status_code == 422
    assert client.post(address, {"state": "accepted", open_bite: "1e3"}).status_code == 422
    assert not SubmissionResult.objects.exists()
    typed = {"state": "more_asked", "note": "casts once more", open_bite: "33,5"}
    for _ in range(2):
        assert client.post(address, typed).status_code == 302
    assert SubmissionResult.objects.count() == 1
    client.post(address, {**typed, "state": "accepted"})
    said = page(client, row)
    assert "typed 2 times" in said
    assert re.search(r"35 33\.5 −1\.5", said)
    table = client.get(reverse("plans:submission_table", args=[row.public_id])).content.decode()
    assert "anterior_open_bite,35,33.5,-1.5" in table


def test_an_accepted_case_is_not_proposed_again_and_the_next_session_can_be_taken_back(
    client: Client, owner: User
) -> None:
    first = measured_sheet(owner, *OPEN_FRONT).record_set.case
    row = submission_of(owner, PLAN)
    portfolio = first.patient.portfolio
    part = submitted_of(row)
    client.post(reverse("plans:submission_result", args=[part.public_id]), {"state": "accepted"})
    choice = reverse("plans:choice", args=[portfolio.public_id])
    assert f"{first.code} : accepted in Spring session" in words(client.get(choice))
    for _ in range(2):
        client.post(reverse("plans:submission_next", args=[row.public_id]))
    assert Case.objects.get(pk=first.pk).state == CaseState.DONE
    client.post(reverse("plans:take_back", args=[portfolio.public_id]))
    assert Case.objects.get(pk=first.pk).state == CaseState.CHOSEN


def test_an_erased_case_takes_its_part_along_and_the_submission_says_so(client: Client, owner: User) -> None:
    case = measured_sheet(owner, *OPEN_FRONT).record_set.case
    row = submission_of(owner, PLAN)
    services.delete_case(case, NOON)
    address = reverse("plans:submissions", args=[row.portfolio.public_id])
    assert "Spring session not whole" in words(client.get(address))
    services.erase_case(case, case.code)
    row.refresh_from_db()
    assert not SubmittedCase.objects.exists()
    assert case.code not in str(row.head)
    assert "1 case is deleted, erased or handed over since" in page(client, row)
    listed = words(client.get(reverse("plans:submissions", args=[row.portfolio.public_id])))
    assert "Spring session not whole" in listed


def test_a_submission_is_shut_while_one_of_its_cases_is_measured_again(client: Client, owner: User) -> None:
    sheet = measured_sheet(owner, *OPEN_FRONT)
    row = submission_of(owner, PLAN)
    repeat_sheet_of(sheet)
    page(client, row, 423)
    part = submitted_of(row)
    assert client.get(reverse("plans:submission_result", args=[part.public_id])).status_code == 423


def test_nothing_chosen_leads_to_the_choice_and_no_plan_to_a_plan(client: Client, owner: User) -> None:
    portfolio = measured_sheet(owner, *OPEN_FRONT).record_set.case.patient.portfolio
    address = reverse("plans:submission_new", args=[portfolio.public_id])
    assert "Choose a plan" in words(client.get(address))
    held_against(portfolio, PLAN)
    assert "No chosen case stands in a slot" in words(client.get(address))
    assert client.post(address, {"session": "x", "submitted_on": "2026-03-01"}).status_code == 422
    empty = words(client.get(reverse("plans:submissions", args=[portfolio.public_id])))
    assert "Nothing handed in yet" in empty
