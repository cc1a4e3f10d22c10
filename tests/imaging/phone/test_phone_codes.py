"""One-time codes for pictures by phone: ten minutes, one use, nobody else's, and little to be guessed or learnt."""

from __future__ import annotations

import re
import threading
import uuid
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from imaging.models import PhoneCode
from imaging.phone import services
from imaging.phone.services import LIFE, MOST_OPEN, SPENT, Asked, CannotAsk, HandedIn, NotHandedIn, hand_in
from portfolio.models import RecordItem, RecordSet, Sheet
from portfolio.selectors import evidence_of, reading
from portfolio.services import cases, undo
from portfolio.services.answers import Entry, Recorded
from portfolio.services.findings import record_findings
from portfolio.services.record_sets import working_sheet
from tests.factories.accounts import person, signed_in
from tests.factories.phone import asked_code
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import corner, jpeg, marked_jpeg

pytestmark = pytest.mark.django_db
PHONE = "/phone/"
PLACE = ("overjet", "11", 1)


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


@pytest.fixture
def phone() -> Client:
    return Client()


def picture(data: bytes | None = None, name: str = "IMG_20260102.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, jpeg(corner()) if data is None else data)


def pictures(record_set: RecordSet) -> list[RecordItem]:
    return list(RecordItem.objects.filter(record_set=record_set))


def with_overjet(owner: User, record_set: RecordSet) -> Sheet:
    sheet = working_sheet(owner, record_set)
    entry = Entry("overjet", "11", typed="4.5", note="worn edge")
    assert isinstance(record_findings(owner, sheet, [entry], "entered", timezone.now()), Recorded)
    return sheet


def test_a_phone_hands_in_one_picture_by_a_code_without_signing_in(
    phone: Client, owner: User, record_set: RecordSet
) -> None:
    _, code = asked_code(owner, record_set)
    assert "Picture" in phone.post(PHONE, {"code": code.lower().replace("-", " ")}).content.decode()
    answer = phone.post(PHONE, {"code": code, "send": "1", "picture": picture(marked_jpeg())})
    assert "has arrived" in answer.content.decode()
    (kept,) = pictures(record_set)
    assert (kept.view, kept.file.owner) == ("witness", owner)  # type: ignore[union-attr]
    assert kept.removed, "the same intake left behind what the phone wrote into the file"
    assert kept.no_text_at is None, "whether a name stands in it is asked before it is printed"


def test_only_a_keyed_digest_of_the_code_is_kept(owner: User, record_set: RecordSet) -> None:
    row, code = asked_code(owner, record_set)
    stored = " ".join(str(value) for value in PhoneCode.objects.filter(pk=row.pk).values()[0].values())
    assert code not in stored
    assert code.replace("-", "") not in stored
    assert re.fullmatch(r"[0-9a-f]{64}", row.digest)


def test_a_code_holds_for_ten_minutes_and_not_a_moment_longer(owner: User, record_set: RecordSet) -> None:
    assert timedelta(minutes=10) == LIFE
    row, code = asked_code(owner, record_set)
    assert hand_in(code, jpeg(corner()), row.made_at + LIFE) == NotHandedIn(SPENT["expired"], again=False)
    assert pictures(record_set) == []
    assert isinstance(hand_in(code, jpeg(corner()), row.made_at + LIFE - timedelta(seconds=1)), HandedIn)


def test_a_code_takes_one_picture(owner: User, record_set: RecordSet) -> None:
    row, code = asked_code(owner, record_set)
    assert isinstance(hand_in(code, jpeg(corner()), row.made_at), HandedIn)
    second = hand_in(code, jpeg(corner((90, 60))), row.made_at)
    assert second == NotHandedIn(SPENT["used"], again=False)
    assert len(pictures(record_set)) == 1


def test_a_page_sent_twice_makes_one_picture_and_says_that_it_has_arrived(
    phone: Client, owner: User, record_set: RecordSet
) -> None:
    _, code = asked_code(owner, record_set)
    said = [
        phone.post(PHONE, {"code": code, "send": "1", "picture": picture()}).content.decode()
        for _ in range(2)
    ]
    assert "has arrived" in said[0]
    assert "its picture has arrived" in said[1]
    assert len(pictures(record_set)) == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_pictures_that_come_at_once_one_is_taken_in(owner: User, record_set: RecordSet) -> None:
    row, code = asked_code(owner, record_set)
    answers: list[HandedIn | NotHandedIn] = []

    def send(size: tuple[int, int]) -> None:
        answers.append(hand_in(code, jpeg(corner(size)), row.made_at))
        connection.close()

    threads = [threading.Thread(target=send, args=[size]) for size in ((80, 60), (81, 60), (82, 60))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(isinstance(one, HandedIn) for one in answers) == 1
    assert len(pictures(record_set)) == 1


def test_a_refused_file_leaves_the_code_unspent_and_the_reason_beside_the_field(
    phone: Client, owner: User, record_set: RecordSet
) -> None:
    _, code = asked_code(owner, record_set)
    answer = phone.post(PHONE, {"code": code, "send": "1", "picture": picture(jpeg(corner())[:300])})
    assert answer.status_code == 422
    assert 'id="picture-fault"' in answer.content.decode()
    assert (
        "has arrived" in phone.post(PHONE, {"code": code, "send": "1", "picture": picture()}).content.decode()
    )


def test_without_a_picture_the_page_asks_for_one_and_keeps_the_code(
    phone: Client, owner: User, record_set: RecordSet
) -> None:
    _, code = asked_code(owner, record_set)
    answer = phone.post(PHONE, {"code": code, "send": "1"})
    assert "Take or choose a picture first." in answer.content.decode()
    assert isinstance(hand_in(code, jpeg(corner()), timezone.now()), HandedIn)


@pytest.mark.parametrize("typed", ["", "ABC", "!!!!-!!!!", "K7RM2XQP9", "K" * 41])
def test_a_text_that_is_no_code_is_told_beside_its_field(phone: Client, typed: str) -> None:
    answer = phone.post(PHONE, {"code": typed})
    assert answer.status_code == 422
    assert "code" in answer.content.decode().lower()


def test_codes_cannot_be_guessed_by_trying_many(phone: Client) -> None:
    answers = [phone.post(PHONE, {"code": f"K7RM-2X{n:02}"}).status_code for n in range(22, 44)]
    assert answers[:20] == [422] * 20
    assert answers[20:] == [429] * 2


def test_a_called_off_code_is_refused_in_words(owner: User, record_set: RecordSet) -> None:
    row, code = asked_code(owner, record_set)
    signed_in(owner).post(reverse("imaging:phone_cancel", args=[row.public_id]))
    assert hand_in(code, jpeg(corner()), row.made_at) == NotHandedIn(SPENT["cancelled"], again=False)


@pytest.mark.parametrize("loss", ["case deleted", "person shut out"])
def test_a_code_ends_when_its_owner_may_not_write_there_any_more(
    owner: User, record_set: RecordSet, loss: str
) -> None:
    row, code = asked_code(owner, record_set)
    if loss == "case deleted":
        cases.delete_case(record_set.case, timezone.now())
    else:
        User.objects.filter(pk=owner.pk).update(is_active=False)
    assert isinstance(hand_in(code, jpeg(corner()), row.made_at), NotHandedIn)
    assert pictures(record_set) == []


def test_the_phone_learns_nothing_of_the_case_but_the_kind_of_picture(
    phone: Client, owner: User, record_set: RecordSet
) -> None:
    sheet = with_overjet(owner, record_set)
    _, code = asked_code(owner, record_set, Asked("witness", sheet, PLACE))
    said = phone.post(PHONE, {"code": code}).content.decode()
    assert "Overjet, 11" in said
    patient = record_set.case.patient
    for secret in ("4.5", "worn edge", record_set.case.code, patient.code, owner.name, owner.email):
        assert secret not in said


def test_a_witness_picture_becomes_evidence_without_a_number(owner: User, record_set: RecordSet) -> None:
    sheet = with_overjet(owner, record_set)
    before = reading(sheet).findings[0]
    _, code = asked_code(owner, record_set, Asked("witness", sheet, PLACE))
    answer = hand_in(code, jpeg(corner()), timezone.now())
    assert isinstance(answer, HandedIn)
    (piece,) = evidence_of(sheet)[PLACE]
    assert (piece.kind, piece.item) == ("witness", answer.code.item.public_id)  # type: ignore[union-attr]
    assert piece.marks == {}
    after = reading(sheet).findings[0]
    assert (after.value, after.note, after.sd) == (before.value, before.note, before.sd)


def test_adding_a_witness_never_rounds_the_value_it_witnesses(owner: User, record_set: RecordSet) -> None:
    sheet = with_overjet(owner, record_set)
    Sheet.objects.filter(pk=sheet.pk).update(step="1")
    _, code = asked_code(owner, record_set, Asked("witness", sheet, PLACE))
    hand_in(code, jpeg(corner()), timezone.now())
    assert reading(sheet).findings[0].value == "4.5"


def test_a_second_witness_stands_beside_the_first_and_undo_takes_it_back(
    owner: User, record_set: RecordSet
) -> None:
    sheet = with_overjet(owner, record_set)
    for size in ((80, 60), (90, 60)):
        _, code = asked_code(owner, record_set, Asked("witness", sheet, PLACE))
        hand_in(code, jpeg(corner(size)), timezone.now())
    assert len(evidence_of(sheet)[PLACE]) == 2
    sheet.refresh_from_db()
    undo(owner, sheet, sheet.version, "back", timezone.now())
    assert len(evidence_of(sheet)[PLACE]) == 1


def test_a_finding_cleared_meanwhile_leaves_the_picture_among_the_records(
    owner: User, record_set: RecordSet
) -> None:
    sheet = with_overjet(owner, record_set)
    _, code = asked_code(owner, record_set, Asked("witness", sheet, PLACE))
    record_findings(owner, sheet, [Entry("overjet", "11", typed="", seen=1)], "cleared", timezone.now())
    assert isinstance(hand_in(code, jpeg(corner()), timezone.now()), HandedIn)
    assert len(pictures(record_set)) == 1
    assert evidence_of(sheet) == {}


def test_nobody_asks_for_codes_for_other_peoples_records_or_sees_theirs(
    owner: User, record_set: RecordSet
) -> None:
    row, _ = asked_code(owner, record_set)
    stranger = signed_in(person())
    for name, key in (("phone_ask", record_set.public_id), ("phone_code", row.public_id)):
        assert stranger.get(reverse(f"imaging:{name}", args=[key])).status_code == 404
    form = {"public_id": str(uuid.uuid4()), "view": "witness", "finding": ""}
    assert stranger.post(reverse("imaging:phone_ask", args=[record_set.public_id]), form).status_code == 404
    assert stranger.post(reverse("imaging:phone_cancel", args=[row.public_id])).status_code == 404
    assert PhoneCode.objects.count() == 1


def test_the_code_is_shown_once_and_a_form_sent_twice_makes_one_code(
    owner: User, record_set: RecordSet
) -> None:
    browser, form = signed_in(owner), {"public_id": str(uuid.uuid4()), "view": "upper", "finding": ""}
    address = reverse("imaging:phone_ask", args=[record_set.public_id])
    first, second = (browser.post(address, form).content.decode() for _ in range(2))
    code = re.search(r'phone-code code-text">([0-9A-Z]{4}-[0-9A-Z]{4})<', first)
    assert code is not None
    assert code[1] not in second
    assert "shown once" in second
    assert PhoneCode.objects.count() == 1
    assert (
        code[1]
        not in browser.get(
            reverse("imaging:phone_code", args=[PhoneCode.objects.get().public_id])
        ).content.decode()
    )


def test_a_picture_by_phone_takes_the_view_it_was_asked_for(owner: User, record_set: RecordSet) -> None:
    row, code = asked_code(owner, record_set, Asked("casts_upper"))
    hand_in(code, jpeg(corner()), row.made_at)
    assert [one.view for one in pictures(record_set)] == ["casts_upper"]


def test_few_codes_are_open_at_once(owner: User, record_set: RecordSet) -> None:
    for _ in range(MOST_OPEN):
        asked_code(owner, record_set)
    with pytest.raises(CannotAsk, match="open already"):
        asked_code(owner, record_set)
    later = timezone.now() + LIFE
    assert services.ask(owner, record_set, uuid.uuid4(), Asked("witness"), later)[1]


def test_the_page_tells_how_far_a_code_is(owner: User, record_set: RecordSet) -> None:
    row, code = asked_code(owner, record_set)
    browser, address = signed_in(owner), reverse("imaging:phone_code", args=[row.public_id])
    script = {"HX-Request": "true"}
    assert "every 3s" in browser.get(address, headers=script).content.decode()
    hand_in(code, jpeg(corner()), timezone.now())
    said = browser.get(address, headers=script).content.decode()
    assert "Arrived" in said
    assert "every 3s" not in said


def test_a_phone_cannot_reach_an_app_that_answers_this_machine_alone_and_the_page_says_so(
    owner: User, record_set: RecordSet
) -> None:
    form = {"public_id": str(uuid.uuid4()), "view": "witness", "finding": ""}
    address = reverse("imaging:phone_ask", args=[record_set.public_id])
    said = signed_in(owner).post(address, form, headers={"Host": "localhost"}).content.decode()
    assert "this machine only" in said
