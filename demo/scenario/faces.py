"""The lateral radiographs of the board's cases: faces whose ANB, SN-MP, IMPA, overjet and overbite are the sheets'.

What else a face is made of, and how the head lay on each day, is set here.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from demo.radiographs.face import Jaws, Skull
from demo.radiographs.film import Film, Radiograph
from demo.radiographs.teeth import Dentition
from demo.scenario.plans import DemoCase
from portfolio.readings import Sheet
from portfolio.typed import typed

SHEET = (("anb", "mouth"), ("sn_mp", "mouth"), ("impa", "mouth"), ("overjet", "11"), ("overbite", "11"))
"""Quantities and sites of a sheet that a face takes over."""


Traced = Literal["whole", "begun"]
"""A tracing with all points, outlines and stable marks, or one that was left after the bones."""


@dataclass(frozen=True, slots=True)
class Record:
    """One stage: what its sheet does not tell of the jaws, the teeth that stand, and how the film was made."""

    jaws: Mapping[str, float | tuple[float, float]]
    dentition: Dentition = field(default_factory=Dentition)
    film: Film = field(default_factory=Film)
    quality: tuple[str, ...] = ("sharp", "framed", "level")
    side_checked: bool = True
    looked_through: bool = True
    """Whether somebody has stated that no name stands in it."""
    scaled: bool = True
    traced: Traced = "whole"
    taken_over: bool = False
    """Whether ANB, SN-MP and IMPA of the sheet are those of the tracing."""


@dataclass(frozen=True, slots=True)
class FilmedCase:
    """The skull of a case, which stays, and its records by stage."""

    skull: Skull
    records: Mapping[str, Record]


FILMED: Mapping[str, FilmedCase] = {
    "Deep overjet and deep bite, lower crowding": FilmedCase(
        Skull(70, 7.5),
        {
            "initial": Record(
                {"sna": 82.0, "midface": 56, "occlusal": 9, "chin": 0.96, "lead": -1.5, "erupted": -0.3,
                 "apex": (-5.0, -1.5)},
                film=Film(chin_up=1.2, shift=(-2, 1), seed=11),
                taken_over=True,
            ),
            "final": Record(
                {"sna": 81.2, "midface": 57, "chin": 0.98, "molars": 26.5, "lead": -2.6, "erupted": -2.0,
                 "apex": (-7.2, 0.6)},
                Dentition(upper_premolars=1),
                Film(chin_up=-1.6, shift=(-3, -2), seed=12),
                taken_over=True,
            ),
        },
    ),
    "Open bite in front and behind, steep mandibular plane": FilmedCase(
        Skull(74, 8, nose=15.0, forehead=2.5),
        {
            "initial": Record(
                {"sna": 81.0, "midface": 59, "chin": 1.05, "ramus": 77, "lead": 3, "overlap": -1.0, "erupted": -0.6,
                 "apex": (-6.5, -0.6), "parted": 3.0},
                film=Film(chin_up=0.6, shift=(-6, 6), seed=21),
            ),
            "final": Record(
                {"sna": 80.8, "midface": 59, "chin": 1.05, "ramus": 77, "lead": 3, "erupted": 1.5, "apex": (-6.5, -2.6)},
                film=Film(fineness=6.5, chin_up=-2.2, shift=(-5, 8), grain=5.0, seed=22),
                quality=("framed",),
                scaled=False,
            ),
        },
    ),
    "Reverse overjet, a lateral incisor that never formed": FilmedCase(
        Skull(70, 7, nose=13.0),
        {
            "initial": Record(
                {"sna": 79.5, "midface": 56, "lead": 10, "ramus": 79},
                Dentition(lost_lower_molar=True),
                Film(chin_up=2.4, shift=(-2, 2), grain=5.5, seed=31),
                looked_through=False,
                traced="begun",
            ),
        },
    ),
    "Mixed dentition, palatal canine": FilmedCase(
        Skull(68, 7.5, nose=11.5, forehead=0.5),
        {
            "initial": Record(
                {"sna": 81.0, "midface": 51.5, "chin": 0.93, "lead": 1, "ramus": 80},
                Dentition(second_molars=False, buds=True),
                Film(chin_up=-0.8, shift=(0, -4), seed=41),
            ),
            "final": Record(
                {"sna": 81.0, "midface": 54.5, "chin": 0.98, "lead": 3.3, "ramus": 80, "erupted": -1.0},
                film=Film(chin_up=1.4, shift=(-1, -2), seed=42),
                quality=(),
                side_checked=False,
            ),
        },
    ),
}  # fmt: skip
"""By the note of the case."""


def record_of(plan: DemoCase, sheet: Sheet) -> Record:
    """What is set for a stage; KeyError for a case without radiographs."""
    return FILMED[plan.note].records[sheet.stage]


def radiograph(plan: DemoCase, sheet: Sheet) -> Radiograph:
    """The lateral radiograph of a stage of a case; KeyError for a case without one."""
    record = record_of(plan, sheet)
    told = {quantity: told_by(plan, sheet, quantity, site) for quantity, site in SHEET}
    given: dict[str, Any] = {**record.jaws, **told}
    return Radiograph(FILMED[plan.note].skull, Jaws(**given), record.dentition, record.film)


def told_by(plan: DemoCase, sheet: Sheet, quantity: str, site: str) -> float:
    """A value of the sheet, or the one that is typed besides; KeyError when there is none."""
    if found := sheet.at(quantity, site):
        return float(found.value)
    typed_values = {(key, place): text for key, place, text in plan.typed} if sheet is plan.sheets[0] else {}
    return float(typed(quantity, site, typed_values[quantity, site], "0.1").value)
