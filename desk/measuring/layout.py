"""What is asked in which order as one goes round the casts, and in which words on the screen."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from portfolio.quantity import Quantity
from portfolio.vocabulary import QUANTITIES

RowKind = Literal["teeth", "cusps", "sides", "arches", "segments", "contacts", "mouth", "entries"]
Block = tuple[str, str]
"""A region that has a "rest none" key of its own, and its heading."""

WHOLE: tuple[Block, ...] = (("mouth", ""),)
RIGHT_LEFT: tuple[Block, ...] = (("right", "Right"), ("left", "Left"))
UPPER_LOWER: tuple[Block, ...] = (("upper", "Upper"), ("lower", "Lower"))


@dataclass(frozen=True, slots=True)
class Plan:
    """One quantity on the page.

    It is there when a chosen index reads it or something is recorded.  `unasked` says what becomes of one
    that is read and not needed now: `shown` anyway, `folded` under its `reason`, or `away`.
    """

    quantity: str
    kind: RowKind
    blocks: tuple[Block, ...] = WHOLE
    unasked: Literal["shown", "folded", "away"] = "shown"
    reason: str = ""
    wide: bool = False
    """Whether its fields need the whole width, such as all teeth of an arch."""
    drawn: bool = True
    """Whether a drawing stands beside it."""


@dataclass(frozen=True, slots=True)
class GroupPlan:
    """Quantities that are taken in one position of the casts."""

    key: str
    title: str
    plans: tuple[Plan, ...]


UNERUPTED = "where a tooth has not erupted"
ASKED_GROUPS: tuple[GroupPlan, ...] = (
    GroupPlan(
        "front",
        "Front teeth, casts together",
        (
            Plan("overjet", "teeth"),
            Plan("overbite", "teeth"),
            Plan(
                "palatal_contact",
                "mouth",
                unasked="folded",
                reason="asked when the front teeth overlap deeply",
            ),
            Plan(
                "overbite_cover",
                "mouth",
                unasked="folded",
                reason="asked when the front teeth overlap deeply",
            ),
        ),
    ),
    GroupPlan(
        "behind",
        "Behind the canines, casts together",
        (Plan("posterior_open_bite", "teeth", RIGHT_LEFT), Plan("crossbite", "teeth", RIGHT_LEFT)),
    ),
    GroupPlan(
        "sides",
        "Side by side",
        (
            Plan("molar_relation", "sides"),
            Plan("molar_beyond", "sides", unasked="away"),
            Plan("molar_substitute", "sides", unasked="away"),
            Plan("buccal_interdigitation", "sides"),
            Plan("buccal_contact", "sides", unasked="away"),
        ),
    ),
    GroupPlan(
        "midline",
        "Midlines",
        (
            Plan("midline_offset", "mouth"),
            Plan(
                "midline_share",
                "mouth",
                unasked="folded",
                reason="in place of millimetres, when seen directly",
            ),
            Plan("upper_midline_face", "mouth", unasked="folded", reason="read only by the rule choice face"),
            Plan("lower_midline_face", "mouth", unasked="folded", reason="read only by the rule choice face"),
        ),
    ),
    GroupPlan(
        "arches",
        "Each arch alone",
        (
            Plan("crowding", "arches"),
            Plan("contact_offset", "contacts", UPPER_LOWER),
            Plan("gap", "contacts", UPPER_LOWER, wide=True),
            Plan(
                "gap_plan",
                "contacts",
                UPPER_LOWER,
                unasked="folded",
                reason="only where a space is to be kept; one that is to be closed scores",
            ),
        ),
    ),
    GroupPlan("teeth", "Teeth one by one", ()),
    GroupPlan(
        "widths",
        "Widths and space",
        (
            Plan("tooth_width", "teeth", UPPER_LOWER, wide=True),
            Plan("arch_segment", "segments", UPPER_LOWER),
            Plan(
                "arch_available",
                "arches",
                unasked="folded",
                reason="in place of the four segments of an arch",
            ),
            Plan("support_zone", "segments", UPPER_LOWER, unasked="folded", reason=UNERUPTED),
            Plan("eruption_space", "teeth", UPPER_LOWER, unasked="folded", reason=UNERUPTED),
        ),
    ),
    GroupPlan(
        "finished",
        "Finished casts",
        (
            Plan("alignment_step", "teeth", UPPER_LOWER, wide=True),
            Plan("ridge_step", "contacts", UPPER_LOWER),
            Plan("inclination_step", "teeth", UPPER_LOWER, wide=True),
            Plan("occlusal_gap", "cusps", UPPER_LOWER, wide=True),
            Plan("relation_target", "sides", unasked="shown"),
            Plan("relation_step", "teeth", RIGHT_LEFT),
            Plan("facing_gap", "teeth", RIGHT_LEFT),
        ),
    ),
    GroupPlan(
        "radiograph",
        "Radiographs",
        (
            Plan("anb", "mouth"),
            Plan("sn_mp", "mouth"),
            Plan("impa", "mouth"),
            Plan("root_angulation", "teeth", UPPER_LOWER, wide=True),
        ),
    ),
    GroupPlan(
        "patient",
        "With the patient",
        (
            Plan("functional_shift", "mouth"),
            Plan("shift_direction", "mouth"),
            Plan("lip_competence", "mouth"),
            Plan("function_problem", "mouth"),
            Plan("cleft_or_syndrome", "mouth"),
            Plan("aesthetic_component", "mouth"),
        ),
    ),
    GroupPlan(
        "other",
        "Anything else",
        (Plan("skeletal_asymmetry", "mouth"), Plan("added_complexity", "entries")),
    ),
)

TOOTH_QUANTITIES: tuple[str, ...] = (
    "missing",
    "eruption",
    "blocked_out",
    "impacted",
    "supernumerary",
    "ankylosed",
    "anomalous",
    "transposed",
    "retained_primary",
    "submerged",
)
"""States of single teeth, edited tooth by tooth."""
OF_PRIMARY_TEETH: frozenset[str] = frozenset(("retained_primary", "submerged"))
PRIMARY_TOOTH_QUANTITIES: tuple[str, ...] = (
    "missing",
    "eruption",
    "ankylosed",
    "retained_primary",
    "submerged",
)
PERMANENT_TOOTH_QUANTITIES: tuple[str, ...] = tuple(q for q in TOOTH_QUANTITIES if q not in OF_PRIMARY_TEETH)
ALWAYS_ASKED: frozenset[str] = frozenset(("missing", "eruption"))
"""States that decide which teeth stand, whatever is chosen."""

WHOLE_MOUTH: tuple[str, ...] = (
    "posterior_open_bite",
    "crossbite",
    "midline_offset",
    "gap",
    "missing",
    "impacted",
    "supernumerary",
    "ankylosed",
    "anomalous",
    "transposed",
    "submerged",
    "skeletal_asymmetry",
)
"""What the one key for the whole mouth states as free where nothing is recorded yet."""
BESIDE_VALUES: tuple[str, ...] = ("overjet", "overbite")
"""Stated by the same key too, once a value of theirs stands."""

_KINDS: dict[str, RowKind] = {
    "tooth": "teeth",
    "cusp": "cusps",
    "contact": "contacts",
    "side": "sides",
    "arch": "arches",
    "segment": "segments",
    "mouth": "mouth",
}


def _besides() -> Iterator[Plan]:
    """A place for every quantity that no index reads, taken up only by what is recorded."""
    asked = {plan.quantity for group in ASKED_GROUPS for plan in group.plans}
    for key, quantity in QUANTITIES.items():
        if key not in asked and key not in TOOTH_QUANTITIES:
            yield _beside(quantity)


def _beside(quantity: Quantity) -> Plan:
    kind: RowKind = "entries" if quantity.repeats else _KINDS[quantity.site.kind]
    wide = kind in ("teeth", "cusps", "contacts", "segments")
    return Plan(quantity.key, kind, UPPER_LOWER if wide else WHOLE, unasked="away", wide=wide, drawn=False)


GROUPS: tuple[GroupPlan, ...] = (
    *ASKED_GROUPS,
    GroupPlan("besides", "Recorded besides", tuple(_besides())),
)

SHORT_LABELS: dict[str, dict[str, str]] = {
    "crossbite": {"none": "none", "edge": "edge", "upper_inside": "inside", "upper_outside": "outside"},
    "palatal_contact": {"trauma": "contact with injury"},
    "root_angulation": {"tipped": "tipped", "touching": "touching"},
    "supernumerary": {},
}
TOOTH_WORDS: dict[tuple[str, str], str] = {
    ("missing", "congenital"): "never formed",
    ("missing", "extracted"): "extracted",
    ("missing", "lost"): "lost",
    ("missing", "unknown"): "gone",
    ("eruption", "partial"): "part out",
    ("eruption", "unerupted"): "not out",
    ("eruption", "full"): "full",
    ("blocked_out", "labial"): "out, lip side",
    ("blocked_out", "lingual"): "out, tongue side",
    ("impacted", "yes"): "impacted",
    ("impacted", "tipped"): "held",
    ("impacted", "supernumerary"): "extra held",
    ("ankylosed", "yes"): "ankylosed",
    ("ankylosed", "unknown"): "ankylosed?",
    ("anomalous", "yes"): "unusual",
    ("transposed", "yes"): "transposed",
    ("retained_primary", "no_successor"): "kept",
    ("retained_primary", "overdue"): "overdue",
    ("submerged", "yes"): "submerged",
    ("submerged", "severe"): "deep",
}
"""Words in the rows of teeth, short enough for a narrow cell."""

SENSES: dict[str, str] = {"o": "open", "x": "reverse", "e": "edge to edge"}
DIRECTIONS: dict[str, tuple[tuple[str, str], ...]] = {
    "crowding": (("+", "short of space"), ("-", "space to spare")),
    "midline_offset": (("", "side?"), ("-", "lower to the right"), ("+", "lower to the left")),
    "upper_midline_face": (("", "side?"), ("-", "to the right"), ("+", "to the left")),
    "lower_midline_face": (("", "side?"), ("-", "to the right"), ("+", "to the left")),
}
"""Choice of direction in words beside a number that is stored with a sign; the first is offered."""
EXTRA_TEETH: tuple[str, ...] = ("18", "28", "38", "48")
