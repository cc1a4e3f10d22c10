"""What is asked of a sheet and what it answers: plain values, no rows."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypeAlias

from portfolio.readings import Fault

Place: TypeAlias = tuple[str, str, int]
"""Quantity, site and number of the repeat: where on a sheet a finding stands."""


@dataclass(frozen=True, slots=True)
class EvidencePiece:
    """What a finding was read from; plain JSON values, kept as they are given.

    `kind` is a value of `EvidenceKind`. `item` is the public id of a picture of the same record set, or None. `marks`
    are points and lines in pixels of the original picture, `scale` what they were read with, `view` how it was looked
    at, `source` the row of a room above, as `imaging.tracing/<public id>@<revision>`.
    """

    kind: str
    item: uuid.UUID | None = None
    source: str = ""
    marks: Mapping[str, Any] = field(default_factory=dict)
    scale: Mapping[str, Any] = field(default_factory=dict)
    view: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Entry:
    """One finding as typed on a screen, or as read from a picture.

    `typed` None or empty clears the finding. `seen` is the finding's `changed_in` when the page read it, 0
    for none. The particulars stay as stored where they are None.

    `error_parts` are the named parts of `sd`: cause → change of the value by one standard deviation of the cause,
    signed decimal text in the finding's unit; a cause is named `tracing/<id>/N.x` or `scale/<picture>`, and equal
    names are one cause in all findings. `evidence` is every piece the finding rests on. Both are None to keep what
    stands, empty to take it away; both go by themselves when another value is entered without them.

        Entry("anb", "mouth", typed="4.2", seen=3, method="tracing", medium="radiograph", sd="0.61",
              error_parts={"tracing/5f…/N.x": "0.31", "tracing/5f…/A.x": "0.52"},
              evidence=(EvidencePiece("tracing", picture_id, "imaging.tracing/5f…@12", {"N": [812, 430], …}),))

    To add a piece to what stands, give `(*portfolio.selectors.evidence_of(sheet)[place], new_piece)`.
    """

    quantity: str
    site: str
    nth: int = 1
    typed: str | None = None
    seen: int = 0
    method: str | None = None
    medium: str | None = None
    plane: str | None = None
    note: str | None = None
    sd: str | None = None
    error_parts: Mapping[str, str] | None = None
    evidence: tuple[EvidencePiece, ...] | None = None

    @property
    def place(self) -> Place:
        return self.quantity, self.site, self.nth


@dataclass(frozen=True, slots=True)
class Stored:
    """A finding as it stands after the change; value empty and changed_in 0 when it was cleared."""

    quantity: str
    site: str
    nth: int
    value: str
    typed: str
    rounded: bool
    changed_in: int


@dataclass(frozen=True, slots=True)
class Beside:
    """A finding that was changed together with those asked for, and why in words."""

    quantity: str
    site: str
    nth: int
    value: str
    changed_in: int
    words: str


@dataclass(frozen=True, slots=True)
class Recorded:
    """Saved. `number` is the change to undo, 0 when nothing differed; `version` that of the sheet."""

    version: int
    number: int
    findings: tuple[Stored, ...]
    also: tuple[Beside, ...] = ()
    repeated: bool = False


@dataclass(frozen=True, slots=True)
class Theirs:
    """What somebody else has made of a finding meanwhile; value empty when it was cleared."""

    quantity: str
    site: str
    nth: int
    value: str
    by_name: str
    at: datetime
    changed_in: int


@dataclass(frozen=True, slots=True)
class Changed:
    """Nothing written: somebody changed a finding after the page had read it."""

    theirs: tuple[Theirs, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """Nothing written: what was asked is not allowed."""

    faults: tuple[Fault, ...]


Answer: TypeAlias = Recorded | Changed | Refused
