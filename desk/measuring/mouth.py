"""The states of single teeth: two plain rows of teeth with words, and what one tooth can be."""

from collections.abc import Iterable
from dataclasses import dataclass

from desk.measuring.fields import Field, Shown, make_field, tooth_words
from desk.measuring.layout import (
    ALWAYS_ASKED,
    EXTRA_TEETH,
    OF_PRIMARY_TEETH,
    PERMANENT_TOOTH_QUANTITIES,
    PRIMARY_TOOTH_QUANTITIES,
    TOOTH_QUANTITIES,
)
from desk.measuring.rows import OnSheet, Statement, statements
from portfolio import teeth
from portfolio.vocabulary import QUANTITIES


@dataclass(frozen=True, slots=True)
class ToothCell:
    """One tooth in the rows: its name in the notation and its states in words."""

    tooth: str
    label: str
    words: str
    primary: bool
    standing: bool
    spoken: bool
    """Whether a state is recorded for it."""


@dataclass(frozen=True, slots=True)
class StateRow:
    """One state that teeth can have, with what is stated for the whole mouth."""

    key: str
    label: str
    definition: str
    how: str
    drawing: str
    statements: tuple[Statement, ...]
    takes_free: bool


@dataclass(frozen=True, slots=True)
class ToothForm:
    """The fields of one tooth, empty; the page puts the tooth in."""

    kind: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Mouth:
    """The rows of teeth, the states, and the forms for a permanent and a primary tooth.

    Permanent teeth make two rows; primary teeth that stand have a row of their own between them.
    """

    rows: tuple[tuple[str, tuple[ToothCell, ...]], ...]
    states: tuple[StateRow, ...]
    forms: tuple[ToothForm, ...]


def make_mouth(on: OnSheet) -> Mouth:
    """The rows of teeth of a sheet with the states of every tooth."""
    words = words_by_tooth(on)
    return Mouth(
        rows=_rows(words, on),
        states=tuple(_state(key, on) for key in _offered(on)),
        forms=(
            ToothForm("permanent", tuple(_blank(PERMANENT_TOOTH_QUANTITIES, "11", on))),
            ToothForm("primary", tuple(_blank(PRIMARY_TOOTH_QUANTITIES, "54", on))),
        ),
    )


def words_by_tooth(on: OnSheet) -> dict[str, str]:
    """Tooth → its recorded states in words, for teeth that have one."""
    found: dict[str, list[str]] = {}
    for (key, site, _), stored in on.stored.items():
        if key in TOOTH_QUANTITIES and not stored.finding.is_statement and site in teeth.ALL_TEETH:
            found.setdefault(site, []).append(tooth_words(key, stored.finding.value))
    return {tooth: ", ".join(words) for tooth, words in found.items()}


def tooth_values(on: OnSheet) -> dict[str, dict[str, Shown]]:
    """Field states of all recorded tooth states, by quantity and tooth."""
    found: dict[str, dict[str, Shown]] = {}
    for key, site, nth in on.stored:
        if key in TOOTH_QUANTITIES and nth == 1 and site in teeth.ALL_TEETH:
            found.setdefault(key, {})[site] = on.at(QUANTITIES[key], site)
    return found


def _offered(on: OnSheet) -> tuple[str, ...]:
    has_primary = any(teeth.is_primary(t) for t in on.sheet.listed) or any(
        place[0] in OF_PRIMARY_TEETH for place in on.stored
    )
    return tuple(
        k for k in TOOTH_QUANTITIES if _is_asked(k, on) and (k not in OF_PRIMARY_TEETH or has_primary)
    )


def _is_asked(key: str, on: OnSheet) -> bool:
    """Whether a state is edited here: a chosen index reads it, it decides what stands, or it is recorded."""
    return key in ALWAYS_ASKED or on.reads(key) or any(place[0] == key for place in on.stored)


def _rows(words: dict[str, str], on: OnSheet) -> tuple[tuple[str, tuple[ToothCell, ...]], ...]:
    permanent = set(teeth.DEFAULT_PERMANENT) | set(EXTRA_TEETH)
    primary = {t for t in (*on.sheet.listed, *words) if teeth.is_primary(t)}
    rows = (
        ("Upper teeth", permanent, "upper"),
        ("Upper primary teeth", primary, "upper"),
        ("Lower primary teeth", primary, "lower"),
        ("Lower teeth", permanent, "lower"),
    )
    made = (
        (label, tuple(_cells((t for t in pool if teeth.arch(t) == arch), words, on)))
        for label, pool, arch in rows
    )
    return tuple((label, cells) for label, cells in made if cells)


def _cells(row: Iterable[str], words: dict[str, str], on: OnSheet) -> Iterable[ToothCell]:
    for tooth in teeth.in_order(row):
        standing = tooth in on.sheet.standing
        yield ToothCell(
            tooth=tooth,
            label=teeth.shown(tooth, on.notation),
            words=words.get(tooth, "") or ("" if standing else "not listed"),
            primary=teeth.is_primary(tooth),
            standing=standing,
            spoken=tooth in words,
        )


def _state(key: str, on: OnSheet) -> StateRow:
    quantity = QUANTITIES[key]
    return StateRow(
        key=key,
        label=quantity.label,
        definition=quantity.definition,
        how=quantity.how,
        drawing=f"drawings/{key}.svg",
        statements=statements(quantity, on),
        takes_free=quantity.takes_region("mouth", "none"),
    )


def _blank(keys: tuple[str, ...], tooth: str, on: OnSheet) -> Iterable[Field]:
    for key in keys:
        if not _is_asked(key, on):
            continue
        quantity = QUANTITIES[key]
        yield make_field(quantity, tooth, Shown(), on.notation, wants_note=key == "missing")
