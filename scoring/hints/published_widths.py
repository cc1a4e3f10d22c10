"""Widths of permanent teeth as published, in mm, upper and lower by number from the midline.

Means and deviations of men and women: Moorrees et al., J Dent Res 1957;36:39-47, from memory.
Ranges: printed with a student's dental analysis, a clinic's table (read).
"""

from decimal import Decimal
from typing import NamedTuple

DEVIATIONS = Decimal(3)


class PublishedWidth(NamedTuple):
    """What is published of one tooth; a deviation that is not known is None."""

    men: Decimal
    men_sd: Decimal | None
    women: Decimal
    women_sd: Decimal | None
    lowest: Decimal
    highest: Decimal

    @property
    def range(self) -> tuple[Decimal, Decimal]:
        """The widest of both: the clinic's range, and 3 deviations below women's and above men's mean."""
        low, high = self.lowest, self.highest
        if self.women_sd is not None:
            low = min(low, self.women - DEVIATIONS * self.women_sd)
        if self.men_sd is not None:
            high = max(high, self.men + DEVIATIONS * self.men_sd)
        return low, high


_ROWS = {
    True: (
        "8.78 0.46 8.40 0.53 7.40 9.75",
        "6.64 0.63 6.47 0.62 6.05 8.10",
        "7.95 0.42 7.53 0.37 7.05 9.32",
        "7.01 0.38 6.85 0.42 6.75 9.00",
        "6.82 0.37 6.62 0.45 6.00 8.10",
        "10.81 0.56 10.52 0.51 9.95 12.10",
        "10.35 - 9.81 - 8.75 10.87",
    ),
    False: (
        "5.42 0.31 5.25 0.36 4.97 6.60",
        "5.95 0.34 5.78 0.38 5.45 6.85",
        "6.96 0.36 6.47 0.32 6.15 8.15",
        "7.07 0.35 6.87 0.38 6.35 8.75",
        "7.29 0.52 7.02 0.47 6.80 9.55",
        "11.18 0.47 10.74 0.47 10.62 13.05",
        "10.76 0.71 10.34 - 8.90 11.37",
    ),
}


def _row(text: str) -> PublishedWidth:
    men, men_sd, women, women_sd, low, high = text.split()
    of_men, of_women = (None if sd == "-" else Decimal(sd) for sd in (men_sd, women_sd))
    return PublishedWidth(Decimal(men), of_men, Decimal(women), of_women, Decimal(low), Decimal(high))


PUBLISHED: dict[tuple[bool, int], PublishedWidth] = {
    (upper, number): _row(text) for upper, rows in _ROWS.items() for number, text in enumerate(rows, start=1)
}
"""(upper?, number from the midline) → what is published; third molars are not."""
MEAN_WIDTHS: dict[tuple[bool, int], Decimal] = {key: width.men for key, width in PUBLISHED.items()}
"""Men's means, the wider ones: what a place may hold at most by rule."""
