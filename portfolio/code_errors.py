"""How often a recorded code is another one in truth: a table of chances for every coded quantity.  Pure.

No table of this kind was found published, so all of them are our judgement and say so.  Codes that follow each
other along a scale are mistaken for their neighbours; what was counted or chosen (missing teeth, plans) is certain.
"""

from collections.abc import Mapping
from functools import cache

SOURCE, CERTAINTY = "error_judgement", "practice"

SEEN_WRONGLY = 0.02
"""Chance that a state recorded at a tooth is not there."""
OVERLOOKED = 0.005
"""Chance that a state is there somewhere in a region that was recorded as free."""

_MOLARS = (
    ("class1", "toward2", "end2", "full2", "beyond2"),
    ("class1", "toward3", "end3", "full3", "beyond3"),
)
_SCALES: Mapping[str, tuple[tuple[tuple[str, ...], ...], float]] = {
    "molar_relation": (_MOLARS, 0.05),
    "canine_relation": (tuple(scale[:4] for scale in _MOLARS), 0.05),
    "buccal_interdigitation": ((("fitted", "off", "cusp_to_cusp"),), 0.08),
    "palatal_contact": ((("none", "contact", "trauma"),), 0.05),
    "skeletal_asymmetry": ((("none", "nonsurgical", "surgical"),), 0.05),
    "buccal_contact": ((("yes", "no"),), 0.05),
    "lip_competence": ((("competent", "incompetent"),), 0.05),
    "function_problem": ((("no", "yes"),), 0.05),
    "cleft_or_syndrome": ((("no", "yes"),), 0.0),
}
"""Quantity → scales of codes that follow each other, and the chance of either neighbour."""

_TABLES: Mapping[str, Mapping[str, Mapping[str, float]]] = {
    "crossbite": {
        "none": {"edge": 0.003, "upper_outside": 0.001},
        "edge": {"none": 0.05, "upper_inside": 0.05},
        "upper_inside": {"edge": 0.05},
        "upper_outside": {"none": 0.03},
    },
    "root_angulation": {
        "parallel": {"tipped": 0.02},
        "tipped": {"parallel": 0.1, "touching": 0.05},
        "touching": {"tipped": 0.1},
    },
}
_STATES = (
    "ankylosed",
    "anomalous",
    "impacted",
    "transposed",
    "retained_primary",
    "submerged",
    "supernumerary",
)


@cache
def truths(quantity: str, recorded: str) -> tuple[tuple[str, float], ...]:
    """Codes that the truth may be when one is recorded, with their chances, which sum to 1; the recorded one first.

    `none` stands for a state that is not there.  A quantity without a table, or a code outside it, is certain.
    """
    others: dict[str, float] = {}
    if quantity in _TABLES:
        others = dict(_TABLES[quantity].get(recorded, {}))
    elif quantity in _SCALES:
        scales, chance = _SCALES[quantity]
        for scale in (scale for scale in scales if recorded in scale):
            here = scale.index(recorded)
            for beside in (here - 1, here + 1):
                if 0 <= beside < len(scale):
                    others[scale[beside]] = chance
    elif quantity in _STATES and recorded not in ("none", "unknown"):
        others = {"none": SEEN_WRONGLY}
    return ((recorded, 1 - sum(others.values())), *((code, p) for code, p in others.items() if p))


def recorded_by_another(quantity: str, recorded: str) -> tuple[tuple[str, float], ...]:
    """What another examiner would record where one has recorded a code: the truth, mistaken once more."""
    found: dict[str, float] = {}
    for truth, chance in truths(quantity, recorded):
        for seen, p in truths(quantity, truth):
            found[seen] = found.get(seen, 0.0) + chance * p
    first = found.pop(recorded)
    return ((recorded, first), *found.items())
