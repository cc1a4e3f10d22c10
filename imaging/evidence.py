"""What the findings of a sheet rest on, for a page and for print: marks on pictures, traced points, witness pictures."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from PIL import Image

from filing.models import StoredFile
from filing.selectors import open_bytes
from imaging.cephalometry.drawn import drawn_lines
from imaging.cephalometry.landmarks import LANDMARKS
from imaging.deidentify import encoded
from imaging.geometry import Vector
from imaging.marking.crops import Crop, Point, crop_of
from imaging.selectors import picture_facts, text_unchecked
from imaging.tracing.pictures import picture_of
from portfolio.access import Asker, visible_items
from portfolio.finding_sheet import Finding
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import EvidenceKind, ItemState, RecordItem, Sheet
from portfolio.photographs import BY_KEY
from portfolio.quantity import UNIT_WORDS
from portfolio.selectors import evidence_of, reading
from portfolio.services.answers import EvidencePiece
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import quantity_words, site_words, value_words

USUAL_PLANE = "go_me"
"""Measures that follow no mandibular plane do not name one."""


@dataclass(frozen=True, slots=True)
class ShownPicture:
    """The picture of a piece of evidence: its label, its larger rendition with size in pixels, and what stops its print."""

    public_id: UUID
    version: int
    label: str
    width: int
    height: int
    file: StoredFile
    faces: bool
    text_unchecked: bool
    masks: int


@dataclass(frozen=True, slots=True)
class ShownPiece:
    """One piece of evidence; `picture` is None where it has none or was deleted since, `crop` without marks in sight.

    `points` names the landmarks that a tracing's measure was read from.
    """

    kind: str
    kind_words: str
    scale_percent: str
    picture: ShownPicture | None
    crop: Crop | None
    points: str = ""


@dataclass(frozen=True, slots=True)
class ShownEvidence:
    """One finding with its pieces; `anchor` names it in a page."""

    anchor: str
    quantity: str
    site: str
    value: str
    sd: str
    pieces: tuple[ShownPiece, ...]

    @property
    def words(self) -> str:
        return f"{self.quantity}, {self.site}" if self.site else self.quantity


def shown_evidence(
    user: Asker, sheet: Sheet, notation: str, read: SheetReading | None = None
) -> tuple[ShownEvidence, ...]:
    """The findings of a visible sheet that have evidence, round the casts; `read` is the sheet where it has been read."""
    pieces = evidence_of(sheet)
    if not pieces:
        return ()
    wanted = {piece.item for some in pieces.values() for piece in some if piece.item}
    rows = visible_items(user).filter(public_id__in=wanted, state=ItemState.PRESENT)
    items = {row.public_id: row for row in rows.select_related("file", "print_file", "no_text_by")}
    return tuple(
        ShownEvidence(
            anchor=anchor_of(one),
            quantity=quantity_words(one.quantity),
            site="" if one.site == "mouth" else site_words(one.site, notation),
            value=value_words(one.quantity, one.value),
            sd=_sd_words(one.quantity, one.sd),
            pieces=tuple(
                _piece(one.quantity, piece, items) for piece in pieces[one.quantity, one.site, one.nth]
            ),
        )
        for one in (read or reading(sheet)).findings
        if (one.quantity, one.site, one.nth) in pieces
    )


def anchor_of(finding: Finding) -> str:
    """`e-overbite-11-1`: the name of a finding's evidence in a page."""
    return f"e-{finding.quantity}-{finding.site.replace('.', '_')}-{finding.nth}"


def cut_out(file: StoredFile, crop: Crop) -> bytes:
    """The pixels of a crop alone, in a file of the rendition's kind; raises BytesMissing."""
    kind = "PNG" if file.media_type == "image/png" else "JPEG"
    with open_bytes(file) as stream, Image.open(stream) as picture:
        return encoded(picture.crop(crop.box), kind)


def _piece(quantity: str, piece: EvidencePiece, items: dict[UUID, RecordItem]) -> ShownPiece:
    item = items.get(piece.item) if piece.item else None
    percent = piece.scale.get("sd_percent")
    traced = _traced(piece)
    crop = None
    if item is not None and piece.kind in (EvidenceKind.MARKS, EvidenceKind.TRACING):
        shown = picture_of(item)
        crop = crop_of(
            traced or piece.marks,
            shown,
            (shown.width, shown.height),
            named=bool(traced),
            lines=_read_along(quantity, piece, traced),
        )
    return ShownPiece(
        kind=piece.kind,
        kind_words=EvidenceKind(piece.kind).label,
        scale_percent=f"{percent:.1f}" if isinstance(percent, int | float) else "",
        picture=_picture(item) if item is not None else None,
        crop=crop,
        points=", ".join(traced),
    )


def _traced(piece: EvidencePiece) -> dict[str, Any]:
    """The frozen landmarks of a tracing as point marks by name; empty for other evidence."""
    points = piece.marks.get("points")
    if piece.kind != EvidenceKind.TRACING or not isinstance(points, Mapping):
        return {}
    # In the order of the list: databases keep the names of an object in orders of their own.
    order = {landmark.key: place for place, landmark in enumerate(LANDMARKS)}
    named = sorted(points.items(), key=lambda one: order.get(one[0], len(order)))
    return {name: {"kind": "point", "places": [at]} for name, at in named}


def _read_along(
    quantity: str, piece: EvidencePiece, traced: Mapping[str, Any]
) -> tuple[tuple[Point, Point], ...]:
    """The lines that a tracing's measure was read from, by its frozen points, plane and scale."""
    try:
        points = {name: Vector(float(at["x"]), float(at["y"])) for name, (at,) in _places(traced)}
        pixel = float(piece.scale.get("across", 1)), float(piece.scale.get("down", 1))
    except (KeyError, TypeError, ValueError):
        # What was frozen by another program than this may have another shape.
        return ()
    if min(pixel) <= 0:
        return ()
    plane = str(piece.marks.get("mandibular_plane", USUAL_PLANE))
    return tuple(
        ((start.x, start.y), (end.x, end.y)) for start, end in drawn_lines(quantity, points, plane, pixel)
    )


def _places(traced: Mapping[str, Any]) -> list[tuple[str, Any]]:
    return [(name, mark["places"]) for name, mark in traced.items()]


def _picture(item: RecordItem) -> ShownPicture | None:
    if item.print_file is None:
        return None
    shown = picture_of(item)
    return ShownPicture(
        item.public_id,
        item.version,
        picture_facts(item).label,
        shown.width,
        shown.height,
        item.print_file,
        item.view in BY_KEY and BY_KEY[item.view].faces,
        text_unchecked(item),
        sum(1 for one in item.operations if one["kind"] == "mask"),
    )


def _sd_words(quantity: str, sd: str) -> str:
    known = QUANTITIES.get(quantity)
    if not sd or known is None:
        return ""
    unit = UNIT_WORDS[known.unit]
    return f"± {sd}{'' if unit in ('°', '') else ' '}{unit}"
