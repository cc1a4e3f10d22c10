"""Checking and writing what findings rest on: pieces of evidence, and the named parts of their errors."""

import json
import math
import re
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from decimal import Decimal

from portfolio.models import Evidence, EvidenceKind, ItemKind, ItemState, RecordItem, Sheet
from portfolio.readings import Fault
from portfolio.services.answers import Entry, EvidencePiece, Place

MOST_PARTS = 200
MOST_PIECES = 12
MOST_SOURCE = 120
MOST_TEXT = 120_000
"""Characters of the marks, scale or view of one piece, as JSON."""
CAUSE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.:/'@-]{0,119}\Z")
NUMBER = re.compile(r"-?[0-9]{1,4}(\.[0-9]{1,6})?\Z")
ROUNDED_BY = 0.01
"""How far the parts together may be from a deviation that was rounded to two decimals."""


def backing_faults(sheet: Sheet, entry: Entry) -> Iterator[Fault]:
    """What is wrong with the evidence and the error parts of one entry."""
    where = f"{entry.quantity} {entry.site}"
    words = [*_part_faults(entry), *_piece_faults(sheet, entry.evidence or ())]
    for one in words:
        yield Fault(where, one, entry.quantity, entry.site, entry.nth)


def _part_faults(entry: Entry) -> Iterator[str]:
    parts = entry.error_parts or {}
    if len(parts) > MOST_PARTS:
        yield f"{len(parts)} parts of the error are too many; allowed: {MOST_PARTS}."
        return
    bad = [name for name in parts if not CAUSE.match(name)]
    bad += [f"{name}: {value}" for name, value in parts.items() if not NUMBER.match(value)]
    if bad:
        yield (
            f'"{bad[0][:60]}" is not a part of an error; allowed: a name of letters, digits and _ . : / \' @ -, '
            "with a decimal text of at most 6 decimals."
        )
    elif parts:
        together = math.sqrt(sum(float(value) ** 2 for value in parts.values()))
        if not NUMBER.match(entry.sd or ""):
            yield "Parts of an error need the deviation that they come to."
        elif abs(together - float(Decimal(entry.sd or "0"))) > ROUNDED_BY:
            yield f"The parts of the error come to {together:.3f}, the deviation is {entry.sd}."


def _piece_faults(sheet: Sheet, pieces: tuple[EvidencePiece, ...]) -> Iterator[str]:
    if len(pieces) > MOST_PIECES:
        yield f"{len(pieces)} pieces of evidence are too many; allowed: {MOST_PIECES}."
    for piece in pieces:
        if piece.kind not in EvidenceKind.values:
            yield f'"{piece.kind[:20]}" is no kind of evidence; allowed: {", ".join(EvidenceKind.values)}.'
        if len(piece.source) > MOST_SOURCE or "\x00" in piece.source:
            yield f"The source of evidence is too long; allowed: {MOST_SOURCE} characters."
        if piece.item is not None and not _is_of(sheet, piece.item):
            yield "The picture of the evidence is not among the pictures of these records."
        try:
            texts = [json.dumps(one, allow_nan=False) for one in (piece.marks, piece.scale, piece.view)]
        except (TypeError, ValueError):
            yield "The marks of the evidence are not plain numbers and texts."
        else:
            if any(len(text) > MOST_TEXT or "\\u0000" in text for text in texts):
                yield f"The marks of the evidence are too long; allowed: {MOST_TEXT} characters."


def _is_of(sheet: Sheet, item: uuid.UUID) -> bool:
    pictures = RecordItem.objects.filter(kind=ItemKind.PHOTOGRAPH, state=ItemState.PRESENT)
    return pictures.filter(record_set=sheet.record_set_id, public_id=item).exists()


def parts_of(parts: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Named parts as a finding keeps them, in the order of the names."""
    return tuple(sorted(parts.items()))


def canonical(piece: EvidencePiece) -> EvidencePiece:
    """The piece as the database gives it back, so that an equal one is known."""
    facts = asdict(piece)
    for name in ("marks", "scale", "view"):
        facts[name] = json.loads(json.dumps(facts[name]))
    return EvidencePiece(**facts)


def piece_of(row: Evidence) -> EvidencePiece:
    """A stored row as the plain piece that was given; its picture is loaded."""
    item = row.item.public_id if row.item else None
    return EvidencePiece(row.kind, item, row.source, row.marks, row.scale, row.view)


def pieces_of(sheet: Sheet, place: Place, at_change: int) -> tuple[EvidencePiece, ...]:
    """The pieces that a change gave to one finding, in their order."""
    if not at_change:
        return ()
    quantity, site, nth = place
    rows = Evidence.objects.filter(
        sheet=sheet, at_change=at_change, quantity=quantity, site=site, nth=nth
    ).select_related("item")
    return tuple(piece_of(row) for row in rows.order_by("pk"))


def write_evidence(sheet: Sheet, given: Mapping[Place, tuple[EvidencePiece, ...]], number: int) -> None:
    """Write pieces for findings of the change `number`; the caller's transaction is open."""
    wanted = {piece.item for pieces in given.values() for piece in pieces if piece.item}
    items = (
        {item.public_id: item for item in RecordItem.objects.filter(public_id__in=wanted)} if wanted else {}
    )
    rows = []
    for (quantity, site, nth), pieces in given.items():
        for piece in pieces:
            row = Evidence(
                sheet=sheet,
                quantity=quantity,
                site=site,
                nth=nth,
                at_change=number,
                item=items[piece.item] if piece.item else None,
                kind=piece.kind,
                source=piece.source,
                marks=dict(piece.marks),
                scale=dict(piece.scale),
                view=dict(piece.view),
            )
            row.clean_fields(exclude=["sheet", "item"])
            rows.append(row)
    Evidence.objects.bulk_create(rows)
