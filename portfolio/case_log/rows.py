"""What the history of the log keeps of a row: its state and its answers, by name, as one flat table of texts."""

from collections.abc import Mapping
from dataclasses import dataclass

from portfolio.ages import age_text
from portfolio.case_log.answers import BY_KEY, Answers, in_words, read_answers

STATE = "state"
STATES = {"possible": "possible", "chosen": "chosen", "done": "done", "left_out": "left out"}
"""The states of a case as files and columns say them."""
Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ImportRow:
    """One row of a file: its line, its code (empty for one to be drawn), and stored values by column."""

    line: int
    code: str
    values: Mapping[str, str]


def kept(state: str, estimate: object) -> dict[str, str]:
    """The row of a case with this state and these stored answers."""
    return {STATE: state, **read_answers(estimate)[0].as_json()}


def answers_of(row: Row) -> Answers:
    """The answers of a kept row; what cannot be read counts as not said."""
    return read_answers({key: value for key, value in row.items() if key != STATE})[0]


def moved(old: Row, new: Row) -> tuple[str, ...]:
    """Names of what differs between two rows, in the order of the columns."""
    order = (*BY_KEY, "plane", STATE)
    return tuple(key for key in order if old.get(key, "") != new.get(key, ""))


def label(key: str) -> str:
    """The column of a name, inside a sentence."""
    if key == STATE:
        return "state"
    return lowered(BY_KEY[key].label)


def lowered(words: str) -> str:
    """Words of a heading inside a sentence: `molar right`, `ANB`."""
    return words if words[:2].isupper() else words[:1].lower() + words[1:]


def words(key: str, value: str) -> str:
    """A kept value as a sentence says it."""
    if key == STATE:
        return STATES.get(value, value)
    if key == "age_months" and value:
        return age_text(int(value))
    return in_words(key, value)


def change_words(old: Row | None, new: Row | None) -> str:
    """What a change did to one row: `added`, `deleted`, `overjet 3 mm → 5 mm and 2 more`."""
    if old is None:
        return "added"
    if new is None:
        return "deleted"
    names = [key for key in moved(old, new) if key != "plane"]
    if not names:
        return "unchanged"
    first = names[0]
    told = f"{label(first)} {words(first, old.get(first, ''))} → {words(first, new.get(first, ''))}"
    return told if len(names) == 1 else f"{told} and {len(names) - 1} more"
