"""The records of one stage as a checklist: casts, pictures by view, radiographs, papers; what may be said of each.

Common practice, no source: which records a case has. A plan or board asks for more or fewer, and its instructions
prevail. A record that was not taken for lack of a clinical indication is told, so complete.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from portfolio.photographs import RADIOGRAPHS, VIEWS, WITNESS, quality_ticks

PICTURE, CASTS, PAPER = "photograph", "casts", "paper"
PRESENT, NOT_TAKEN, NOT_FILED = "present", "not_taken", "not_filed"
NO_INDICATION = "no clinical indication"

CAST_QUALITY = {
    "whole": "whole, nothing broken",
    "trimmed": "trimmed",
    "bite": "bite is certain",
    "labelled": "labelled with the code only",
}
"""The ticks of quality of casts; common practice, no source."""

_STATE_WORDS = {
    PICTURE: {NOT_TAKEN: "not taken", NOT_FILED: "taken, not filed here"},
    CASTS: {PRESENT: "here", NOT_TAKEN: "not taken", NOT_FILED: "taken, kept elsewhere"},
    PAPER: {PRESENT: "here", NOT_TAKEN: "none", NOT_FILED: "kept elsewhere"},
}


@dataclass(frozen=True, slots=True)
class Record:
    """One line of the checklist. `asked`: it counts among those a stage is asked about. `picture`: filed as a picture."""

    key: str
    label: str
    kind: str
    group: str
    asked: bool = False

    @property
    def picture(self) -> bool:
        return self.kind == PICTURE

    @property
    def states(self) -> Mapping[str, str]:
        """The states that can be stated, with their words; a picture is present when it is filed."""
        return _STATE_WORDS[self.kind]

    @property
    def ticks(self) -> Mapping[str, str]:
        """The ticks of quality by key; none for papers."""
        if self.kind == CASTS:
            return CAST_QUALITY
        return quality_ticks(self.key) if self.picture else {}


_GROUPS = {
    1: "Faces",
    2: "Right, front, left",
    3: "Upper and lower arch",
    4: "Further views",
    RADIOGRAPHS: "Radiographs",
}


def _views(*bands: int) -> tuple[Record, ...]:
    return tuple(
        Record(
            view.key,
            view.label,
            PICTURE,
            _GROUPS[view.band],
            asked=view.usual or view.key in ("panoramic", "lateral"),
        )
        for band in bands
        for view in VIEWS
        if view.band == band and view.band != WITNESS
    )


RECORDS: tuple[Record, ...] = (
    Record("casts", "Casts", CASTS, "Casts", asked=True),
    Record("casts_mounted", "Casts in an articulator", CASTS, "Casts"),
    *_views(1, 2, 3, RADIOGRAPHS),
    Record("history", "Medical and dental history", PAPER, "Papers"),
    Record("radiograph_report", "Report on radiographs", PAPER, "Papers"),
    Record("other_paper", "Other report or letter", PAPER, "Papers"),
    *_views(4),
)
BY_KEY: Mapping[str, Record] = {record.key: record for record in RECORDS}
ASKED: tuple[Record, ...] = tuple(record for record in RECORDS if record.asked)


@dataclass(frozen=True, slots=True)
class RecordState:
    """What is known of one record of a stage: how many pictures, or what is stated. Neither: nothing is told.

    `words` is where it lies or why there is none; `ticks` the quality ticks set, of the fullest picture.
    """

    pictures: int = 0
    stated: str = ""
    words: str = ""
    ticks: tuple[str, ...] = ()
    version: int = 0

    @property
    def state(self) -> str:
        """`present`, `not_taken`, `not_filed`; empty where nothing is told."""
        return PRESENT if self.pictures else self.stated

    @property
    def told(self) -> bool:
        return bool(self.state)


NOTHING_TOLD = RecordState()


def told_of(states: Mapping[str, RecordState]) -> int:
    """How many of the records that a stage is asked about are told."""
    return sum(states.get(record.key, NOTHING_TOLD).told for record in ASKED)


def state_words(record: Record, state: RecordState) -> str:
    """`2 pictures`, `not taken: no clinical indication`, `here: shelf 4`; empty where nothing is told."""
    if state.pictures:
        return "1 picture" if state.pictures == 1 else f"{state.pictures} pictures"
    if not state.stated:
        return ""
    said = record.states.get(state.stated, state.stated)
    return f"{said}: {state.words}" if state.words else said
