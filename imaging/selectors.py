"""Pictures of a record set as plain values for pages and print."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO
from uuid import UUID

from filing.models import StoredFile
from filing.selectors import open_bytes
from imaging import file_facts, operations
from portfolio.access import Asker, visible_items
from portfolio.models import Case, ItemState, PatientsRight, RecordItem, RecordSet, SideCheck
from portfolio.photographs import (
    BANDS,
    BY_KEY,
    RADIOGRAPHS,
    VIEWS,
    WITNESS,
    View,
    quality_ticks,
    side_question,
)
from portfolio.selectors import stage_label


@dataclass(frozen=True, slots=True)
class PictureFacts:
    """One picture for a page. `name` is private: it is how the file was called by its owner."""

    public_id: UUID
    version: int
    view: str
    label: str
    name: str
    width: int
    height: int
    side_words: str
    right_marked: bool
    """Whether the left of the picture is known to be the patient's right."""
    side_asked: bool
    side_question: str
    text_asked: bool
    """Whether a person has to look for names and numbers in it before it is printed."""
    text_said: bool
    """Whether the file itself says that there are some."""
    no_text_by: str
    no_text_at: datetime | None
    quality: tuple[str, ...]
    quality_words: str
    done: tuple[str, ...]
    removed: tuple[str, ...]
    file_words: tuple[str, ...]
    """What the file itself said, of the little that is kept."""
    radiograph: bool
    """Shown in a radiograph's view or taken from a DICOM file, so that it may be inverted and given a scale."""


@dataclass(frozen=True, slots=True)
class Place:
    """One view of the record: its pictures, or the statement that there is none here, and why."""

    view: View
    pictures: tuple[PictureFacts, ...]
    absent: str = ""
    reason: str = ""

    @property
    def complete(self) -> bool:
        return bool(self.pictures or self.absent)


@dataclass(frozen=True, slots=True)
class Band:
    """One of the three bands of a record, or the further views."""

    number: int
    heading: str
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """All the pictures page shows of one record set."""

    record_set: UUID
    case: UUID
    case_code: str
    label: str
    bands: tuple[Band, ...]
    unassigned: tuple[PictureFacts, ...]
    views: tuple[View, ...]
    next_free: View | None
    """The first usual view without a picture or statement."""
    complete: int
    usual: int
    unchecked: int
    text_unchecked: int


@dataclass(frozen=True, slots=True)
class PrintPicture:
    """One picture for print, in the order of the bands: view, its position, the label, the stored rendition."""

    view: str
    position: int
    label: str
    file: StoredFile
    faces: bool
    operations: tuple[str, ...]
    key: str
    """Public id of the picture."""
    masks: int
    """How many areas are masked."""
    text_unchecked: bool = False
    """Names or numbers may stand in it and nobody has stated otherwise: it is not printed."""


@dataclass(frozen=True, slots=True)
class HeldPicture:
    """A picture that is still there, as far as it decides whether a print that holds it may be handed out."""

    label: str
    masks: int
    faces: bool
    text_unchecked: bool


def board(user: Asker, record_set: RecordSet) -> Board:
    """The pictures page of a record set that comes with its case loaded."""
    rows = list(_rows(user, record_set))
    by_view: dict[str, list[RecordItem]] = {}
    for row in rows:
        by_view.setdefault(row.view, []).append(row)
    bands = tuple(
        Band(
            number,
            heading,
            tuple(_place(view, by_view.get(view.key, [])) for view in VIEWS if view.band == number),
        )
        for number, heading in BANDS.items()
        if number != WITNESS or "witness" in by_view
    )
    present = [row for row in rows if row.state == ItemState.PRESENT]
    usual = [place for band in bands for place in band.places if place.view.usual]
    return Board(
        record_set=record_set.public_id,
        case=record_set.case.public_id,
        case_code=record_set.case.code,
        label=stage_label(record_set.stage, record_set.ordinal),
        bands=bands,
        unassigned=tuple(picture_facts(row) for row in by_view.get("", [])),
        views=VIEWS,
        next_free=next((place.view for place in usual if not place.complete), None),
        complete=sum(place.complete for place in usual),
        usual=len(usual),
        unchecked=sum(1 for row in present if row.view and BY_KEY[row.view].seen_from and not row.side_check),
        text_unchecked=sum(text_unchecked(row) for row in present),
    )


