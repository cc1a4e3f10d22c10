"""The pages of repeats: nothing of the first sheet is met while one is open, and what is shown afterwards."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from desk.repeats.plots import difference_plot, signed
from portfolio.models import Finding, RepeatSheet, RepeatStatement, Sheet
from portfolio.repeated import repeated_statistics
from portfolio.repeating import services
from portfolio.services import Entry, record_findings
from scoring import services as scoring_services
from scoring.models import ScoreRun
from tests.addresses import argument
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, recorded, save, sheet_of, values
from tests.factories.repeat_sheets import (
    LATER,
    OVERJETS,
    first_sheet_of,
    handed_in,
    measured,
    repeat_sheet_of,
)
from tests.test_every_address import ADDRESSES

pytestmark = pytest.mark.django_db
SCRIPT = {"X-Requested-With": "fetch"}
MARKED = {
    ("overjet", "11"): "17.31",
    ("overjet", "12"): "16.83",
    ("overbite", "21"): "13.87",
    ("crowding", "upper"): "18.79",
    ("tooth_width", "16"): "12.43",
    ("midline_offset", "mouth"): "-9.17",
    ("anb", "mouth"): "11.93",
}
MARKS = ("17.31", "16.83", "13.87", "18.79", "12.43", "9.17", "11.93", "seen on the second plaster")
NOT_FOLLOWED = ("/accounts/logout", "/static/", "/accounts/reauthenticate")


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


@pytest.fixture
def first(owner: User) -> Sheet:
    """A measured sheet whose every value, note and total can be told from anything else."""
    sheet = sheet_of(owner)
    Sheet.objects.filter(pk=sheet.pk).update(step="0.01")
    sheet.refresh_from_db()
    measured(sheet, MARKED)
    noted = Entry("overjet", "11", typed="17.31", seen=1, note="seen on the second plaster")
    recorded(save(sheet, noted))
    scoring_services.keep_score(owner, sheet, "discrepancy", NOON)
    return sheet


def marks_in(text: str, marks: Iterable[str]) -> list[str]:
    return [one for one in marks if re.search(rf"(?<![\d.]){re.escape(one)}(?!\d)", text)]


def body_of(answer: Any) -> str:
    body: bytes = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return body.decode(errors="replace")


def reached(client: Client, start: str) -> dict[str, str]:
    """Every page that links lead to from a page, with its text; forms are not sent."""
    found: dict[str, str] = {}
    waiting = [start]
    while waiting:
        path = waiting.pop()
        if path in found or path.startswith(NOT_FOLLOWED):
            continue
        answer = client.get(path, follow=True)
        final = answer.redirect_chain[-1][0] if answer.redirect_chain else path
        found[path] = body_of(answer)
        if "html" in answer.headers.get("Content-Type", ""):
            links = re.findall(r'(?:(?:href|src)="|data-[a-z-]+="(?=/))([^"#]+)', found[path])
            here = (urljoin(final, link.replace("&amp;", "&")) for link in links)
            waiting += [link for link in here if not urlsplit(link).netloc and link.startswith("/")]
        assert len(found) < 400, "links without end"
    return found


@pytest.mark.any_database
def test_no_value_of_the_first_sheet_is_met_while_a_repeat_is_open(
    owner: User, client: Client, first: Sheet
) -> None:
    case = first.record_set.case
    total = "".join(client.get(reverse("desk:score", args=[first.public_id, "discrepancy"])).content.decode())
    found_total = re.search(r'figure-large">(\d+)<', total)
    assert found_total, "the score page shows a total"
    before = reached(client, reverse("desk:case", args=[case.public_id]))
    assert marks_in("\n".join(before.values()), MARKS) == list(MARKS), "the walk meets what it is to miss"

    repeat = repeat_sheet_of(first)
    page = reverse("desk:repeat_sheet", args=[repeat.sheet.public_id])
    pages = reached(client, page)
    assert len(pages) > 10
    met = {path: marks for path, text in pages.items() if (marks := marks_in(text, MARKS))}
    assert not met
    home = pages[reverse("desk:home")]
    assert "shut while you measure it again" in home
    assert f">{found_total[1]}<" not in home
    _no_address_tells(owner, client, first, repeat)
    assert RepeatSheet.objects.get(pk=repeat.pk).sheet.sealed is False

    answers = [
        _save(client, repeat, "overjet", "11", "3.5"),
        _post(client, repeat, "undo", {"number": 1, "request_key": uuid.uuid4().hex}),
        _post(client, repeat, "findings", {"whole_mouth": True, "request_key": uuid.uuid4().hex}),
        _post(client, repeat, "findings", {"entries": [{"quantity": "overjet", "site": "11", "typed": "x"}], "request_key": uuid.uuid4().hex}, 422),
    ]  # fmt: skip
    for told in answers:
        assert not marks_in(json.dumps(told), MARKS)
    assert answers[0]["live"] == "<p data-total></p>"

    _save(client, repeat, "overjet", "11", "4")
    client.post(reverse("desk:repeat_hand_in", args=[repeat.sheet.public_id]))
    shown = client.get(page).content.decode()
    assert set(marks_in(shown, MARKS)) == {"17.31", "16.83", "13.87", "18.79", "12.43", "9.17"}
    assert client.get(reverse("desk:case", args=[case.public_id])).status_code == 200


def _no_address_tells(owner: User, client: Client, first: Sheet, repeat: RepeatSheet) -> None:
    """Every address that takes something of the case, looked at and sent to."""
    here = first.record_set
    known = {
        "sheet": (first.public_id, repeat.sheet.public_id),
        "record_set": (here.public_id,),
        "case": (here.case.public_id,),
        "run": (ScoreRun.objects.get(sheet=first).public_id,),
        "repeat_sheet": (repeat.sheet.public_id,),
        "portfolio": (here.case.patient.portfolio.public_id,),
        "patient": (here.case.patient.public_id,),
    }
    asked = 0
    for address in ADDRESSES:
        if not set(address.arguments) & set(known):
            continue
        for turn in (0, -1):
            given: dict[str, Any] = {}
            for name in address.arguments:
                entry = argument(address.name, name)
                assert entry
                given[name] = known[name][turn] if name in known else entry.belonging_to(owner)
            path = reverse(address.name, kwargs=given)
            assert not marks_in(body_of(client.get(path)), MARKS), path
            sent = client.post(path, "{}", content_type="application/json", headers=SCRIPT)
            assert not marks_in(body_of(sent), MARKS), path
            asked += 1
    assert asked > 80
    old = {
        "entries": [{"quantity": "overjet", "site": "11", "typed": "1", "seen": 0}],
        "request_key": "a" * 32,
    }
    findings = reverse("desk:findings", args=[first.public_id])
    answer = client.post(findings, json.dumps(old), content_type="application/json", headers=SCRIPT)
    assert (answer.status_code, marks_in(body_of(answer), MARKS)) == (423, [])


def test_pages_of_the_repeat_before_are_shut_while_another_is_open(
    owner: User, client: Client, first: Sheet
) -> None:
    done = handed_in(first, OVERJETS)
    again = repeat_sheet_of(first, LATER + timedelta(days=30))
    for name in ("desk:repeat_sheet", "desk:repeat_json"):
        answer = client.get(reverse(name, args=[done.sheet.public_id]))
        assert answer.status_code == 423
        assert not marks_in(answer.content.decode(), MARKS)
    answer = client.post(reverse("desk:repeat_leave_out", args=[done.sheet.public_id]))
    assert (answer.status_code, marks_in(answer.content.decode(), MARKS)) == (423, [])
    services.give_up(owner, again, "not now", LATER)
    assert client.get(reverse("desk:repeat_sheet", args=[done.sheet.public_id])).status_code == 200
    assert client.get(reverse("desk:repeat_json", args=[done.sheet.public_id])).json()["sheet"] == 1


def test_the_blind_page_has_no_count_score_or_hint_and_keeps_its_own_order(
    owner: User, client: Client, first: Sheet
) -> None:
    one, other = repeat_sheet_of(first), repeat_sheet_of(first_sheet_of(owner))
    pages = [
        client.get(reverse("desk:repeat_sheet", args=[r.sheet.public_id])).content.decode()
        for r in (one, other)
    ]
    rows, others = (re.findall(r'data-row="([a-z_]+)"', page) for page in pages)
    assert sorted(rows) == sorted(others)
    assert rows != others
    assert "overjet" in rows
    assert not {"anb", "aesthetic_component", "functional_shift"} & set(rows)
    sites, other_sites = (re.findall(r'data-field="overjet-(\d+)-1"', page) for page in pages)
    assert sorted(sites) == sorted(other_sites) == ["11", "12", "13", "21", "22", "23"]
    assert sites != ["13", "12", "11", "21", "22", "23"] or other_sites != sites
    _save(client, one, "overjet", "11", "3.5")
    again = client.get(reverse("desk:repeat_sheet", args=[one.sheet.public_id])).content.decode()
    assert re.findall(r'data-row="([a-z_]+)"', again) == rows
    assert re.findall(r'data-field="overjet-(\d+)-1"', again) == sites
    for word in ("at least", "Not recorded yet", "Worth a second look", "What if", "witness", "Take over"):
        assert word not in again, word
    assert client.get(reverse("desk:repeat_json", args=[one.sheet.public_id])).status_code == 302
    for name in ("desk:measure", "desk:sheet_json", "portfolio:sheet_import"):
        assert client.get(reverse(name, args=[one.sheet.public_id])).status_code in (404, 423)


def test_a_repeat_is_begun_measured_handed_in_and_left_out_by_pages(
    owner: User, client: Client, first: Sheet
) -> None:
    begin = reverse("desk:repeat_begin", args=[first.record_set.public_id])
    assert "Begin the repeat" in client.get(begin).content.decode()
    key = str(uuid.uuid4())
    for _ in range(2):
        answer = client.post(begin, {"public_id": key})
        assert answer.status_code == 302
    repeat = RepeatSheet.objects.get()
    assert str(repeat.sheet.public_id) == key
    assert abs(repeat.begun_at - timezone.now()) < timedelta(minutes=5)
    assert "Nothing is measured yet" in _hand_in(client, repeat)
    _save(client, repeat, "overjet", "11", "17.01")
    _hand_in(client, repeat)
    refused = _save(client, repeat, "overjet", "11", "1", 422)
    assert "closed" in refused["faults"][0]["message"]
    answer = client.get(reverse("desk:repeat_give_up", args=[key]))
    assert answer.headers["Location"].endswith(reverse("desk:repeat_sheet", args=[key]))
    assert values(repeat.sheet) == {"overjet 11": "17.01"}
    assert values(first)["overjet 11"] == "17.31"
    out = reverse("desk:repeat_leave_out", args=[key])
    assert "A reason in writing is needed" in client.post(out, {"reason": " "}).content.decode()
    client.post(out, {"reason": "caliper battery low"})
    shown = client.get(
        reverse("desk:repeat_own_error", args=[first.record_set.case.patient.portfolio.public_id])
    )
    assert "1 repeat left out, 0 given up" in shown.content.decode()
    assert "caliper battery low" in shown.content.decode()
    assert Finding.objects.filter(sheet=repeat.sheet).count() == 1


def test_an_early_repeat_asks_why_beside_the_field(owner: User, client: Client) -> None:
    sheet = sheet_of(owner)
    entry = Entry("overjet", "11", typed="3")
    from_now = timezone.now()
    recorded(record_findings(owner, sheet, [entry], "now", from_now))
    begin = reverse("desk:repeat_begin", args=[sheet.record_set.public_id])
    answer = client.post(begin, {"public_id": str(uuid.uuid4()), "reason": ""})
    assert answer.status_code == 422
    assert "Say in writing why" in answer.content.decode()
    assert not RepeatSheet.objects.exists()
    client.post(begin, {"public_id": str(uuid.uuid4()), "reason": "casts leave tomorrow"})
    assert RepeatStatement.objects.get().reason == "casts leave tomorrow"
    listed = reverse("desk:repeat_list", args=[sheet.record_set.case.patient.portfolio.public_id])
    shown = client.get(listed).content.decode()
    assert "begun early: casts leave tomorrow" in shown
    assert client.post(listed, {"days": "400"}).status_code == 422
    client.post(listed, {"days": "0"})
    sheet.record_set.case.patient.portfolio.refresh_from_db()
    assert sheet.record_set.case.patient.portfolio.repeat_wait_days == 0


def test_figures_and_plot_stand_on_the_page_with_what_is_lacking(owner: User, client: Client) -> None:
    front = ("13", "12", "11", "21", "22", "23")
    lists = reverse(
        "desk:repeat_own_error", args=[first_sheet_of(owner).record_set.case.patient.portfolio.public_id]
    )
    assert "No repeat counted yet" in client.get(lists).content.decode()
    handed_in(
        first_sheet_of(owner, {("overjet", t): "3" for t in front[:4]}),
        {("overjet", t): "3.2" for t in front},
    )
    assert "1 more pair until shown" in client.get(lists).content.decode()
    for number in range(3):
        first = {("overjet", t): str(2 + number) for t in front}
        handed_in(
            first_sheet_of(owner, first),
            {place: f"{float(v) + 0.1 * number:.1f}" for place, v in first.items()},
        )
    shown = client.get(lists).content.decode()
    # 22 pairs: four of 0.2, six each of 0, 0.1, 0.2; Dahlberg √(Σd²/2n) = √(0.46/44)
    assert "0.10 <span" in shown
    assert ">used<" in shown
    assert 'role="img" aria-label="Overjet, caliper: 22 pairs, bias 0.12 mm' in shown


def test_the_plot_of_a_constant_difference_is_drawn() -> None:
    told = repeated_statistics([(3.0, 3.0)] * 5)
    assert told
    plot = difference_plot([(3.0, 0.0)] * 5, told, "Overjet", "mm")
    assert len(plot.dots) == 1
    assert "5 pairs" in plot.dots[0].words
    assert plot.left <= plot.dots[0].x <= plot.right
    assert plot.top <= plot.dots[0].y <= plot.bottom
    assert signed(-0.001) == "0.00"
    assert signed(-1.5) == "−1.50"


def _post(client: Client, repeat: RepeatSheet, name: str, body: dict[str, Any], status: int = 200) -> Any:
    address = reverse(f"desk:repeat_{name}", args=[repeat.sheet.public_id])
    answer = client.post(address, json.dumps(body), content_type="application/json", headers=SCRIPT)
    assert answer.status_code == status, answer.content
    return answer.json()


def _save(
    client: Client, repeat: RepeatSheet, quantity: str, site: str, typed: str, status: int = 200
) -> Any:
    row = Finding.objects.filter(sheet=repeat.sheet, quantity=quantity, site=site).first()
    entry = {"quantity": quantity, "site": site, "typed": typed, "seen": row.changed_in if row else 0}
    return _post(client, repeat, "findings", {"entries": [entry], "request_key": uuid.uuid4().hex}, status)


def _hand_in(client: Client, repeat: RepeatSheet) -> str:
    return client.post(
        reverse("desk:repeat_hand_in", args=[repeat.sheet.public_id]), follow=True
    ).content.decode()
