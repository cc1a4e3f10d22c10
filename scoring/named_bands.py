"""Bands with words of their own, and bands over a value that is worked out from several findings."""

from dataclasses import dataclass
from decimal import Decimal

from scoring.measured_shapes import Bands
from scoring.shapes import RuleFault, Value, plain, points_text


@dataclass(frozen=True)
class NamedBands(Bands):
    """Bands whose words, or whose certainties, differ from band to band.

    `names` and `marks` follow the bands one to one; left empty, the bands speak for themselves and the
    certainty of the table holds.
    """

    names: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        for parallel in (self.names, self.marks):
            if parallel and len(parallel) != len(self.bands):
                raise RuleFault(f"{self.label}: {len(parallel)} names or marks for {len(self.bands)} bands")

    def words(self, value: Value) -> str:
        if not self.names:
            return super().words(value)
        assert isinstance(value, Decimal)
        found = self._band(value)
        return f"{self.label} {self.names[self.bands.index(found)]}: {points_text(found.points)}"

    def certainty(self, value: Value) -> str:
        if not self.marks:
            return super().certainty(value)
        assert isinstance(value, Decimal)
        return self.marks[self.bands.index(self._band(value))]


@dataclass(frozen=True)
class DerivedBands(Bands):
    """Bands over a derived number, which the words tell to two decimals; it is scored unrounded."""

    def words(self, value: Value) -> str:
        assert isinstance(value, Decimal)
        found = self._band(value)
        spaced = f" {self.unit}" if self.unit else ""
        return f"{self.label} {plain(value)}{spaced}, {found.words(self.unit)}: {points_text(found.points)}"
