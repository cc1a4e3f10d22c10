"""Where on the casts a finding was taken: in words, and as spots on teeth for a drawing.  Pure.

The words follow the definitions of the quantities (`portfolio/quantities`); nothing is told that the finding does not
hold, so an opposing tooth is called the opponent and not named.
"""

from collections.abc import Callable
from dataclasses import dataclass

from portfolio import sites, teeth
from portfolio.finding_sheet import Finding
from portfolio.vocabulary import QUANTITIES

Surface = str
"""A part of a crown as seen from the chewing side: middle, mesial, distal, outer (labial or buccal), inner, or a cusp."""
Spot = tuple[str, Surface]
"""A tooth and a part of its crown."""
GROUPS = ("front", "behind", "sides", "midline", "arches", "contacts", "teeth", "outcome")
"""Groups of quantities that are read from casts; others are read from a radiograph, the patient or notes."""
NOT_ON_CASTS = ("tracing", "clinical", "history", "computed")
"""Methods by which a finding of these groups was taken elsewhere."""
CUSP_WORDS = {
    "mb": "mesiobuccal cusp",
    "db": "distobuccal cusp",
    "ml": "mesiolingual cusp",
    "dl": "distolingual cusp",
    "dc": "distal cusp",
    "b": "buccal cusp",
    "l": "lingual cusp",
}
CUSP_SURFACES: dict[str, Surface] = {
    "b": "outer",
    "l": "inner",
    "mb": "mb",
    "db": "db",
    "ml": "ml",
    "dl": "dl",
    "dc": "dc",
}


@dataclass(frozen=True, slots=True)
class Taken:
    """Where a finding was taken: words that go on after "taken", teeth to fill, spots, and spots that are joined."""

    words: str
    teeth: tuple[str, ...]
    spots: tuple[Spot, ...] = ()
    joins: tuple[tuple[Spot, Spot], ...] = ()


class _Names:
    """Sites in the reader's notation."""

    def __init__(self, notation: str) -> None:
        self._notation = notation

    def __call__(self, site: str) -> str:
        return teeth.shown_site(site, self._notation)


Tell = Callable[[Finding, _Names], Taken]


def taken_at(finding: Finding, notation: str) -> Taken | None:
    """Where a finding was taken; None for one that no place of the casts shows, statements of regions among them."""
    quantity = QUANTITIES.get(finding.quantity)
    if quantity is None or quantity.group not in GROUPS or finding.is_statement or finding.value == "unknown":
        return None
    if finding.method in NOT_ON_CASTS or finding.quantity in (
        "root_angulation",
        "functional_shift",
        "shift_direction",
        "gap_plan",
    ):
        return None
    tell = _TOLD.get(finding.quantity)
    if tell is not None:
        return tell(finding, _Names(notation))
    named = sites.teeth_of(finding.site)
    return Taken(f"at the place of {_Names(notation)(finding.site)}", named) if named else None


def facing(tooth: str, neighbour: str) -> Surface:
    """The side of a tooth that faces a neighbour of its arch."""
    if teeth.side(tooth) != teeth.side(neighbour) or teeth.number(neighbour) < teeth.number(tooth):
        return "mesial"
    return "distal"


def opponent(tooth: str) -> str:
    """The place across the bite: same side, same number."""
    place = teeth.place(tooth)
    return {"1": "4", "2": "3", "3": "2", "4": "1"}[place[0]] + place[1]


def _sign(finding: Finding) -> int:
    number = finding.number
    return (number > 0) - (number < 0)


def _overjet(finding: Finding, name: _Names) -> Taken:
    tooth, other = finding.site, opponent(finding.site)
    upper, lower = (tooth, "outer"), (other, "outer")
    words = {
        1: f"from the labial face of the lower opponent to the labial limit of the edge of {name(tooth)}, parallel to "
        "the occlusal plane",
        0: f"at the edge of {name(tooth)}, which meets that of its lower opponent",
        -1: f"from the labial face of {name(tooth)} to the labial limit of the edge of the lower opponent, parallel to "
        "the occlusal plane",
    }[_sign(finding)]
    return Taken(words, (tooth,), (upper, lower), ((upper, lower),))


def _overbite(finding: Finding, name: _Names) -> Taken:
    tooth, other = finding.site, opponent(finding.site)
    upper, lower = (tooth, "middle"), (other, "middle")
    words = {
        1: f"on the labial face of the lower opponent, from the level of the edge of {name(tooth)} to the lower edge",
        0: f"at the edge of {name(tooth)}, level with that of its lower opponent",
        -1: f"from the edge of {name(tooth)} to the edge of the lower opponent, square to the occlusal plane",
    }[_sign(finding)]
    return Taken(words, (tooth,), (upper, lower), ((upper, lower),))


