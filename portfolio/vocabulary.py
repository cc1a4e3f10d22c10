"""Every quantity once, in the order in which one goes round the casts."""

from decimal import Decimal

from portfolio.quantities import arches, clinical, occlusion, outcome, radiograph
from portfolio.quantity import Quantity

GROUPS: dict[str, str] = {
    "front": "Front teeth, casts together",
    "behind": "Behind the canines, casts together",
    "sides": "Molars and canines, side by side",
    "midline": "Midlines",
    "arches": "Each arch alone",
    "contacts": "Contacts and gaps",
    "teeth": "The state of single teeth",
    "radiograph": "Lateral radiograph",
    "other": "Anything else",
    "outcome": "Finished casts",
    "clinical": "Patient and face",
}
STAGES = ("initial", "interim", "final", "retention", "post_retention")
DENTITIONS = ("primary", "mixed", "permanent")
OCCLUSIONS = ("intercuspal", "retruded", "articulator", "unknown")
METHODS = (
    "caliper",
    "gauge",
    "ruler",
    "wire",
    "curve",
    "segments",
    "eye",
    "picture",
    "scan",
    "tracing",
    "computed",
    "clinical",
    "history",
)
MEDIA = ("plaster", "printed", "scan", "photograph", "radiograph", "patient", "notes")
PLANES = radiograph.PLANES
STEPS = tuple(Decimal(s) for s in ("0.01", "0.1", "0.5", "1"))


def _assembled() -> dict[str, Quantity]:
    found: dict[str, Quantity] = {}
    everything = (
        *occlusion.QUANTITIES,
        *arches.QUANTITIES,
        *radiograph.QUANTITIES,
        *outcome.QUANTITIES,
        *clinical.QUANTITIES,
    )
    for quantity in sorted(everything, key=lambda q: tuple(GROUPS).index(q.group)):
        if quantity.key in found:
            raise ValueError(f"quantity {quantity.key} is listed twice")
        found[quantity.key] = quantity
    return found


QUANTITIES: dict[str, Quantity] = _assembled()
ORDER: dict[str, int] = {key: index for index, key in enumerate(QUANTITIES)}
