"""What is marked for a structural superimposition: points of structures that growth leaves in place.

Which structures are stable, and from which age, is published; where on each of them the mark is set is our choice,
so that one person finds the same spot on both radiographs.  A mark on an outline is sure across the outline and loose
along it; three or more, far apart and on outlines that run in different directions, hold a motion.

Sources: `ceph_superimposing` (a guide after Björk, read) for the cranial base, the zygomatic process, the inner outline
of the symphysis and the canal; the rest from memory.  Left out because they move: nasion, basion, sella itself, the
floors of nose and orbit.
"""

from dataclasses import dataclass

from imaging.cephalometry.face import STRUCTURES
from imaging.cephalometry.landmarks import Certainty

STRUCTURE_LABELS = {"cranial_base": "Cranial base", "maxilla": "Maxilla", "mandible": "Mandible"}


@dataclass(frozen=True, slots=True)
class StableMark:
    """One mark: its structure, where it is set, and from which age the structure is stable (empty: not published)."""

    structure: str
    key: str
    name: str
    definition: str
    stable_from: str = ""
    certainty: Certainty = "read"

    @property
    def source(self) -> str:
        """Key of the bibliography."""
        return "ceph_superimposing" if self.certainty == "read" else "ceph_memory"


SELLA_AGE, PLATE_AGE = "5 to 6 years", "4 years"
_BASE, _UPPER, _LOWER = STRUCTURES
STABLE_MARKS: tuple[StableMark, ...] = (
    StableMark(
        _BASE,
        "sella_wall",
        "Anterior wall of sella",
        "middle of the anterior wall of the pituitary fossa, below its upper edge",
        SELLA_AGE,
    ),
    StableMark(
        _BASE,
        "walker",
        "Walker's point",
        "where the anterior wall of the sella crosses the lower outline of the anterior clinoid processes",
        SELLA_AGE,
    ),
    StableMark(
        _BASE,
        "cribriform_back",
        "Cribriform plate, back",
        "back end of the line of the cribriform plate, where it meets the planum",
        PLATE_AGE,
    ),
    StableMark(
        _BASE,
        "cribriform_front",
        "Cribriform plate, front",
        "front end of the line of the cribriform plate, as far as it is seen on both radiographs",
        PLATE_AGE,
    ),
    StableMark(
        _BASE,
        "ethmoid_crest",
        "Frontoethmoidal crest",
        "the bend of the crest between the frontal and the ethmoid bone; the mean of both sides",
        PLATE_AGE,
    ),
    StableMark(
        _BASE,
        "orbital_roof",
        "Orbital roof",
        "highest point of the cerebral surface of the orbital roofs; the mean of both sides",
        SELLA_AGE,
    ),
    StableMark(
        _BASE,
        "middle_fossa",
        "Middle cranial fossa, front",
        "most anterior point of the outline of the middle cranial fossa; the mean of both sides",
        "12 to 14 years",
    ),
    StableMark(
        _BASE,
        "base_trabecula",
        "Trabecula of the cranial base",
        "a trabecula of the anterior cranial base that is the same on both radiographs",
        PLATE_AGE,
    ),
    StableMark(
        _UPPER,
        "zygomatic_upper",
        "Zygomatic process, upper",
        "upper end of the anterior contour of the zygomatic process",
    ),
    StableMark(
        _UPPER,
        "zygomatic_lower",
        "Zygomatic process, lower",
        "lower end of the anterior contour of the zygomatic process, where it turns back",
    ),
    StableMark(
        _UPPER,
        "palate_front",
        "Lingual curve of the palate, front",
        "where the lingual outline of the palate behind the incisors turns from steep to flat",
        certainty="memory",
    ),
    StableMark(
        _UPPER,
        "palate_back",
        "Lingual curve of the palate, back",
        "the oral outline of the palate above the first molar",
        certainty="memory",
    ),
    StableMark(
        _UPPER,
        "maxilla_trabecula",
        "Trabecula of the maxilla",
        "a trabecula of the body of the maxilla that is the same on both radiographs",
        certainty="memory",
    ),
    StableMark(
        _UPPER,
        "maxilla_trabecula_2",
        "Another trabecula of the maxilla",
        "a second one, far from the first",
        certainty="memory",
    ),
    StableMark(
        _LOWER,
        "symphysis_upper",
        "Inner outline of the symphysis, upper",
        "the inner cortical outline of the back of the symphysis at half of its height",
    ),
    StableMark(
        _LOWER,
        "symphysis_lower",
        "Inner outline of the symphysis, lower",
        "lowest point of the inner cortical outline of the symphysis",
    ),
    StableMark(
        _LOWER,
        "canal_front",
        "Mandibular canal, front",
        "front end of the canal, as far as it is seen on both radiographs",
    ),
    StableMark(_LOWER, "canal_bend", "Mandibular canal, bend", "where the canal bends from the body up into the ramus"),
    StableMark(
        _LOWER,
        "chin_front",
        "Front of the chin",
        "the anterior contour of the chin where it is most concave, above pogonion",
        certainty="memory",
    ),
    StableMark(
        _LOWER,
        "third_molar_germ",
        "Third molar germ",
        "lowest point of the outline of the germ, as long as no root has formed",
        "until roots form",
        "memory",
    ),
    StableMark(
        _LOWER,
        "mandible_trabecula",
        "Trabecula of the mandible",
        "a trabecula of the symphysis or body that is the same on both radiographs",
        certainty="memory",
    ),
)  # fmt: skip
MARKS_BY_KEY: dict[str, StableMark] = {mark.key: mark for mark in STABLE_MARKS}


def marks_of(structure: str) -> tuple[StableMark, ...]:
    """The marks of one structure in the order of the list."""
    return tuple(mark for mark in STABLE_MARKS if mark.structure == structure)
