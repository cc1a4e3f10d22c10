"""How wide unerupted canines and premolars will be, from the four lower incisors; millimetres a side.

Tanaka and Johnston, J Am Dent Assoc 1974;88:798-801 (equations read as quoted).  Moyers, Handbook of
orthodontics 1973, 75 %, sexes pooled (table from memory; the later tables by sex differ).
"""

from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Protocol

from portfolio.teeth import Arch
from scoring.shapes import Cited, plain

INCISORS = ("42", "41", "31", "32")
"""The teeth every prediction here is made from, for either arch."""
TWO = Decimal(2)


class Prediction(Protocol):
    """A published way to tell the widths of canine and premolars of one side."""

    @property
    def cited(self) -> Cited: ...

    def per_side(self, arch: Arch, incisors: Decimal) -> Decimal | None:
        """Canine and both premolars of one side in mm from the sum of the lower incisors; None where refused."""

    def words(self, arch: Arch, incisors: Decimal) -> str: ...


@dataclass(frozen=True)
class HalfAndMore:
    """Half the sum of the lower incisors and a fixed length for each arch."""

    upper: Decimal
    lower: Decimal
    cited: Cited

    def per_side(self, arch: Arch, incisors: Decimal) -> Decimal:
        return incisors / TWO + self._more(arch)

    def _more(self, arch: Arch) -> Decimal:
        return self.upper if arch == "upper" else self.lower

    def words(self, arch: Arch, incisors: Decimal) -> str:
        return (
            f"canine and premolars of this side, predicted: half of {plain(incisors)} mm "
            f"(the four lower incisors) and {plain(self._more(arch))} mm"
        )


@dataclass(frozen=True)
class Table:
    """A printed table by the sum of the lower incisors: linear between its rows, refused outside."""

    sums: tuple[Decimal, ...]
    upper: tuple[Decimal, ...]
    lower: tuple[Decimal, ...]
    cited: Cited

    def per_side(self, arch: Arch, incisors: Decimal) -> Decimal | None:
        widths = self.upper if arch == "upper" else self.lower
        rows = zip(self.sums, widths, strict=True)
        for (low, narrow), (high, wide) in pairwise(rows):
            if low <= incisors <= high:
                return narrow + (wide - narrow) * (incisors - low) / (high - low)
        return None

    def words(self, arch: Arch, incisors: Decimal) -> str:
        known = f"{plain(incisors)} mm (the four lower incisors)"
        table = f"the table of {plain(self.sums[0])} to {plain(self.sums[-1])} mm"
        if self.per_side(arch, incisors) is None:
            return f"no prediction: {known} lies outside {table}; counts like not recorded"
        between = "" if incisors in self.sums else ", linear between its rows"
        return f"canine and premolars of this side, predicted from {known} by {table}{between}"


def _decimals(text: str) -> tuple[Decimal, ...]:
    return tuple(Decimal(part) for part in text.split())


TANAKA_JOHNSTON = HalfAndMore(Decimal("11"), Decimal("10.5"), Cited("tanaka_johnston_1974", "read"))
MOYERS = Table(
    _decimals("19.5 20   20.5 21   21.5 22   22.5 23   23.5 24   24.5 25"),
    _decimals("20.6 20.9 21.2 21.5 21.8 22.0 22.3 22.6 22.9 23.1 23.4 23.7"),
    _decimals("20.1 20.4 20.7 21.0 21.3 21.6 21.9 22.2 22.5 22.8 23.1 23.4"),
    Cited("moyers_1973", "memory"),
)
PREDICTIONS: dict[str, Prediction] = {"tanaka_johnston": TANAKA_JOHNSTON, "moyers_1973_75": MOYERS}
