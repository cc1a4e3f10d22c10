"""What records are measured for: the indices on offer, those chosen, and sets to choose at once."""

from collections.abc import Sequence
from dataclasses import dataclass

from portfolio.finding_sheet import Sheet
from scoring import presets, registry


@dataclass(frozen=True, slots=True)
class OfferedIndex:
    """One index on offer; `outside` says why it has no meaning for these records, empty where it has."""

    key: str
    label: str
    chosen: bool
    outside: str


@dataclass(frozen=True, slots=True)
class OfferedPreset:
    """A set of indices to choose at once."""

    key: str
    label: str
    indices: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Choosing:
    """All that the form of the measuring page shows."""

    indices: tuple[OfferedIndex, ...]
    presets: tuple[OfferedPreset, ...]

    @property
    def chosen_words(self) -> str:
        return ", ".join(one.label for one in self.indices if one.chosen)


def choosing(frame: Sheet, chosen: Sequence[str]) -> Choosing:
    """The form for records of a stage and dentition."""
    return Choosing(
        indices=tuple(
            OfferedIndex(key, index.label, key in chosen, index.outside(frame))
            for key, index in registry.INDEXES.items()
        ),
        presets=tuple(
            OfferedPreset(
                key,
                label.capitalize(),
                ", ".join(registry.index(one).label for one in found),
                set(found) == set(chosen),
            )
            for key, (label, _) in presets.PRESETS.items()
            if (found := presets.preset(key, frame))
        ),
    )