def picture_facts(row: RecordItem) -> PictureFacts:
    """A picture that is present, with its stored file loaded."""
    view = BY_KEY.get(row.view)
    label = view.label if view else "Without a view"
    return PictureFacts(
        public_id=row.public_id,
        version=row.version,
        view=row.view,
        label=f"{label} {row.position}" if view and row.position > 1 else label,
        name=row.file.shown_name if row.file else "",
        width=row.width or 0,
        height=row.height or 0,
        side_words=_side_words(row, view),
        right_marked=row.patients_right == PatientsRight.LEFT,
        side_asked=view is not None and bool(view.seen_from),
        side_question=side_question(view) if view else "",
        text_asked=_text_asked(row),
        text_said=row.file_facts.get("BurnedInAnnotation") == "YES",
        no_text_by=row.no_text_by.name if row.no_text_by else "",
        no_text_at=row.no_text_at,
        quality=tuple(row.quality),
        quality_words=", ".join(
            words for key, words in quality_ticks(row.view).items() if key in row.quality
        ),
        done=tuple(operations.words(one) for one in row.operations),
        removed=tuple(row.removed),
        file_words=file_facts.in_words(row.file_facts),
        radiograph=may_be_inverted(row),
    )


def print_pictures(user: Asker, record_set: RecordSet) -> list[PrintPicture]:
    """The pictures of a record set that have a view, in the order of the bands; print renditions only."""
    order = {view.key: number for number, view in enumerate(VIEWS)}
    rows = [row for row in _rows(user, record_set) if row.view in order and row.print_file is not None]
    return [
        PrintPicture(
            view=row.view,
            position=row.position,
            label=picture_facts(row).label,
            file=row.print_file,
            faces=BY_KEY[row.view].faces,
            operations=tuple(operations.words(one) for one in row.operations),
            key=str(row.public_id),
            masks=_masks(row),
            text_unchecked=text_unchecked(row),
        )
        for row in sorted(rows, key=lambda row: (order[row.view], row.position))
        if row.print_file is not None
    ]


def held_pictures(user: Asker, case: Case) -> dict[str, HeldPicture]:
    """All pictures of a case by public id."""
    rows = visible_items(user).filter(record_set__case=case, state=ItemState.PRESENT)
    return {
        str(row.public_id): HeldPicture(
            label=picture_facts(row).label,
            masks=_masks(row),
            faces=row.view in BY_KEY and BY_KEY[row.view].faces,
            text_unchecked=text_unchecked(row),
        )
        for row in rows.select_related("file", "no_text_by")
    }


def absent_views(user: Asker, record_set: RecordSet) -> dict[str, str]:
    """Views that were not taken, or are not filed here, with the words for it; reasons stay with the owner."""
    rows = visible_items(user).filter(record_set=record_set).exclude(state=ItemState.PRESENT)
    return {row.view: row.get_state_display() for row in rows}


def rendition(row: RecordItem, kind: str) -> tuple[BinaryIO, str]:
    """Open bytes and media type of the rendition "screen" or "print"; raises BytesMissing, KeyError."""
    file = {"screen": row.screen_file, "print": row.print_file}[kind]
    if file is None:
        raise KeyError(kind)
    return open_bytes(file), file.media_type


def _masks(row: RecordItem) -> int:
    return sum(1 for one in row.operations if one["kind"] == "mask")


def _rows(user: Asker, record_set: RecordSet) -> Sequence[RecordItem]:
    rows = visible_items(user).filter(record_set=record_set)
    return list(rows.select_related("file", "print_file", "no_text_by").order_by("view", "position"))


def _place(view: View, rows: Sequence[RecordItem]) -> Place:
    present = tuple(picture_facts(row) for row in rows if row.state == ItemState.PRESENT)
    stated = [row for row in rows if row.state != ItemState.PRESENT]
    if not stated:
        return Place(view, present)
    return Place(view, present, stated[0].get_state_display(), stated[0].reason)


def text_unchecked(row: RecordItem) -> bool:
    """Whether names or numbers may stand in a picture and nobody has stated otherwise."""
    return _text_asked(row) and row.no_text_at is None


def may_be_inverted(row: RecordItem) -> bool:
    """Shown in a radiograph's view, or taken from a DICOM file: dark and bright mean nothing by themselves there."""
    return (row.view in BY_KEY and BY_KEY[row.view].band == RADIOGRAPHS) or "stored_as" in row.file_facts


def _text_asked(row: RecordItem) -> bool:
    """Of views in which names stand often; and of whatever came as DICOM, which programs write names into, in any view."""
    return row.view in BY_KEY and (BY_KEY[row.view].text_asked or "stored_as" in row.file_facts)


def _side_words(row: RecordItem, view: View | None) -> str:
    if view is None or not row.side_check:
        return ""
    how = "by a known mark" if row.side_check == SideCheck.MARK else "no known mark"
    where = "patient's right on the left" if view.seen_from == "front" else "side"
    return f"{where} checked, {how}"
