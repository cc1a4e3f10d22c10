"""Taking pictures into a record set: each by itself, pixels only, files that go when their picture goes."""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from PIL import Image

from accounts.models import User
from filing import selectors as filing
from filing.models import StoredFile
from imaging import file_names, operations, selectors, services
from portfolio import services as portfolio
from portfolio.models import RecordItem, RecordSet
from portfolio.services import record_items
from tests.factories.accounts import person
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.imaging.made_pictures import DATE, MARKER, carries, corner, jpeg, marked_jpeg, marked_png, png

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def record_set(owner: User) -> RecordSet:
    return record_set_of(case_of(owner))


def stored(settings: Any) -> list[Path]:
    """Every stored file; the lock file of the folder is none."""
    root = Path(settings.DATA_DIR) / "files"
    return [path for path in root.rglob("*") if path.is_file() and not path.name.startswith(".")]


def read(file: StoredFile | None) -> bytes:
    assert file is not None
    with filing.open_bytes(file) as stream:
        return stream.read()


def test_the_original_is_kept_as_it_came_and_the_renditions_are_pixels_only(
    owner: User, record_set: RecordSet
) -> None:
    for data, kind in ((marked_jpeg((3000, 2000)), "jpeg"), (marked_png((3000, 2000)), "png")):
        item = taken(owner, record_set, data, f"{MARKER}.{kind}")
        assert read(item.file) == data
        for file, longest in ((item.screen_file, 1600), (item.print_file, 2400)):
            made = read(file)
            assert not carries(made)
            assert not carries(made, DATE)
            with Image.open(io.BytesIO(made)) as opened:
                assert max(opened.size) == longest
        assert (item.width, item.height) == (3000, 2000)
        assert item.print_file is not None
        assert item.print_file.media_type == f"image/{kind}"
        assert MARKER not in " ".join(item.removed)


def test_names_of_files_on_disk_tell_nothing(owner: User, record_set: RecordSet, settings: Any) -> None:
    taken(owner, record_set, marked_jpeg(), f"{MARKER} Doe Jane 2001-02-03 smile.jpg")
    paths = stored(settings)
    assert len(paths) == 3
    assert all(MARKER not in str(path) and "." not in path.name for path in paths)


def test_a_refused_picture_leaves_nothing_behind(owner: User, record_set: RecordSet, settings: Any) -> None:
    answer = services.add_picture(owner, record_set, "smile.jpg", b"")
    assert isinstance(answer, services.NotTaken)
    assert (answer.name, "empty" in answer.reason) == ("smile.jpg", True)
    assert not RecordItem.objects.exists()
    assert not StoredFile.objects.exists()
    assert stored(settings) == []


def test_the_same_picture_sent_again_is_kept_once(owner: User, record_set: RecordSet) -> None:
    taken(owner, record_set, jpeg(corner()))
    again = services.add_picture(owner, record_set, "other.jpg", jpeg(corner()))
    assert isinstance(again, services.NotTaken)
    assert "already" in again.reason
    assert RecordItem.objects.count() == 1


# Orphans: un1t/django-cleanup issues 43, 87, 112.
@pytest.mark.django_db(transaction=True)
def test_deleting_picture_record_set_or_case_takes_the_bytes_with_it(settings: Any) -> None:
    owner = person()
    case = case_of(owner)
    here = record_set_of(case)
    item = taken(owner, here, jpeg(corner((50, 40))))
    taken(owner, here, jpeg(corner((51, 40))))
    assert len(stored(settings)) == 6
    record_items.remove_item(item, item.version)
    assert len(stored(settings)) == 3
    final = portfolio.add_record_set(owner, case, portfolio.RecordSetDetails(stage="final"))
    taken(owner, final, jpeg(corner((52, 40))))
    portfolio.remove_record_set(final, final.version)
    assert len(stored(settings)) == 3
    portfolio.delete_case(case, NOON)
    assert len(stored(settings)) == 3
    portfolio.erase_case(case, case.code)
    assert stored(settings) == []
    assert not StoredFile.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_deletion_that_is_rolled_back_keeps_the_bytes(settings: Any) -> None:
    owner = person()
    item = taken(owner, record_set_of(case_of(owner)), jpeg(corner()))

    def fail_after_deleting() -> None:
        with transaction.atomic():
            record_items.remove_item(item, item.version)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_after_deleting()
    assert len(stored(settings)) == 3
    assert read(RecordItem.objects.get().file) == jpeg(corner())


def test_operations_are_listed_and_undone_back_to_the_very_same_pixels(
    owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, png(corner((60, 40))))
    first = read(item.print_file)
    steps: list[tuple[str, dict[str, str]]] = [
        ("quarter_right", {}),
        ("mirror", {}),
        ("brightness", {"per_cent": "80"}),
        ("crop", {"left": "10", "right": "0", "top": "20", "bottom": ""}),
        ("mask", {"left": "50", "right": "0", "top": "0", "bottom": "50", "outside": "on"}),
    ]
    for kind, given in steps:
        services.add_operation(owner, item, kind, given, item.version)
    listed = selectors.picture_facts(item).done
    assert [line.split()[0] for line in listed] == ["turned", "mirrored", "overall", "cropped", "masked"]
    with Image.open(io.BytesIO(read(item.print_file))) as opened:
        assert opened.size == (36, 48)  # 40 by 60 after the turn, a tenth and a fifth cut off
        assert opened.getpixel((35, 0)) == (128, 128, 128)
    for _ in steps:
        services.undo_operation(owner, item, item.version)
    assert read(item.print_file) == first
    assert StoredFile.objects.count() == 3


