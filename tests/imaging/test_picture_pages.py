"""The pages of pictures: batches, the board, what is served and to whom."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from accounts.models import User
from imaging import services
from portfolio.models import RecordItem, RecordSet
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import case_of, record_set_of
from tests.imaging.made_pictures import MARKER, carries, corner, jpeg, marked_jpeg, marked_png, png
from tests.imaging.made_radiographs import saved

pytestmark = pytest.mark.django_db
FROM_SCRIPT = {"X-Requested-With": "fetch"}


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


def page(record_set: RecordSet) -> str:
    return reverse("imaging:pictures", args=[record_set.public_id])


def files(*pairs: tuple[str, bytes]) -> dict[str, list[SimpleUploadedFile]]:
    return {"pictures": [SimpleUploadedFile(name, data) for name, data in pairs]}


BATCH = (
    ("good.jpg", jpeg(corner())),
    ("empty.jpg", b""),
    ("half.jpg", jpeg(corner())[:300]),
    ("phone.heic", saved(corner((64, 48)), "HEIF")),
    ("half of a phone's.heic", saved(corner((64, 48)), "HEIF")[:400]),
    ("new phone.avif", b"\x00\x00\x00\x18ftypavif" + bytes(60)),
    ("drawing.png", b"<svg onload='alert(1)'/>"),
    ("page.jpg", jpeg(corner((70, 40))) + b"<script>alert(1)</script>"),
    ("really a png.jpg", png(corner())),
)


def test_one_bad_file_of_a_batch_never_loses_the_others(browser: Client, record_set: RecordSet) -> None:
    address = reverse("imaging:add", args=[record_set.public_id])
    told = browser.post(address, files(*BATCH), headers=FROM_SCRIPT).json()["files"]
    kept = [one["name"] for one in told if one["kept"]]
    # Django itself leaves empty files out of nothing: each is answered by its name.
    assert [one["name"] for one in told] == [name for name, _ in BATCH]
    assert kept == ["good.jpg", "phone.heic", "really a png.jpg"]
    assert all(one["words"] for one in told if not one["kept"])
    assert RecordItem.objects.count() == 3


def test_a_batch_sent_without_script_is_told_in_messages(browser: Client, record_set: RecordSet) -> None:
    address = reverse("imaging:add", args=[record_set.public_id])
    shown = browser.post(address, files(*BATCH), follow=True).content.decode()
    assert "3 of 9 pictures are added." in shown
    assert "half of a phone&#x27;s.heic: The file is incomplete" in shown
    assert "new phone.avif: This is an AVIF picture" in shown
    assert "Choose at least one picture." in browser.post(address, follow=True).content.decode()


def test_an_empty_record_shows_the_three_bands_and_the_way_in(browser: Client, record_set: RecordSet) -> None:
    shown = browser.get(page(record_set)).content.decode()
    for words in ("Faces", "Right, front, left", "Upper and lower arch", "0 of 8 usual views"):
        assert words in shown
    case = browser.get(reverse("desk:case", args=[record_set.case.public_id])).content.decode()
    assert page(record_set) in case


def test_a_picture_is_served_to_its_owner_only_and_never_kept(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, marked_jpeg(), f"{MARKER}.jpg")
    for kind in ("screen", "print"):
        address = reverse("imaging:rendition", args=[item.public_id, kind])
        answer = browser.get(address)
        data = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
        assert data.startswith(b"\xff\xd8\xff")
        assert not carries(data)
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "no-store" in answer.headers["Cache-Control"]
        assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
        assert answer.headers["Content-Disposition"] == 'inline; filename="picture.jpeg"'
        assert signed_in(person()).get(address).status_code == 404
        assert signed_in(person(administrator=True)).get(address).status_code == 404
    original = reverse("imaging:rendition", args=[item.public_id, "original"])
    assert browser.get(original).status_code == 404


def test_a_picture_of_a_deleted_case_is_not_served(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    browser.post(reverse("portfolio:case_delete", args=[record_set.case.public_id]))
    assert browser.get(reverse("imaging:rendition", args=[item.public_id, "screen"])).status_code == 404


def test_bytes_that_are_gone_are_not_found_rather_than_a_fault(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    from filing import folder

    for file in (item.screen_file, item.file):
        assert file is not None
        folder.erase(file.storage_key)
    assert browser.get(reverse("imaging:rendition", args=[item.public_id, "screen"])).status_code == 404
    address = reverse("imaging:operate", args=[item.public_id])
    shown = browser.post(address, {"kind": "mirror", "version": 1}, follow=True).content.decode()
    assert "Restore it from a backup" in shown


def test_the_marker_stands_only_where_the_owner_sees_the_private_name(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, marked_png(), f"{MARKER}.png")
    assert MARKER not in browser.get(page(record_set)).content.decode()
    own = browser.get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    assert own.count(MARKER) == 1
    assert "Exif Artist" in own


def test_assigning_answers_a_script_with_the_board(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    address = reverse("imaging:assign", args=[item.public_id])
    shown = browser.post(
        address, {"view": "front", "version": 1}, headers={"HX-Request": "true"}
    ).content.decode()
    assert "<html" not in shown
    assert "1 of 8 usual views" in shown
    late = browser.post(
        address, {"view": "left", "version": 1}, headers={"HX-Request": "true"}
    ).content.decode()
    assert "changed in another window" in late
    item.refresh_from_db()
    assert item.view == "front"


def test_a_view_is_stated_as_not_taken_and_taken_back(browser: Client, record_set: RecordSet) -> None:
    address = reverse("imaging:absent", args=[record_set.public_id])
    shown = browser.post(address, {"view": "profile", "state": "not_taken"}, follow=True).content.decode()
    assert "no clinical indication" in shown
    assert "1 of 8 usual views" in shown
    back = browser.post(address, {"view": "profile", "take_back": "1"}, follow=True).content.decode()
    assert "0 of 8 usual views" in back
    assert (
        "no such view"
        in browser.post(address, {"view": "moon", "state": "not_taken"}, follow=True).content.decode()
    )


def test_sides_and_quality_are_kept_or_refused_in_words(
    browser: Client, owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    browser.post(reverse("imaging:assign", args=[item.public_id]), {"view": "front", "version": 1})
    sides = reverse("imaging:sides", args=[item.public_id])
    wrong = {"first": "right", "second": "mark", "version": 2}
    assert "mirror image" in browser.post(sides, wrong, follow=True).content.decode()
    fits = {"first": "left", "second": "mark", "version": 2}
    assert "Right and left are checked." in browser.post(sides, fits, follow=True).content.decode()
    quality = reverse("imaging:quality", args=[item.public_id])
    browser.post(quality, {"quality": ["dry", "sharp", "forged"], "version": 3})
    item.refresh_from_db()
    assert item.quality == ["sharp", "dry"]
    assert "Sharp, clean and dry" in browser.get(page(record_set)).content.decode()


def test_a_radiograph_has_ticks_of_its_own(browser: Client, owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    browser.post(reverse("imaging:assign", args=[item.public_id]), {"view": "lateral", "version": 1})
    shown = browser.get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    assert "clean and dry" not in shown
    quality = reverse("imaging:quality", args=[item.public_id])
    browser.post(quality, {"quality": ["ruler", "dry", "positioned"], "version": 2})
    item.refresh_from_db()
    assert item.quality == ["positioned", "ruler"]
    assert "Well positioned, ruler visible" in browser.get(page(record_set)).content.decode()


def test_deleting_asks_first(browser: Client, owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    address = reverse("imaging:delete", args=[item.public_id])
    assert "Delete this picture?" in browser.get(address).content.decode()
    assert RecordItem.objects.count() == 1
    browser.post(address, {"version": 7})
    assert RecordItem.objects.count() == 1, "a page that is out of date deletes nothing"
    browser.post(address, {"version": 1})
    assert RecordItem.objects.count() == 0


def test_a_picture_that_is_too_large_is_refused_without_being_read_whole(
    browser: Client, record_set: RecordSet, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("imaging.views.board.LARGEST_BYTES", 1000)
    seen: list[int] = []

    def told_the_size(
        by: User, row: RecordSet, name: str, data: bytes, frame: int | None
    ) -> services.NotTaken:
        seen.append(len(data))
        return services.NotTaken(name, "too large")

    monkeypatch.setattr(services, "add_picture", told_the_size)
    browser.post(reverse("imaging:add", args=[record_set.public_id]), files(("big.jpg", bytes(5000))))
    assert seen == [1001]
