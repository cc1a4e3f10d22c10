"""Pages of the course of a case: several events at once, change, remove and put back, statements, what they cost."""

from __future__ import annotations

import re
import threading
import uuid
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from portfolio import selectors, services
from portfolio.events import Event
from portfolio.models import Case, CaseStatements, Finding, Patient, Portfolio, RecordSet, TreatmentEvent
from portfolio.services.retention import KEPT_AFTER_DELETION, erase_long_deleted
from portfolio.treatment import services as writing
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import case_of, save, sheet_of
from tests.factories.repeat_sheets import first_sheet_of, repeat_sheet_of
from tests.factories.treatment import event_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def pages(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def case(owner: User) -> Case:
    return case_of(owner)


def at(case: Case, name: str = "treatment") -> str:
    return reverse(f"portfolio:{name}", args=[case.public_id])


def several(*rows: dict[str, str], key: str = "", **more: str) -> dict[str, str]:
    sent = {"key": key or str(uuid.uuid4()), "rows_shown": str(max(len(rows), 4)), **more}
    for number, row in enumerate(rows):
        sent |= {f"row-{number}-{name}": text for name, text in {"done_by": "candidate", **row}.items()}
    return sent


def words(answer: object) -> str:
    html = answer.content.decode()  # type: ignore[attr-defined]
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


ROWS: tuple[dict[str, str], ...] = (
    {"on": "2023-09-18", "kind": "start", "done_by": "supervised"},
    {
        "on": "2023-10-03",
        "kind": "extraction",
        "teeth": "14, 24",
        "detail": "protrusion",
        "done_by": "another",
    },
    {},
    {"on": "2023-10-23", "kind": "appliances_on", "detail": "fixed_labial", "phase": "1"},
    {"on": "2025-10-20", "kind": "appliances_off"},
    {"on": "2025-10-20", "kind": "end", "note": "as planned"},
)


def test_several_events_are_saved_at_once_and_the_course_follows(
    pages: Client, case: Case, owner: User
) -> None:
    empty = words(pages.get(at(case)))
    assert "No event yet" in empty
    assert "Active treatment time" not in empty
    answer = pages.post(at(case), several(*ROWS), follow=True)
    text = words(answer)
    assert f"5 events of case {case.code} saved." in text
    assert "Active treatment time 25 months" in text
    assert "two upper first premolars (14, 24) 14, 24: front teeth to be moved back" in text
    assert "by the candidate: 95 % by the candidate under supervision: 5 %" in text
    assert "labial, 23 months" in text
    row = TreatmentEvent.objects.get(kind="extraction")
    assert (row.teeth, row.detail, row.done_by, row.phase) == ("14 24", "protrusion", "another", 0)
    # Nothing needs the birth date; without it ages are left out.
    assert case.patient.birth_date is None
    assert "Ages stand here once the birth date is kept" in text
    line = words(pages.get(reverse("desk:case", args=[case.public_id])))
    assert (
        "25 months of active treatment; fixed appliance, labial; extracted: two upper first premolars" in line
    )


def test_a_form_sent_twice_makes_its_events_once_and_what_was_added_to_it_is_added(
    pages: Client, owner: User, case: Case
) -> None:
    key = str(uuid.uuid4())
    twins = ({"on": "2024-05-06", "kind": "missed"}, {"on": "2024-05-06", "kind": "missed"})
    for _ in range(2):
        pages.post(at(case), several(*twins, key=key))
    assert TreatmentEvent.objects.count() == 2
    pages.post(at(case), several(*twins, {"on": "2024-06-03", "kind": "missed"}, key=key))
    assert TreatmentEvent.objects.filter(case=case).count() == 3
    other = case_of(owner)
    misled = pages.post(at(other), several(*twins, key=key))
    assert misled.status_code == 409
    assert "This form is out of date." in words(misled)
    assert not TreatmentEvent.objects.filter(case=other).exists()


def test_every_form_of_the_pages_carries_its_token(owner: User, case: Case) -> None:
    row, gone = event_on(case, owner), event_on(case, owner, "missed", date(2024, 4, 8))
    writing.remove_event(gone, timezone.now(), 1)
    strict = signed_in(owner, enforce_csrf_checks=True)
    addresses = [
        at(case),
        reverse("portfolio:event_edit", args=[row.public_id]),
        reverse("portfolio:event_erase", args=[gone.public_id]),
        reverse("portfolio:stage_records", args=[case.record_sets.get().public_id]),
    ]
    for address in addresses:
        html = strict.get(address).content.decode()
        forms = re.findall(r'<form[^>]*method="post".*?</form>', html, re.S)
        assert forms
        assert all("csrfmiddlewaretoken" in form for form in forms), address


def test_a_faulty_row_saves_nothing_and_each_fault_stands_beside_its_field(pages: Client, case: Case) -> None:
    later = (timezone.now().date() + timedelta(days=9)).isoformat()
    faulty = (
        {"on": "2024-01-08", "kind": "start"},
        {"on": later, "kind": "note", "note": "soon"},
        {"on": "2024-02-05", "kind": "extraction", "teeth": "14 19"},
        {"on": "2024-02-05", "kind": "extraction", "detail": "fixed_labial"},
        {"on": "2024-02-05", "kind": "phase_start"},
        {"on": "2024-02-05", "kind": "appliances_on", "teeth": "11"},
        {"on": "2024-02-05", "kind": "missed", "teeth": "11"},
        {"kind": "missed"},
        {"on": "2024-02-30", "note": "x"},
        {"on": "2024-02-05", "kind": "note"},
    )
    answer = pages.post(at(case), several(*faulty))
    assert answer.status_code == 422
    assert not TreatmentEvent.objects.exists()
    text = words(answer)
    for told in (
        "Nothing was saved. 9 rows need another look",
        "This day lies in the future",
        "19 is no tooth of ISO 3950: 11 to 48, primary 51 to 85. Write for example 14, 24.",
        "Name the teeth, for example 14, 24.",
        "This does not belong to “Extraction”. Choose one under “Reason”.",
        "Say which phase, 1 to 4.",
        "Choose the appliance.",
        "“Missed appointment” takes no teeth.",
        "Give the day.",
        "This is not a day",
        "Choose what happened.",
        "Write the note.",
    ):
        assert told in text, told
    html = answer.content.decode()
    assert 'value="14 19"' in html
    # Where the page puts the hand: the first faulty field, never one of a row without fault.
    assert re.findall(r'name="row-(\d+)-\w+"[^>]*aria-invalid="true"', html)[0] == "1"
    gap = pages.post(at(case), several({}, {"on": "2024-02-05"})).content.decode()
    assert re.findall(r'name="row-(\d+)-(\w+)"[^>]*aria-invalid="true"', gap) == [("1", "kind")]
    assert pages.post(at(case), several()).status_code == 422
    assert "Fill in at least one row" in words(pages.post(at(case), several()))


def test_more_rows_keep_what_was_typed_and_check_nothing_yet(pages: Client, case: Case) -> None:
    sent = several({"on": "2024-01-08", "kind": "start", "teeth": "99"}, key=str(uuid.uuid4()), more="1")
    answer = pages.post(at(case), sent)
    html = answer.content.decode()
    assert (answer.status_code, html.count("<fieldset")) == (200, 8)
    assert sent["key"] in html
    assert 'value="99"' in html
    assert "field-error" not in html
    assert not TreatmentEvent.objects.exists()


def test_the_notation_of_the_portfolio_is_read_and_a_day_before_the_birth_refused(
    pages: Client, case: Case
) -> None:
    Portfolio.objects.update(notation="universal")
    Patient.objects.update(birth_date=date(2010, 2, 28))
    extraction = {"on": "2024-02-28", "kind": "extraction", "teeth": "5 12"}
    text = words(pages.post(at(case), several(extraction), follow=True))
    assert TreatmentEvent.objects.get().teeth == "14 24"
    assert "28 Feb 2024 – 14 y 0 m Extraction 5, 12" in text
    early = pages.post(at(case), several({"on": "2009-12-31", "kind": "start"}))
    assert "This day lies before the birth." in words(early)


def test_an_event_is_changed_and_a_stale_window_is_told_with_both_versions(
    pages: Client, case: Case, owner: User
) -> None:
    row = event_on(case, owner, "extraction", teeth=("14",), detail="crowding")
    address = reverse("portfolio:event_edit", args=[row.public_id])
    assert 'value="14"' in pages.get(address).content.decode()
    sent = {"on": "2024-03-04", "kind": "extraction", "teeth": "15", "detail": "crowding", "version": "1"}
    assert pages.post(address, sent).status_code == 302
    late = pages.post(address, {**sent, "teeth": "24"})
    row.refresh_from_db()
    assert (late.status_code, row.teeth, row.version) == (409, "15", 2)
    assert "Teeth 15 24" in words(late)
    assert pages.post(address, {**sent, "teeth": "24", "version": "2"}).status_code == 302
    assert pages.post(address, {**sent, "teeth": "", "version": "3"}).status_code == 422
    row.refresh_from_db()
    assert row.teeth == "24"


def test_a_removed_event_counts_no_more_can_be_put_back_and_be_erased(
    pages: Client, case: Case, owner: User
) -> None:
    row = event_on(case, owner)
    remove = reverse("portfolio:event_remove", args=[row.public_id])
    stale = pages.post(remove, {"version": "7"}, follow=True)
    assert "was changed in another window meanwhile; it was not removed" in words(stale)
    text = words(pages.post(remove, {"version": "1"}, follow=True))
    assert "Removed events (1)" in text
    assert selectors.course_of(case).course.start is None
    assert pages.get(reverse("portfolio:event_edit", args=[row.public_id])).status_code == 404
    pages.post(reverse("portfolio:event_put_back", args=[row.public_id]))
    assert selectors.course_of(case).course.start == row.on
    pages.post(remove, {"version": "1"})
    erase = reverse("portfolio:event_erase", args=[row.public_id])
    assert "Erase this event for good?" in words(pages.get(erase))
    pages.post(erase)
    assert not TreatmentEvent.objects.exists()


def test_statements_are_yes_no_or_not_stated(pages: Client, case: Case) -> None:
    address = at(case, "statements")
    assert selectors.course_of(case).statements.asymmetry is None
    sent = {"asymmetry": "yes", "surgical_plan": "no", "presented_before": "", "note": "seen", "version": "0"}
    assert pages.post(address, sent).status_code == 302
    stated = selectors.course_of(case).statements
    assert (stated.asymmetry, stated.surgical_plan, stated.presented_before) == (True, False, None)
    late = pages.post(address, {**sent, "surgical_plan": "", "asymmetry": "no"})
    assert late.status_code == 409
    assert "Asymmetry of the face or jaws yes no" in words(late)
    assert "Planned with surgery of the jaws no not stated" in words(late)
    assert pages.post(address, {**sent, "asymmetry": "perhaps", "version": "1"}).status_code == 422
    taken_back = {**sent, "asymmetry": "", "surgical_plan": "", "version": "1"}
    assert pages.post(address, taken_back).status_code == 302
    assert selectors.course_of(case).statements.asymmetry is None


def test_contradictions_are_told_with_the_events_and_on_the_page_of_the_case(
    pages: Client, owner: User
) -> None:
    sheet = sheet_of(owner)
    here = sheet.record_set
    RecordSet.objects.filter(pk=here.pk).update(taken_on=date(2023, 12, 4))
    services.add_record_set(owner, here.case, services.RecordSetDetails(stage="final"))
    event_on(here.case, owner)
    event_on(here.case, owner, "extraction", date(2024, 4, 8), teeth=("14", "24"))
    both = "Teeth 14, 24 were taken out, but listed as standing in the final records after that."
    for address in (at(here.case), reverse("desk:case", args=[here.case.public_id])):
        assert both in words(pages.get(address))
    final = here.case.record_sets.get(stage="final").sheets.get()
    save(final, *(services.Entry("missing", site, typed="extracted") for site in ("14", "24")))
    assert Finding.objects.filter(quantity="missing").count() == 2
    assert "taken out" not in words(pages.get(at(here.case))).partition("Course")[0]
    assert both not in selectors.case_warnings(here.case, date(2026, 3, 2))


def test_pages_and_courses_cost_the_same_for_many_events(pages: Client, owner: User, case: Case) -> None:
    others = [case_of(owner) for _ in range(3)]
    event_on(case, owner)
    addresses = (at(case), reverse("desk:case", args=[case.public_id]))
    pages.get(addresses[0])
    few = []
    for address in addresses:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            pages.get(address)
        few.append(len(queries))
    months = [Event(date(2024, 4 + number % 9, 2 + number), "missed") for number in range(20)]
    writing.add_events(owner, case, months, uuid.uuid4())
    for address, before in zip(addresses, few, strict=True):
        with CaptureQueriesContext(connection) as queries:
            pages.get(address)
        assert len(queries) <= before
    for one in others:
        event_on(one, owner)
    with CaptureQueriesContext(connection) as queries:
        courses = selectors.courses_of([case, *others])
    assert len(queries) == 2
    assert courses[case.pk].course.missed == 20
    assert all(courses[one.pk].course.start_by == "start" for one in others)


def test_the_course_is_shut_while_the_case_is_measured_again(pages: Client, owner: User) -> None:
    first = first_sheet_of(owner)
    row = event_on(first.record_set.case, owner)
    addresses = [at(first.record_set.case), reverse("portfolio:event_edit", args=[row.public_id])]
    assert [pages.get(one).status_code for one in addresses] == [200, 200]
    repeat_sheet_of(first)
    assert [pages.get(one).status_code for one in addresses] == [423, 423]


def test_events_and_statements_go_with_an_erased_case(owner: User, case: Case) -> None:
    kept = case_of(owner)
    for one in (case, kept):
        event_on(one, owner)
        writing.save_statements(one, dict.fromkeys(writing.STATEMENTS, True), "", 0)
    now = timezone.now()
    services.delete_case(case, now - KEPT_AFTER_DELETION - timedelta(minutes=1))
    assert erase_long_deleted(now) == 1
    assert set(TreatmentEvent.objects.values_list("case", flat=True)) == {kept.pk}
    assert set(CaseStatements.objects.values_list("case", flat=True)) == {kept.pk}


@pytest.mark.django_db(transaction=True)
def test_the_same_form_sent_twice_at_once_makes_its_events_once() -> None:
    owner = person(name="Odile Marchetti")
    case = case_of(owner)
    events = [
        Event(date(2024, 1, 8), "start"),
        Event(date(2024, 1, 8), "missed"),
        Event(date(2024, 1, 8), "missed"),
    ]
    batch, start = uuid.uuid4(), threading.Barrier(2)
    made: list[object] = []

    def add() -> None:
        try:
            start.wait(10)
            made.append(sorted(row.pk for row in writing.add_events(owner, case, events, batch)))
        except BaseException as error:
            made.append(error)
        finally:
            connection.close()

    both = [threading.Thread(target=add) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join(60)
    stored = sorted(TreatmentEvent.objects.values_list("pk", flat=True))
    assert len(stored) == 3
    assert made == [stored, stored]
