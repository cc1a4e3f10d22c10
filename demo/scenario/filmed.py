"""What is set for a lateral radiograph of the scenario beside its sheet: the jaws, the teeth, how the film was made."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from demo.radiographs.face import Skull
from demo.radiographs.film import Film
from demo.radiographs.teeth import Dentition

Traced = Literal["whole", "begun"]
"""A tracing with all points, outlines and stable marks, or one that was left after the bones."""


@dataclass(frozen=True, slots=True)
class Record:
    """One stage: what its sheet does not tell of the jaws, the teeth that stand, and how the film was made."""

    jaws: Mapping[str, float | tuple[float, float]]
    dentition: Dentition = field(default_factory=Dentition)
    film: Film = field(default_factory=Film)
    quality: tuple[str, ...] = ("positioned", "framed", "contrast", "sharp", "ruler")
    side_checked: bool = True
    looked_through: bool = True
    """Whether somebody has stated that no name stands in it."""
    scaled: bool = True
    traced: Traced = "whole"
    taken_over: bool = False
    """Whether ANB, SN-MP and IMPA of the sheet are those of the tracing."""
    repeated: bool = False
    """Whether the radiograph was traced again, blind to the first tracing, two weeks after it."""


@dataclass(frozen=True, slots=True)
class FilmedCase:
    """The skull of a case, which stays, and its records by stage."""

    skull: Skull
    records: Mapping[str, Record]
