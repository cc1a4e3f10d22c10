"""Taking pictures in, and making their renditions anew from the original after every operation."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from threading import Lock
from typing import Any

from django.db import transaction
from PIL import Image

from accounts.models import User
from filing.models import StoredFile
from filing.selectors import BytesMissing, open_bytes
from filing.services import store
from imaging import file_names, operations
from imaging.deidentify import Cleaned, FrameAsked, PictureRefused, clean, encoded, smaller
from imaging.operations import OperationRefused
from imaging.selectors import may_be_inverted
from jobs import withholding
from portfolio.models import RecordItem, RecordSet
from portfolio.services.record_items import (
    ItemRefused,
    PictureFiles,
    add_item,
    has_picture,
    items_with_lost_renditions,
    replace_renditions,
    save_operations,
)
from portfolio.services.saving import ChangedMeanwhile

SCREEN_PIXELS = 1600
PRINT_PIXELS = 2400
"""Longer side of the renditions. 2400 pixels are 203 mm at 300 dots to the inch, the width of a page."""

WORKED_PIXELS = 4096
"""Longer side of the copy that operations work on, so that a deep crop of a large picture stays within memory."""

MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "HEIC": "image/heic",
    "WebP": "image/webp",
    "DICOM": "application/dicom",
}
PRINTED_WITHOUT_LOSS = ("PNG", "TIFF", "DICOM")

_one_at_a_time = Lock()
"""Of the threads of one process only one decodes at a time; memory would add up otherwise."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A picture that was taken in, with a hint for its owner (may be empty)."""

    item: RecordItem
    name: str
    hint: str


@dataclass(frozen=True, slots=True)
class NotTaken:
    """A file that was refused: its name and the reason in words. Nothing of it is kept.

    `frames`: of a file of several pages or frames how many there are, when one has to be chosen; else 0.
    """

    name: str
    reason: str
    frames: int = 0


def add_picture(
    by: User, record_set: RecordSet, name: str, data: bytes, frame: int | None = None
) -> Taken | NotTaken:
    """Take one picture into a record set: the original as it came, and renditions of pixels only.

    `frame`, from 1, chooses among several pages or frames. Decoding is done before anything is stored; files and row
    are written in one transaction.
    """
    name = file_names.shown(name)
    if has_picture(record_set, hashlib.sha256(data).hexdigest(), frame):
        return NotTaken(name, "This very picture is among these records already; it is kept once.")
    try:
        with _one_at_a_time:
            cleaned = clean(data, PRINT_PIXELS, frame=frame)
            renditions = _renditions(cleaned.pixels, cleaned.kind)
    except FrameAsked as asked:
        return NotTaken(name, asked.reason, asked.frames)
    except PictureRefused as refused:
        return NotTaken(name, refused.reason)
    with transaction.atomic():
        original = store(
            by, [data], media_type=MEDIA_TYPES[cleaned.kind], role=StoredFile.Role.ORIGINAL, shown_name=name
        )
        files = PictureFiles(original, *_stored(by, renditions, cleaned.kind))
        size = (cleaned.width, cleaned.height)
        item = add_item(record_set, files, size, cleaned.removed, cleaned.facts)
    return Taken(item, name, _hint(name))


def add_operation(by: User, item: RecordItem, kind: str, given: Mapping[str, str], seen_version: int) -> None:
    """Do one more operation to a picture; raises OperationRefused, ItemRefused, ChangedMeanwhile."""
    wanted = operations.checked(kind, given)
    if kind == "invert" and not may_be_inverted(item):
        raise OperationRefused("Only radiographs and DICOM pictures are inverted; this is a photograph.")
    _redo(by, item, [*item.operations, wanted], seen_version)


def undo_operation(by: User, item: RecordItem, seen_version: int) -> None:
    """Undo the last operation; the picture is made anew from the original. Raises ItemRefused, ChangedMeanwhile."""
    if not item.operations:
        raise ItemRefused("Nothing has been done to this picture; it is as it came.")
    _redo(by, item, item.operations[:-1], seen_version)


def end_prints(item: RecordItem, at: datetime) -> int:
    """Remove finished prints that hold a picture they should not hold any more; how many. To be called after the change."""
    return withholding.withdraw(at, [str(item.record_set.case.public_id)])


def make_lost_renditions_anew(at: datetime) -> int:
    """Make renditions anew, from originals that are whole, where a check found them missing or changed; how many.

    The worker does it every hour; operations and the answers about left and right stay as they are.
    """
    done = 0
    for item in items_with_lost_renditions():
        assert item.file is not None, "looked up by it"
        try:
            renditions, kind = _made_anew(item, item.operations)
            with transaction.atomic():
                replace_renditions(item, *_stored(item.file.owner, renditions, kind))
        except (ItemRefused, ChangedMeanwhile):  # lost meanwhile, or being worked on: the next hour comes
            continue
        done += 1
    return done


def _redo(by: User, item: RecordItem, wanted: Sequence[Mapping[str, Any]], seen_version: int) -> None:
    renditions, kind = _made_anew(item, wanted)
    with transaction.atomic():
        save_operations(item, wanted, *_stored(by, renditions, kind), seen_version)


def _made_anew(item: RecordItem, wanted: Sequence[Mapping[str, Any]]) -> tuple[tuple[bytes, bytes], str]:
    """The renditions of the original after the operations, and its kind; raises ItemRefused."""
    longest = min(WORKED_PIXELS, round(PRINT_PIXELS / operations.share_kept(wanted)))
    with _one_at_a_time:
        cleaned = _original(item, longest)
        return _renditions(operations.applied(cleaned.pixels, wanted), cleaned.kind), cleaned.kind


def _original(item: RecordItem, longest: int) -> Cleaned:
    assert item.file is not None, "only pictures that are present are worked on"
    try:
        with open_bytes(item.file) as stream:
            return clean(stream.read(), longest, proven=True, frame=item.file_facts.get("frame"))
    except (BytesMissing, PictureRefused) as fault:
        raise ItemRefused(
            "The original cannot be read any more. Restore it from a backup, or send the picture again."
        ) from fault


def _renditions(pixels: Image.Image, kind: str) -> tuple[bytes, bytes]:
    """Bytes for the screen (always JPEG) and for print (JPEG, or PNG without loss where radiographs come like that)."""
    for_print = smaller(pixels, PRINT_PIXELS)
    return encoded(smaller(for_print, SCREEN_PIXELS), "JPEG"), encoded(for_print, _printed_as(kind))


def _printed_as(kind: str) -> str:
    return "PNG" if kind in PRINTED_WITHOUT_LOSS else "JPEG"


def _stored(by: User, renditions: tuple[bytes, bytes], kind: str) -> tuple[StoredFile, StoredFile]:
    screen, for_print = renditions
    derived = StoredFile.Role.DERIVED
    return (
        store(by, [screen], media_type=MEDIA_TYPES["JPEG"], role=derived),
        store(by, [for_print], media_type=MEDIA_TYPES[_printed_as(kind)], role=derived),
    )


def _hint(name: str) -> str:
    if not file_names.looks_private(name):
        return ""
    return "The name of the file looks like a person or a date. Only you see it here; rename it before you share it."