def _open_behind(finding: Finding, name: _Names) -> Taken:
    tooth = finding.site
    upper, lower = (tooth, "middle"), (opponent(tooth), "middle")
    words = f"from the cusp tip of {name(tooth)} to the opposing tooth, square to the occlusal plane"
    return Taken(words, (tooth,), (upper, lower), ((upper, lower),))


def _crossbite(finding: Finding, name: _Names) -> Taken:
    tooth = finding.site
    mine = "inner" if finding.value in ("upper_outside", "buccal") else "outer"
    upper, lower = (tooth, mine), (opponent(tooth), "outer")
    cusp = "lingual" if mine == "inner" else "buccal"
    words = f"at the {cusp} cusp of {name(tooth)} against the buccal cusp of the opposing tooth"
    return Taken(words, (tooth,), (upper, lower), ((upper, lower),))


def _contact(across: str) -> Tell:
    def tell(finding: Finding, name: _Names) -> Taken:
        one, other = sites.teeth_of(finding.site)
        first, second = facing(one, other), facing(other, one)
        words = (
            f"from the {first} contact point of {name(one)} to the {second} one of {name(other)}, {across}"
        )
        ends = (one, first), (other, second)
        return Taken(words, (one, other), ends, (ends,))

    return tell


def _width(finding: Finding, name: _Names) -> Taken:
    ends = (finding.site, "mesial"), (finding.site, "distal")
    words = f"from the mesial to the distal contact point of {name(finding.site)}"
    return Taken(words, (finding.site,), ends, (ends,))


def _relation(which: int, upper_part: str, surface: Surface, lower_part: str) -> Tell:
    def tell(finding: Finding, name: _Names) -> Taken:
        quadrants = {"right": ("1", "4"), "left": ("2", "3")}[finding.site]
        upper, lower = (f"{quadrant}{which}" for quadrant in quadrants)
        spots = (upper, surface), (lower, "outer")
        words = f"at the {upper_part} of {name(upper)} against {lower_part.format(name(lower))}"
        return Taken(words, (upper, lower), spots, (spots,))

    return tell


def _side(finding: Finding, name: _Names) -> Taken:
    listed = [
        t for t in teeth.PERMANENT if teeth.side(t) == finding.site and teeth.is_posterior(t) and t[1] != "8"
    ]
    upper, lower = (f"{name(one)} to {name(two)}" for one, two in _ends(listed))
    return Taken(f"along {upper} against {lower}", tuple(listed))


def _ends(listed: list[str]) -> list[tuple[str, str]]:
    """First and last tooth of the upper and of the lower arch."""
    arches = [[t for t in listed if teeth.arch(t) == arch] for arch in sites.ARCHES]
    return [(one[0], one[-1]) for one in arches]


def _arch(words: str) -> Tell:
    def tell(finding: Finding, name: _Names) -> Taken:
        right, left = ("16", "26") if finding.site == "upper" else ("46", "36")
        spots = (right, "mesial"), (left, "mesial")
        listed = tuple(t for t in teeth.PERMANENT if teeth.arch(t) == finding.site and teeth.number(t) < 6)
        return Taken(words.format(name(right), name(left)), listed, spots)

    return tell


def _segment(finding: Finding, name: _Names) -> Taken:
    """A straight piece of an arch: behind the canine from the first molar on, in front from canine to midline."""
    arch, side, part = finding.site.split("-")
    quadrant = {"upper-right": "1", "upper-left": "2", "lower-left": "3", "lower-right": "4"}[
        f"{arch}-{side}"
    ]
    if part == "front":
        begins, stops, within = (f"{quadrant}3", "distal"), (f"{quadrant}1", "mesial"), "321"
        words = f"from the distal contact of {name(begins[0])} to the midline"
    else:
        last, within = ("2", "543") if finding.quantity == "support_zone" else ("3", "54")
        begins, stops = (f"{quadrant}6", "mesial"), (f"{quadrant}{last}", "distal")
        words = f"from the mesial contact of {name(begins[0])} to the distal contact of {name(stops[0])}"
    listed = tuple(f"{quadrant}{number}" for number in within)
    return Taken(f"straight, {words}", listed, (begins, stops), ((begins, stops),))


def _mouth(words: str, *spots: Spot) -> Tell:
    def tell(finding: Finding, name: _Names) -> Taken:
        tell_words = words.format(*(name(tooth) for tooth, _ in spots))
        return Taken(tell_words, tuple(dict.fromkeys(tooth for tooth, _ in spots)), spots)

    return tell


def _at_tooth(words: str, *surfaces: Surface) -> Tell:
    def tell(finding: Finding, name: _Names) -> Taken:
        return Taken(
            words.format(name(finding.site)), (finding.site,), tuple((finding.site, s) for s in surfaces)
        )

    return tell


