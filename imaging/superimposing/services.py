"""Writing marks on stable structures."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from django.db import transaction

from imaging.cephalometry.stable_structures import MARKS_BY_KEY
from imaging.models import StableMarks, Tracing
from imaging.tracing.as_face import Placed
from portfolio.services.saving import ChangedMeanwhile


@dataclass(frozen=True, slots=True)
class MarksSaved:
    """What stands now, and how often it was saved."""

    version: int
    marks: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class MarkFault:
    """What is wrong with one mark."""

    key: str
    words: str


@dataclass(frozen=True, slots=True)
class MarksRefused:
    """Nothing written."""

    faults: tuple[MarkFault, ...]


Answer: TypeAlias = MarksSaved | MarksRefused


def save_marks(tracing: Tracing, wanted: Mapping[str, Placed | None], seen: int) -> Answer:
    """Set marks (None takes one away), or write nothing and name every fault.

    Raises ChangedMeanwhile when the marks were saved after the page had read them; a request that is repeated finds
    its marks there and is answered like the first.
    """
    with transaction.atomic():
        row = Tracing.objects.select_for_update(of=("self",)).select_related("item").get(pk=tracing.pk)
        faults = _faults(row, wanted)
        if faults:
            return MarksRefused(tuple(faults))
        kept, _ = StableMarks.objects.get_or_create(tracing=row)
        now = _with(kept.marks, wanted)
        if now != kept.marks:
            if kept.version != seen:
                raise ChangedMeanwhile
            kept.marks, kept.version = now, kept.version + 1
            kept.save(update_fields=["marks", "version"])
        return MarksSaved(kept.version, kept.marks)


def _faults(row: Tracing, wanted: Mapping[str, Placed | None]) -> list[MarkFault]:
    width, height = row.item.width or 0, row.item.height or 0
    faults = [
        MarkFault(key, f"{key} is not a mark of a stable structure.")
        for key in wanted
        if key not in MARKS_BY_KEY
    ]
    for key, at in wanted.items():
        if key in MARKS_BY_KEY and at and not (0 <= at["x"] <= width and 0 <= at["y"] <= height):
            words = (
                f"{MARKS_BY_KEY[key].name} lies outside the picture: {at['x']:.0f} across, {at['y']:.0f} down; allowed: "
                f"0 to {width} across, 0 to {height} down."
            )
            faults.append(MarkFault(key, words))
    return faults


def _with(marks: Mapping[str, Any], wanted: Mapping[str, Placed | None]) -> dict[str, Any]:
    """All marks after the change; a structure without marks has no entry."""
    flat = {key: at for held in marks.values() for key, at in held.items()}
    flat.update(wanted)
    made: dict[str, Any] = {}
    for key, known in MARKS_BY_KEY.items():
        if (at := flat.get(key)) is not None:
            made.setdefault(known.structure, {})[key] = at
    return made
