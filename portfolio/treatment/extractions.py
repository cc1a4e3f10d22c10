"""Which teeth were taken out, in the words of the trade: `four first premolars (14, 24, 34, 44)`."""

from collections.abc import Collection, Sequence

from portfolio import teeth
from portfolio.events import EXTRACTION_REASONS, Event

_PERMANENT = {
    1: "central incisor",
    2: "lateral incisor",
    3: "canine",
    4: "first premolar",
    5: "second premolar",
    6: "first molar",
    7: "second molar",
    8: "third molar",
}
_PRIMARY = {1: "central incisor", 2: "lateral incisor", 3: "canine", 4: "first molar", 5: "second molar"}
_COUNTS = {2: "two", 3: "three", 4: "four"}


def pattern_words(taken: Collection[str], notation: str) -> str:
    """The teeth by what they are, then by name in the notation; empty for none.

    >>> pattern_words(["14", "24", "35"], "iso3950")
    'two upper first premolars and lower left second premolar (14, 24, 35)'
    """
    if not taken:
        return ""
    ordered = teeth.in_order(set(taken))
    names = ", ".join(teeth.shown(tooth, notation) for tooth in ordered)
    return f"{_and([words for group in _groups(ordered) for words in _group_words(group)])} ({names})"


def reasons_of(extractions: Sequence[Event]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The reasons with the teeth that went for each, in the order of time; an empty reason is not stated."""
    found: dict[str, list[str]] = {}
    for one in extractions:
        found.setdefault(EXTRACTION_REASONS.get(one.detail, one.detail), []).extend(one.teeth)
    return tuple((reason, tuple(teeth.in_order(set(gone)))) for reason, gone in found.items())


def _groups(ordered: Sequence[str]) -> list[list[str]]:
    found: dict[tuple[bool, int], list[str]] = {}
    for tooth in ordered:
        found.setdefault((teeth.is_primary(tooth), teeth.number(tooth)), []).append(tooth)
    return [found[key] for key in sorted(found)]


def _group_words(group: Sequence[str]) -> list[str]:
    """Teeth of one name: all four together, else arch by arch."""
    if len(group) == 4:
        return [f"four {_name(group[0])}s"]
    arches = ([tooth for tooth in group if teeth.arch(tooth) == which] for which in ("upper", "lower"))
    return [_arch_words(found) for found in arches if found]


def _arch_words(found: Sequence[str]) -> str:
    where = teeth.arch(found[0])
    if len(found) == 1:
        return f"{where} {teeth.side(found[0])} {_name(found[0])}"
    return f"{_COUNTS[len(found)]} {where} {_name(found[0])}s"


def _name(tooth: str) -> str:
    primary = teeth.is_primary(tooth)
    return f"primary {_PRIMARY[teeth.number(tooth)]}" if primary else _PERMANENT[teeth.number(tooth)]


def _and(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
