"""Faces of the year's short cases: their sheets tell overjet and overbite, the rest is set here.

Small films, because eighteen of them are drawn at the first start.
"""

from collections.abc import Mapping

from demo.radiographs.face import Skull
from demo.radiographs.film import Film
from demo.scenario.filmed import FilmedCase, Record

FINENESS = 4.5
"""Pixels per millimetre."""

Set = Mapping[str, float | tuple[float, float]]


def _record(
    angles: tuple[float, float, float, float], seed: int, **more: float | tuple[float, float]
) -> Record:
    """One stage by SNA, ANB, SN-MP and IMPA in degrees, and what else differs from the usual jaws."""
    sna, anb, sn_mp, impa = angles
    jaws: Set = {"sna": sna, "anb": anb, "sn_mp": sn_mp, "impa": impa, **more}
    film = Film(FINENESS, chin_up=seed * 7 % 5 - 2.0, shift=(-(seed * 3 % 5), seed * 5 % 7 - 3), seed=seed)
    return Record(jaws, film=film, taken_over=True)


RESULT_FACES: Mapping[str, FilmedCase] = {
    "Overjet of 10 mm, lips apart": FilmedCase(
        Skull(70, 7.5),
        {"initial": _record((82.0, 6.4, 34.0, 95.0), 101, apex=(-5.5, -1.5), parted=2.0),
         "final": _record((81.0, 4.3, 34.2, 98.0), 102)},
    ),
    "Upright central incisors, deep bite": FilmedCase(
        Skull(72, 7),
        {"initial": _record((82.5, 4.6, 28.0, 93.0), 103, apex=(-8.5, -1.0), midface=56),
         "final": _record((82.0, 3.7, 28.6, 97.0), 104, overjet=2.4, midface=56)},
    ),
    "Crowding of both arches, canines high": FilmedCase(
        Skull(71, 8),
        {"initial": _record((81.0, 3.5, 35.0, 92.0), 105), "final": _record((80.6, 3.2, 35.2, 93.0), 106)},
    ),
    "Front teeth in reverse, mild": FilmedCase(
        Skull(69, 7),
        {"initial": _record((79.5, -0.6, 33.0, 86.0), 107), "final": _record((80.0, 0.4, 33.6, 88.0), 108)},
    ),
    "Open bite of 3 mm after thumb sucking": FilmedCase(
        Skull(70, 8),
        {"initial": _record((81.5, 5.0, 40.0, 93.0), 109, parted=3.0),
         "final": _record((81.2, 4.3, 39.5, 91.0), 110)},
    ),
    "Right side crossed, jaw slides over": FilmedCase(
        Skull(68, 7.5),
        {"initial": _record((80.5, 2.5, 34.0, 92.0), 111), "final": _record((80.4, 2.4, 33.5, 94.0), 112)},
    ),
    "Spaced upper front teeth": FilmedCase(
        Skull(73, 7.5),
        {"initial": _record((82.5, 4.0, 30.0, 99.0), 113), "final": _record((82.0, 3.8, 30.0, 95.0), 114)},
    ),
    "Moved away, appliance taken off early": FilmedCase(
        Skull(72, 7),
        {"initial": _record((82.0, 5.0, 29.0, 96.0), 115), "final": _record((82.0, 4.8, 29.2, 97.0), 116)},
    ),
    "Canine out of line, final casts half measured": FilmedCase(
        Skull(70, 8),
        {"initial": _record((81.0, 3.0, 33.0, 91.0), 117), "final": _record((80.8, 2.8, 33.0, 93.0), 118)},
    ),
}  # fmt: skip
"""By the note of the case."""
