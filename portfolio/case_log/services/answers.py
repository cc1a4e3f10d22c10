"""What saving the log answers, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from portfolio.models import Case


@dataclass(frozen=True, slots=True)
class Entry:
    """A text typed into a field, and the stored value that its page had seen there."""

    key: str
    typed: str
    seen: str


@dataclass(frozen=True, slots=True)
class Added:
    """The row that was made, or that the same request made before."""

    case: Case


@dataclass(frozen=True, slots=True)
class Saved:
    """The row as it stands; `said` are sentences by field on what was rounded or changed beside it."""

    case: Case
    said: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Changed:
    """Nothing was saved: the fields hold something else than the page had seen."""

    case: Case
    stored: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Refused:
    """Nothing was saved; words by field, or under an empty name for the whole."""

    faults: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Imported:
    """How many rows a file made and changed; `again` says that the same file stands in the log already."""

    made: int
    changed: int
    number: int = 0
    again: bool = False


@dataclass(frozen=True, slots=True)
class Undone:
    """The rows that stand again as before; `gone` are public ids of rows that an undo took away."""

    cases: tuple[Case, ...]
    gone: tuple[str, ...]
    words: str
