"""What all plots of the desk have in common.  Pure."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where, in units of the plot, and what it says."""

    at: float
    label: str