def _ridges(finding: Finding, name: _Names) -> Taken:
    one, other = sites.teeth_of(finding.site)
    ends = (one, facing(one, other)), (other, facing(other, one))
    words = f"at the marginal ridges where {name(one)} and {name(other)} meet, in height"
    return Taken(words, (one, other), ends)


def _alignment(finding: Finding, name: _Names) -> Taken:
    tooth = finding.site
    part, surface = _ALIGNED[teeth.arch(tooth), teeth.is_posterior(tooth)]
    words = f"at the {part} of {name(tooth)}, against the line of its neighbours"
    return Taken(words, (tooth,), ((tooth, surface),))


_ALIGNED: dict[tuple[str, bool], tuple[str, Surface]] = {
    ("upper", False): ("edge and lingual face", "inner"),
    ("lower", False): ("labial side of the edge", "outer"),
    ("upper", True): ("central groove", "middle"),
    ("lower", True): ("buccal cusps", "outer"),
}


def _facing_gap(finding: Finding, name: _Names) -> Taken:
    tooth = finding.site
    if teeth.is_posterior(tooth):
        words = f"from the buccal cusp of the lower opponent to the middle of {name(tooth)}, across the arch"
        return Taken(words, (tooth,), ((tooth, "middle"),))
    words = f"from the edge of the lower opponent to the lingual face of {name(tooth)}"
    return Taken(words, (tooth,), ((tooth, "inner"),))


def _relation_step(finding: Finding, name: _Names) -> Taken:
    tooth = finding.site
    if tooth[1] in "678":
        words = f"from the mesiobuccal cusp of {name(tooth)} along the arch to the groove it should meet"
        return Taken(words, (tooth,), ((tooth, "mb"),))
    cusp = "buccal cusp" if teeth.is_posterior(tooth) else "cusp"
    words = f"from the tip of the {cusp} of {name(tooth)} along the arch to the embrasure it should meet"
    return Taken(words, (tooth,), ((tooth, "outer"),))


def _cusp(finding: Finding, name: _Names) -> Taken:
    tooth, _, cusp = finding.site.partition(".")
    words = f"from the {CUSP_WORDS[cusp]} of {name(tooth)} to the opposing tooth"
    return Taken(words, (tooth,), ((tooth, CUSP_SURFACES[cusp]),))


_TOLD: dict[str, Tell] = {
    "overjet": _overjet,
    "overbite": _overbite,
    "overbite_cover": _mouth("at the lower incisor that is covered most", ("42", "outer"), ("41", "outer"), ("31", "outer"), ("32", "outer")),
    "palatal_contact": _mouth("behind the upper incisors, where the lower edges reach the palate", ("12", "inner"), ("11", "inner"), ("21", "inner"), ("22", "inner")),
    "posterior_open_bite": _open_behind,
    "crossbite": _crossbite,
    "buccal_interdigitation": _side,
    "buccal_contact": _side,
    "molar_relation": _relation(6, "mesiobuccal cusp", "mb", "the buccal groove of {}"),
    "molar_beyond": _relation(6, "mesiobuccal cusp", "mb", "the embrasure of the full step at {}"),
    "canine_relation": _relation(3, "tip", "middle", "{} and its distal neighbour"),
    "midline_offset": _mouth("between the contact of {} with {} and that of {} with {}", ("11", "mesial"), ("21", "mesial"), ("41", "mesial"), ("31", "mesial")),
    "midline_share": _mouth("between the contact of {} with {} and that of {} with {}", ("11", "mesial"), ("21", "mesial"), ("41", "mesial"), ("31", "mesial")),
    "upper_midline_face": _mouth("at the contact of {} with {}", ("11", "mesial"), ("21", "mesial")),
    "lower_midline_face": _mouth("at the contact of {} with {}", ("41", "mesial"), ("31", "mesial")),
    "crowding": _arch("along the arch, from the mesial contact of {} to that of {}"),
    "arch_available": _arch("along the arch, from the mesial contact of {} to that of {}"),
    "arch_segment": _segment,
    "support_zone": _segment,
    "tooth_width": _width,
    "contact_offset": _contact("across the arch"),
    "gap": _contact("along the arch"),
    "eruption_space": _at_tooth("between the contact points that face the place of {}", "mesial", "distal"),
    "alignment_step": _alignment,
    "ridge_step": _ridges,
    "inclination_step": _at_tooth("between the buccal and the lingual cusps of {}, in height", "outer", "inner"),
    "facing_gap": _facing_gap,
    "occlusal_gap": _cusp,
    "relation_step": _relation_step,
}  # fmt: skip