def test_turning_right_puts_the_left_upper_corner_to_the_right(owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, png(corner((60, 40))))
    services.add_operation(owner, item, "quarter_right", {}, item.version)
    with Image.open(io.BytesIO(read(item.print_file))) as opened:
        assert opened.size == (40, 60)
        assert opened.getpixel((37, 3)) == (220, 20, 20)


@pytest.mark.parametrize(
    ("kind", "given"),
    [
        ("heal", {}),
        ("", {}),
        ("brightness", {"per_cent": "300"}),
        ("brightness", {"per_cent": "100"}),
        ("brightness", {"per_cent": "1e2"}),
        ("crop", {"left": "60", "right": "40"}),
        ("crop", {}),
        ("crop", {"left": "5.25"}),
        ("mask", {"left": "-5", "outside": "on"}),
        ("mask", {"left": "50"}),
        ("mask", {"left": "50", "outside": "yes"}),
    ],
)
def test_what_is_not_allowed_is_refused_and_changes_nothing(
    owner: User, record_set: RecordSet, kind: str, given: dict[str, str]
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    with pytest.raises(operations.OperationRefused):
        services.add_operation(owner, item, kind, given, item.version)
    item.refresh_from_db()
    assert (item.operations, item.version) == ([], 1)


def test_a_change_from_an_old_page_is_refused(owner: User, record_set: RecordSet) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    services.add_operation(owner, item, "mirror", {}, 1)
    stale = RecordItem.objects.select_related("record_set").get()
    with pytest.raises(portfolio.ChangedMeanwhile):
        services.add_operation(owner, stale, "mirror", {}, 1)
    item.refresh_from_db()
    assert len(item.operations) == 1
    assert read(item.screen_file)


def test_right_and_left_are_kept_when_the_two_answers_fit_the_view(
    owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    with pytest.raises(record_items.ItemRefused, match="Assign a view"):
        record_items.save_side_check(item, "left", "mark", item.version)
    for view, fits, wrong in (
        ("front", "left", "right"),
        ("right", "right", "left"),
        ("left", "left", "right"),
    ):
        record_items.assign_view(item, view, item.version)
        with pytest.raises(record_items.ItemRefused):
            record_items.save_side_check(item, wrong, "mark", item.version)
        with pytest.raises(record_items.ItemRefused, match="wrong side"):
            record_items.save_side_check(item, fits, "wrong", item.version)
        assert selectors.picture_facts(item).side_words == ""
        record_items.save_side_check(item, fits, "no_mark", item.version)
        assert "no known mark" in selectors.picture_facts(item).side_words
    services.add_operation(owner, item, "mirror", {}, item.version)
    assert item.side_check == "", "after a change the check is asked anew"


def test_a_view_that_was_not_taken_is_complete_until_a_picture_takes_its_place(
    owner: User, record_set: RecordSet
) -> None:
    item = taken(owner, record_set, jpeg(corner()))
    record_items.state_absent(record_set, "profile", "not_taken", "no clinical indication")
    assert selectors.board(owner, record_set).complete == 1
    record_items.assign_view(item, "profile", item.version)
    board = selectors.board(owner, record_set)
    assert (board.complete, board.unassigned) == (1, ())
    with pytest.raises(record_items.ItemRefused, match="has a picture"):
        record_items.state_absent(record_set, "profile", "not_taken", "x")
    assert RecordItem.objects.count() == 1


def test_pictures_for_print_come_in_the_order_of_the_bands(owner: User, record_set: RecordSet) -> None:
    for number, view in enumerate(("lower", "front", "face_rest", "front", "")):
        item = taken(owner, record_set, jpeg(corner((40 + number, 40))))
        record_items.assign_view(item, view, item.version)
    found = selectors.print_pictures(owner, record_set)
    assert [(one.view, one.position) for one in found] == [
        ("face_rest", 1),
        ("front", 1),
        ("front", 2),
        ("lower", 1),
    ]
    assert [one.faces for one in found] == [True, False, False, False]
    assert found[2].label == "Front 2"
    assert selectors.print_pictures(person(), record_set) == []


# Path traversal: CVE-2021-28658 and CVE-2021-31542.
@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("../../evil.jpg", "evil.jpg"),
        ("..\\..\\a.png", "a.png"),
        ("/etc/x", "x"),
        ("C:\\a\\b.jpg", "b.jpg"),
        ("a\x00b.jpg", "ab.jpg"),
        ("", "picture"),
        ("..", "picture"),
        ("x" * 500, "x" * 120),
    ],
)
def test_a_hostile_name_is_never_a_path(
    owner: User, record_set: RecordSet, settings: Any, name: str, shown: str
) -> None:
    item = taken(owner, record_set, jpeg(corner()), name)
    assert item.file is not None
    assert item.file.shown_name == shown
    root = os.path.realpath(settings.DATA_DIR)
    assert all(os.path.realpath(path).startswith(root) for path in stored(settings))


@pytest.mark.parametrize("name", ["Doe Jane 2001-02-03 smile.jpg", "Doe_Jane.jpg", "front 20010203.jpg"])
def test_a_name_that_looks_like_a_person_or_a_date_is_told(name: str) -> None:
    assert file_names.looks_private(name)


@pytest.mark.parametrize("name", ["DSC_0042.JPG", "IMG_1234.jpeg", "front.png", "upper arch.jpg"])
def test_an_ordinary_name_is_not(name: str) -> None:
    assert not file_names.looks_private(name)
