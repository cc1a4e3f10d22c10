"""Faces of the board's cases: what else a face is made of than its sheet tells, and how the head lay on each day."""

from collections.abc import Mapping

from demo.radiographs.face import Skull
from demo.radiographs.film import Film
from demo.radiographs.teeth import Dentition
from demo.scenario.filmed import FilmedCase, Record

BOARD_FACES: Mapping[str, FilmedCase] = {
    "Deep overjet and deep bite, lower crowding": FilmedCase(
        Skull(70, 7.5),
        {
            "initial": Record(
                {"sna": 82.0, "midface": 56, "occlusal": 9, "chin": 0.96, "lead": -1.5, "erupted": -0.3,
                 "apex": (-5.0, -1.5)},
                film=Film(chin_up=1.2, shift=(-2, 1), seed=11),
                taken_over=True,
                repeated=True,
            ),
            "final": Record(
                {"sna": 81.2, "midface": 57, "chin": 0.98, "molars": 26.5, "lead": -2.6, "erupted": -2.0,
                 "apex": (-7.2, 0.6)},
                Dentition(upper_premolars=1),
                Film(chin_up=-1.6, shift=(-3, -2), seed=12),
                taken_over=True,
                repeated=True,
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
                repeated=True,
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
