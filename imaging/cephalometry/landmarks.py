"""Every landmark of a lateral tracing: definition, kind, order of placing, and the direction it errs in.

Sources: the certainty of a definition is `read` where it stands in a text that was read (keys of
`portfolio.sources`), `memory` where it is known and was not confirmed.  The directions of the worst error are
all from memory.
"""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["bony", "dental", "soft", "constructed"]
Certainty = Literal["read", "memory", "practice"]
DEFAULT_POINT_SD_MM = 0.5
"""Standard deviation of each coordinate of a point without its own; choice after Trpkova, AJODO 1997;112:165."""


@dataclass(frozen=True, slots=True)
class Landmark:
    """One point of the tracing.  `worst` is the direction in which it is placed least surely (from memory)."""

    key: str
    name: str
    definition: str
    kind: Kind
    worst: str
    source: str = "ceph_points"
    certainty: Certainty = "read"


def _memory(key: str, name: str, definition: str, kind: Kind, worst: str) -> Landmark:
    return Landmark(key, name, definition, kind, worst, "ceph_memory", "memory")


_SKULL = (
    Landmark("S", "Sella", "centre of the outline of the pituitary fossa", "constructed", "small, all round"),
    Landmark("N", "Nasion", "most anterior point of the frontonasal suture", "bony", "up and down"),
    Landmark(
        "Po",
        "Porion",
        "top of the bony ear canal, not of the ear rod; the mean of both sides",
        "bony",
        "large, all round",
    ),
    Landmark(
        "Or", "Orbitale", "lowest point of the orbital rim; the mean of both sides", "bony", "front to back"
    ),
    Landmark("Ba", "Basion", "lowest anterior point of the rim of the foramen magnum", "bony", "large"),
    Landmark(
        "Pt",
        "Pterygoid point",
        "upper back point of the pterygopalatine fossa, where the round foramen opens",
        "bony",
        "medium",
    ),
    Landmark("ANS", "Anterior nasal spine", "tip of the anterior nasal spine", "bony", "front to back"),
    Landmark(
        "PNS",
        "Posterior nasal spine",
        "back end of the hard palate, where the front wall of the pterygopalatine fossa, drawn on downwards, "
        "meets the floor of the nose",
        "bony",
        "front to back",
    ),
    Landmark(
        "A",
        "Point A (subspinale)",
        "deepest point in the midline of the concavity between the anterior nasal spine and the alveolar crest",
        "bony",
        "up and down",
    ),
)
_MANDIBLE = (
    Landmark(
        "B",
        "Point B (supramentale)",
        "deepest point in the midline between the lower alveolar crest and pogonion",
        "bony",
        "up and down",
    ),
    _memory("D", "Point D", "centre of the outline of the symphysis", "constructed", "small, all round"),
    Landmark("Pog", "Pogonion", "most anterior point of the bony chin", "bony", "up and down"),
    Landmark(
        "Gn",
        "Gnathion",
        "most anterior and inferior point of the bony chin, between pogonion and menton",
        "bony",
        "along the contour",
    ),
    Landmark("Me", "Menton", "lowest point of the outline of the symphysis", "bony", "front to back"),
    _memory(
        "MT",
        "Lower border touching point",
        "where the tangent from menton touches the lower border of the mandible behind",
        "constructed",
        "along the border",
    ),
    Landmark(
        "Go",
        "Gonion",
        "where the tangent of the back border of the ramus meets the tangent of the lower border",
        "constructed",
        "large, oblique",
    ),
    Landmark(
        "Ar",
        "Articulare",
        "where the outline of the cranial base crosses the back outline of the condylar neck; mean of both sides",
        "constructed",
        "medium",
    ),
    Landmark("Co", "Condylion", "most posterior and superior point of the condyle", "bony", "large"),
    _memory("Cd", "Back of the condyle", "most distal point of the condylar head", "bony", "large"),
    _memory(
        "DC", "Centre of the condylar neck", "middle of the neck on the line Ba-N", "constructed", "large"
    ),
    _memory(
        "Xi",
        "Xi",
        "geometric centre of the ramus, from four tangents square to and along Frankfort horizontal",
        "constructed",
        "medium",
    ),
    Landmark(
        "PM",
        "Protuberance of the chin",
        "where the outline of the chin turns from concave to convex, between point B and pogonion",
        "bony",
        "along the contour",
        "ceph_ricketts",
    ),
)
_TEETH = (
    Landmark(
        "U1", "Upper incisor edge", "incisal edge of the most anterior upper incisor", "dental", "small"
    ),
    Landmark(
        "U1A",
        "Upper incisor apex",
        "root apex of the most anterior upper incisor",
        "dental",
        "along the root",
    ),
    _memory(
        "U1F",
        "Upper incisor face",
        "most labial point of its crown; without it the edge serves",
        "dental",
        "small",
    ),
    Landmark(
        "L1", "Lower incisor edge", "incisal edge of the most anterior lower incisor", "dental", "small"
    ),
    Landmark(
        "L1A",
        "Lower incisor apex",
        "root apex of the most anterior lower incisor; on many films not to be found with confidence",
        "dental",
        "large, along the root",
    ),
    _memory(
        "L1F",
        "Lower incisor face",
        "most labial point of its crown; without it the edge serves",
        "dental",
        "small",
    ),
    Landmark(
        "U6", "Upper molar cusp", "mesiobuccal cusp tip of the upper first molar", "dental", "front to back"
    ),
    Landmark(
        "L6", "Lower molar cusp", "mesiobuccal cusp tip of the lower first molar", "dental", "front to back"
    ),
    _memory(
        "U6D",
        "Upper molar back",
        "distal face of the crown of the upper first molar",
        "dental",
        "front to back",
    ),
    Landmark(
        "OPm",
        "Molar overlap",
        "middle of the overlap of the first molar cusps; the middle of U6 and L6 when absent",
        "constructed",
        "up and down",
        "ceph_occlusal_planes",
    ),
    Landmark(
        "OPi",
        "Incisor overlap",
        "middle of the overbite or open bite of the incisors; the middle of U1 and L1 when absent",
        "constructed",
        "up and down",
        "ceph_occlusal_planes",
    ),
    Landmark(
        "OPp",
        "Premolar overlap",
        "middle of the overlap of the premolar cusps; nothing takes its place",
        "constructed",
        "up and down",
        "ceph_occlusal_planes",
    ),
)
_SOFT = (
    Landmark(
        "G'",
        "Soft tissue glabella",
        "most anterior point of the forehead in the midline",
        "soft",
        "up and down",
        "ceph_soft_points",
    ),
    Landmark(
        "N'",
        "Soft tissue nasion",
        "deepest point of the root of the nose",
        "soft",
        "up and down",
        "ceph_soft_points",
    ),
    Landmark(
        "Prn", "Pronasale", "most anterior point of the nose", "soft", "up and down", "ceph_soft_points"
    ),
    _memory(
        "Cm",
        "Columella",
        "most anterior point of the columella, below the tip of the nose",
        "soft",
        "along the contour",
    ),
    Landmark(
        "Sn",
        "Subnasale",
        "where the columella meets the upper lip in the midline",
        "soft",
        "along the contour",
        "ceph_soft_points",
    ),
    Landmark(
        "Ls",
        "Upper lip",
        "most anterior point of the upper vermilion",
        "soft",
        "up and down",
        "ceph_soft_points",
    ),
    Landmark(
        "Stm",
        "Stomion",
        "where the lips meet, or the middle between them",
        "soft",
        "small",
        "ceph_soft_points",
    ),
    Landmark(
        "Li",
        "Lower lip",
        "most anterior point of the lower vermilion",
        "soft",
        "up and down",
        "ceph_soft_points",
    ),
    Landmark(
        "Sl",
        "Labiomental fold",
        "deepest point between lower lip and chin (soft tissue B)",
        "soft",
        "up and down",
        "ceph_soft_points",
    ),
    Landmark(
        "Pog'",
        "Soft tissue pogonion",
        "most anterior point of the chin's outline",
        "soft",
        "up and down",
        "ceph_soft_points",
    ),
    Landmark(
        "Me'",
        "Soft tissue menton",
        "lowest point of the chin's outline",
        "soft",
        "front to back",
        "ceph_soft_points",
    ),
)
GROUPS: tuple[tuple[str, tuple[Landmark, ...]], ...] = (
    ("Skull and upper jaw", _SKULL),
    ("Lower jaw", _MANDIBLE),
    ("Teeth", _TEETH),
    ("Profile", _SOFT),
)
LANDMARKS: tuple[Landmark, ...] = tuple(landmark for _, group in GROUPS for landmark in group)
"""In the order of placing: cranial base and midface, mandible, teeth, profile.  Any other order is as good."""
BY_KEY: dict[str, Landmark] = {landmark.key: landmark for landmark in LANDMARKS}
CHIN = ("Pog", "Gn", "Me", "Pog'", "Me'")
"""Points of the chin: they lie below S-N, or the picture is mirrored."""
