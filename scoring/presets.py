"""Which indices records are measured for: sets to choose with one click, and the usual one of a stage."""

from collections.abc import Mapping

from portfolio.finding_sheet import Sheet
from scoring import registry

PRESETS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "complexity": ("complexity before", ("discrepancy", "par", "icon", "iotn")),
    "outcome": ("outcome after", ("outcome", "par", "icon", "irregularity")),
    "full": ("full set", registry.KEYS),
}
"""Key → words and indices; each is narrowed to the indices that have a meaning for the records."""
_FIRST = {"initial": "discrepancy", "interim": "discrepancy", "final": "outcome", "retention": "outcome"}


def preset(key: str, frame: Sheet) -> tuple[str, ...]:
    """The indices of a preset that have a meaning for a stage and dentition; KeyError for an unknown key."""
    meant = registry.meant_for(frame)
    return tuple(k for k in PRESETS[key][1] if k in meant)


def usual(frame: Sheet) -> tuple[str, ...]:
    """What records are measured for while nobody has chosen: one index, the one of the stage."""
    meant = registry.meant_for(frame)
    first = _FIRST.get(frame.stage, "par")
    return (first,) if first in meant else meant[:1]
