"""Pictures of a record set as rows: adding, assigning to views, stating what was not taken, removing.

The bytes are made and read in the room above; here rows and stored files are kept together, so that no file
outlives its last row.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max, Q, QuerySet

from accounts.models import User
from filing.models import StoredFile
from filing.services import remove
from portfolio.models import Evidence, ItemState, PatientsRight, RecordItem, RecordSet
from portfolio.photographs import BY_KEY, quality_ticks, side_fault
from portfolio.services.saving import ChangedMeanwhile, checked, save_version

RESTED_ON = (
    "Not deleted: findings rest on this picture. Read which ones, and tick that it shall go all the same, "
    "or keep the picture."
)
UNASSIGNED = ""
ABSENT = (ItemState.NOT_TAKEN, ItemState.NOT_FILED)


class ItemRefused(Exception):
    """What was asked of a picture cannot be done; the text says why."""


@dataclass(frozen=True, slots=True)
class PictureFiles:
    """The stored files of one picture: as it came, for the screen, for print."""

    original: StoredFile
    screen: StoredFile
    for_print: StoredFile


def files_of(items: QuerySet[RecordItem]) -> list[StoredFile]:
    """Every stored file the items keep, to be removed once the items are."""
    keys = {key for row in items.values_list("file", "screen_file", "print_file") for key in row if key}
    return list(StoredFile.objects.filter(pk__in=keys))


def remove_files(files: Iterable[StoredFile]) -> None:
    """Remove stored files whose rows no longer point at them; the bytes go after the commit."""
    for file in files:
        remove(file)


def add_item(
    record_set: RecordSet,
    files: PictureFiles,
    size: tuple[int, int],
    removed: Sequence[str],
    file_facts: Mapping[str, Any],
) -> RecordItem:
    """A new picture, still without a view; `size` of the original in pixels, upright."""
    item = RecordItem(
        record_set=record_set,
        position=_next_position(record_set, UNASSIGNED),
        file=files.original,
        screen_file=files.screen,
        print_file=files.for_print,
        width=size[0],
        height=size[1],
        removed=list(removed),
        file_facts=dict(file_facts),
    )
    checked(item).save()
    return item


def has_picture(record_set: RecordSet, sha256: str, frame: int | None = None) -> bool:
    """Whether the record set holds a picture with this very content already, of several frames this very frame."""
    rows = RecordItem.objects.filter(record_set=record_set, file__sha256=sha256)
    kept = [row.file_facts.get("frame") for row in rows]
    return any(one is None or one == frame for one in kept)


def assign_view(item: RecordItem, view: str, seen_version: int) -> None:
    """Give a picture its view (or none again); the side check is asked anew. Raises ChangedMeanwhile, ItemRefused."""
    if view != UNASSIGNED and view not in BY_KEY:
        raise ItemRefused("There is no such view.")
    if view == item.view:
        return
    with transaction.atomic():
        RecordItem.objects.filter(record_set=item.record_set_id, view=view, state__in=ABSENT).delete()
        position = _next_position(item.record_set, view)
        save_version(item, seen_version, {"view": view, "position": position, **_side_unknown()})


def state_absent(record_set: RecordSet, view: str, state: str, reason: str) -> None:
    """State that a view was not taken, or was taken and is not filed here. Raises ItemRefused, ValidationError."""
    if view not in BY_KEY or state not in ABSENT:
        raise ItemRefused("There is no such view.")
    with transaction.atomic():
        here = RecordItem.objects.filter(record_set=record_set, view=view)
        if here.filter(state=ItemState.PRESENT).exists():
            raise ItemRefused(
                "This view has a picture. Delete the picture first if it should count as absent."
            )
        here.delete()
        checked(RecordItem(record_set=record_set, view=view, state=state, reason=reason)).save()


def take_back_absent(record_set: RecordSet, view: str) -> None:
    """Remove the statement that a view was not taken or is not filed here."""
    RecordItem.objects.filter(record_set=record_set, view=view, state__in=ABSENT).delete()


def state_no_text(by: User, item: RecordItem, seen_version: int, at: datetime) -> None:
    """Keep who has looked and seen no name, date or number in these pixels, and when; raises ChangedMeanwhile."""
    save_version(item, seen_version, {"no_text_by": by, "no_text_at": at})


def take_back_no_text(item: RecordItem, seen_version: int) -> None:
    """Remove that statement; raises ChangedMeanwhile."""
    save_version(item, seen_version, _text_unknown())


def save_quality(item: RecordItem, ticks: Iterable[str], seen_version: int) -> None:
    """Keep the ticks of quality that the view is asked for; raises ChangedMeanwhile."""
    wanted = set(ticks)
    save_version(item, seen_version, {"quality": [key for key in quality_ticks(item.view) if key in wanted]})


def save_side_check(item: RecordItem, first: str, second: str, seen_version: int) -> None:
    """Keep the answers to the two questions about left and right if they fit the view.

    Raises ItemRefused with what is wrong (nothing is written), ChangedMeanwhile.
    """
    if item.view not in BY_KEY:
        raise ItemRefused("Assign a view first: what is right and left depends on it.")
    view = BY_KEY[item.view]
    if not view.seen_from:
        raise ItemRefused("Right and left are not asked in this view.")
    if fault := side_fault(view, first, second):
        raise ItemRefused(fault)
    right = PatientsRight.LEFT if view.seen_from == "front" else PatientsRight.NONE
    save_version(item, seen_version, {"patients_right": right, "side_check": second})


def save_operations(
    item: RecordItem,
    operations: Sequence[Mapping[str, Any]],
    screen: StoredFile,
    for_print: StoredFile,
    seen_version: int,
) -> None:
    """Replace the operations of a picture and its renditions; the old renditions go, and what was said of the pixels.

    Raises ChangedMeanwhile.
    """
    with transaction.atomic():
        old = [file for file in (item.screen_file, item.print_file) if file is not None]
        fields = {
            "operations": [dict(one) for one in operations],
            "screen_file": screen,
            "print_file": for_print,
            **_side_unknown(),
            **_text_unknown(),
        }
        save_version(item, seen_version, fields)
        remove_files(old)


def replace_renditions(item: RecordItem, screen: StoredFile, for_print: StoredFile) -> None:
    """Put renditions of the same pixels in the place of those that were lost; raises ChangedMeanwhile."""
    with transaction.atomic():
        old = [file for file in (item.screen_file, item.print_file) if file is not None]
        save_version(item, item.version, {"screen_file": screen, "print_file": for_print})
        remove_files(old)


def items_with_lost_renditions() -> QuerySet[RecordItem]:
    """Pictures whose original is whole while a rendition is missing or changed, as the last check found."""
    lost = [StoredFile.State.MISSING, StoredFile.State.MISMATCH]
    return (
        RecordItem.objects.filter(file__state=StoredFile.State.OK)
        .filter(Q(screen_file__state__in=lost) | Q(print_file__state__in=lost))
        .select_related("file__owner", "screen_file", "print_file")
        .order_by("pk")
    )


def remove_item(item: RecordItem, seen_version: int, *, though_evidence: bool = False) -> None:
    """Delete a picture for good, its original and renditions with it.

    A picture on which findings rest is refused (ItemRefused) unless `though_evidence`: then the findings keep their
    values and the frozen marks, without the picture. Raises ChangedMeanwhile.
    """
    with transaction.atomic():
        rows = RecordItem.objects.select_for_update().filter(pk=item.pk, version=seen_version)
        files = files_of(rows)
        resting = Evidence.objects.filter(item=item.pk)
        if rows and resting.exists():
            if not though_evidence:
                raise ItemRefused(RESTED_ON)
            resting.update(item=None)
        if not rows.delete()[0]:
            raise ChangedMeanwhile
        remove_files(files)


def _side_unknown() -> dict[str, object]:
    return {"patients_right": "", "side_check": ""}


def _text_unknown() -> dict[str, object]:
    return {"no_text_by": None, "no_text_at": None}


def _next_position(record_set: RecordSet, view: str) -> int:
    rows = RecordItem.objects.filter(record_set=record_set, view=view)
    return int(rows.aggregate(Max("position"))["position__max"] or 0) + 1
