"""Marks on stable structures of an invented face, as a reader sets them: near the spot, never quite on it."""

import numpy

from demo.radiographs.face import Jaws, Points, Skull, chin_motion
from demo.radiographs.jaws import CANAL_END, ZYGOMATIC, palate_curve
from demo.radiographs.outlines import sized
from imaging.geometry import Vector

SCATTER_MM = 0.2
BASE = {
    "sella_wall": (5.6, 1.0), "walker": (4.8, 4.6), "cribriform_back": (24.0, 5.6), "cribriform_front": (48.0, 6.4),
    "orbital_roof": (44.5, 16.2), "middle_fossa": (23.6, -8.0),
}  # fmt: skip
CHIN = {
    "symphysis_upper": (-11.4, 13.0), "symphysis_lower": (-3.4, 2.6), "canal_front": CANAL_END, "chin_front": (-2.8, 19.4),
}  # fmt: skip
"""In the frame of the symphysis."""


def stable_marks(skull: Skull, jaws: Jaws, points: Points, seed: int) -> dict[str, Vector]:
    """Marks by their keys, in the frame of the face; `seed` scatters them."""
    random = numpy.random.default_rng(seed)
    at = chin_motion(skull, jaws, points["Me"])
    front, back = palate_curve(points)
    marks = dict(zip(BASE, sized(skull, *BASE.values()), strict=True))
    marks |= {"zygomatic_upper": points["A"] + Vector(*ZYGOMATIC[0])}
    marks |= {"zygomatic_lower": points["A"] + Vector(*ZYGOMATIC[2])}
    marks |= {"palate_front": front, "palate_back": back}
    marks |= {key: at(Vector(x, y).times(jaws.chin)) for key, (x, y) in CHIN.items()}
    return {key: mark + Vector(*random.normal(0, SCATTER_MM, 2)) for key, mark in marks.items()}
