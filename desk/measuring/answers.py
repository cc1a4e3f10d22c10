"""Answers to the measuring page as plain JSON: what was saved, refused, or changed by somebody else."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.formats import date_format

from desk.measuring.fields import Shown, field_id, shown
from desk.measuring.page import Changes, Measured
from desk.measuring.supposing import Supposed, Supposition
from portfolio import readings
from portfolio.services.answers import Changed, Recorded, Refused
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import site_words, value_words


def saved_answer(
    answer: Recorded, changes: Changes, fragments: Mapping[str, object], undo_number: int
) -> dict[str, Any]:
    """What stands after a save: the fields just saved with their echo, all other fields, the score."""
    return {
        "version": answer.version,
        "saved": [
            {"id": field_id(f.quantity, f.site, f.nth), "echo": _echo(f.typed, f.value, f.rounded)}
            for f in answer.findings
        ],
        "also": [beside.words for beside in answer.also],
        "undo": undo_number,
        **_state(changes, fragments),
    }


def supposed_answer(
    supposed: Supposition, wanted: Sequence[Supposed], changes: Changes, fragments: Mapping[str, object]
) -> dict[str, Any]:
    """What would stand; values that were refused are named and left out."""
    refused = {(f.quantity, f.site, f.nth) for f in supposed.faults}
    return {
        "saved": [
            {
                "id": field_id(w.quantity, w.site, w.nth),
                "echo": supposed.rounded.get((w.quantity, w.site, w.nth), ""),
            }
            for w in wanted
            if (w.quantity, w.site, w.nth) not in refused
        ],
        "faults": _faults(supposed.faults),
        "also": [],
        **_state(changes, fragments),
    }


def refused_answer(answer: Refused) -> dict[str, Any]:
    """The faults, each with the field it stands beside."""
    return {"faults": _faults(answer.faults)}


def changed_answer(answer: Changed, stands: Measured) -> dict[str, Any]:
    """What somebody else has made of the fields meanwhile."""
    theirs = []
    for one in answer.theirs:
        quantity = QUANTITIES[one.quantity]
        stored = stands.stored.get((one.quantity, one.site, one.nth))
        at = shown(quantity, stored) if stored else Shown()
        theirs.append(
            {
                "id": field_id(one.quantity, one.site, one.nth),
                "where": f"{quantity.label}, {site_words(one.site, stands.notation)}",
                "text": at.text,
                "direction": at.direction,
                "word": at.word,
                "plane": at.plane,
                "note": at.note,
                "value": value_words(one.quantity, one.value) if one.value else "nothing (cleared)",
                "by": one.by_name,
                "at": f"{date_format(one.at, 'j M Y, H:i')} UTC",
                "seen": one.changed_in,
            }
        )
    return {"theirs": theirs}


def _state(changes: Changes, fragments: Mapping[str, object]) -> dict[str, Any]:
    return {
        "fields": changes.fields,
        "statements": changes.statements,
        "teeth": changes.teeth,
        "layouts": {row.key: row.layout for row in changes.rows},
        **fragments,
    }


def _echo(text: str, value: str, rounded: bool) -> str:
    """Words beside a field whose text was not stored as typed."""
    return f"{' '.join(text.split())} recorded as {value.replace('-', '−')}" if rounded else ""


def _faults(faults: Sequence[readings.Fault]) -> list[dict[str, str]]:
    return [
        {"id": field_id(f.quantity, f.site, f.nth) if f.quantity else "", "message": _sentence(f)}
        for f in faults
    ]


def _sentence(fault: readings.Fault) -> str:
    message = fault.message
    return message[:1].upper() + message[1:] + ("" if message.endswith((".", "?")) else ".")
