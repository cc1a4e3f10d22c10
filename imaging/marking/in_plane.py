"""Which quantities of a sheet one picture allows, and why it refuses the others.  Pure.

One picture is flat: only what lies in one plane, square to the line of sight and level with the scale, can be read from
it.  Occlusal views give widths, contacts and turns; side views give overbite and the relation of molars and canines of
that side; everything else is refused with its reason.

Source: published errors of photographs of casts (irregularity read from an occlusal photograph less the cast, limits of
agreement −0.26 to 0.95 mm looked at squarely, −0.74 to 2.04 mm at 110°); perspective and tilt by trigonometry.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from portfolio import sites, teeth
from portfolio.photographs import BY_KEY, RADIOGRAPHS
from portfolio.vocabulary import QUANTITIES

OCCLUSAL = {"upper": "upper", "lower": "lower", "casts_upper": "upper", "casts_lower": "lower"}
SIDE = {"right": "right", "left": "left", "casts_right": "right", "casts_left": "left"}
FRONT = frozenset({"front", "casts_front"})


@dataclass(frozen=True, slots=True)
class Taking:
    """How a quantity is taken from marks: with which kinds, where they are put, and what only the eye can say.

    `senses` are the signs with their words where the number alone does not tell the direction. `by_eye`: the marks only
    show what was looked at, and the person chooses the code.
    """

    quantity: str
    kinds: tuple[str, ...]
    how: str
    senses: tuple[tuple[str, str], ...] = ()
    by_eye: bool = False


_ARCH = (
    Taking("tooth_width", ("distance",), "From contact to contact of the tooth, its greatest width."),
    Taking(
        "contact_offset",
        ("distance", "from_line"),
        "Between the anatomic contact points of two neighbours; where there is a gap too, from a line along the arch "
        "through one of them square to the other.",
    ),
    Taking("gap", ("distance",), "Between the contact points of two neighbours, along the arch."),
    Taking("arch_segment", ("distance",), "Straight over the contacts of the piece."),
    Taking("support_zone", ("distance",), "Mesial of the first molar to distal of the lateral incisor."),
    Taking("intercanine_width", ("distance",), "Between the cusp tips of the canines."),
    Taking("intermolar_width", ("distance",), "Between the mesiobuccal cusp tips of the first molars."),
    Taking(
        "arch_depth",
        ("from_line",),
        "The line joins the mesial contacts of the first molars; the place is the contact of the central incisors.",
    ),
    Taking(
        "rotation",
        ("angle",),
        "Between the edge as it lies and as it should lie.",
        (("+", "mesial side turned toward the tongue"), ("-", "mesial side turned toward lip or cheek")),
    ),
)
_SIDE = (
    Taking(
        "overbite",
        ("from_line",),
        "The line runs through the upper edge, along the occlusal plane; the place is the edge of the lower tooth.",
        (("+", "overlap"), ("-", "open bite")),
    ),
    Taking(
        "molar_relation",
        ("distance", "line"),
        "From the mesiobuccal cusp of the upper first molar to the buccal groove of the lower one, along the occlusal plane.",
        by_eye=True,
    ),
    Taking(
        "molar_beyond",
        ("distance",),
        "From the mesiobuccal cusp of the upper first molar to where a full step would put it, along the occlusal plane.",
    ),
    Taking(
        "canine_relation",
        ("distance", "line"),
        "From the upper canine tip to the embrasure behind the lower canine, along the occlusal plane.",
        by_eye=True,
    ),
)

DEPTH = "runs along the line of sight, where a flat picture shows no length"
_ALWAYS: Mapping[str, str] = {
    "overjet": "It is a depth from front to back: in front and occlusal views it runs along the line of sight or is hidden, "
    "and a side view shows the outline of the nearest tooth instead of the pair. Measure it on the casts.",
    "curve_of_spee": "It is read under a flat plate on cusps of both sides; one picture shows them at different depths, each "
    "with another scale. Measure it on the casts.",
    "ridge_step": "The difference in height of two ridges runs along the line of sight of an occlusal view, and cheek cusps hide "
    "it from the side. Measure it on the casts.",
    "inclination_step": f"The difference in cusp height {DEPTH}, and needs a straight edge over both sides. Measure it on the casts.",
    "alignment_step": "It is judged against the line of the arch to half a millimetre, which is inside the error of a photograph.",
    "facing_gap": "It is an overjet tooth by tooth: a depth that one picture does not show.",
    "occlusal_gap": "The gap lies behind cheek cusps and at another depth than any scale. Measure it on the casts.",
    "relation_step": "It is judged to the millimetre against a position aimed at, at several depths along the curve of the arch. "
    "Measure it on the casts.",
    "posterior_open_bite": "The teeth concerned stand at different depths along the curve of the arch, each with another scale, "
    "and cheek cusps hide what they meet. Measure it on the casts.",
    "crowding": "It is a sum of many lengths round a curve. Record widths and segments; the space analysis adds them up.",
    "arch_available": "It runs round a curve, not straight between two places. Record the four segments instead.",
    "midline_offset": "The two midlines stand an overjet apart from front to back, so a camera a little to one side shifts one "
    "against the other.",
    "upper_midline_face": "Tooth and face lie at different depths, and a turned head shifts one against the other.",
    "lower_midline_face": "Tooth and face lie at different depths, and a turned head shifts one against the other.",
    "functional_shift": "It is the way between two positions of the jaw; one picture shows one of them.",
    "eruption_space": "It is asked beside a tooth that is not there to be seen; a cast shows the contacts it lies between.",
    "midline_share": "It is a share of the width of a lower incisor, which stands at another depth than the upper midline.",
    "overbite_cover": "The upper tooth stands in front of the lower one: a share of two lengths at different depths.",
}
_CLINICAL = "It is read at the patient, in motion or by touch; a picture shows one moment from one side."
_CEPHALOMETRIC = "It is read from a tracing of the lateral radiograph."
_NOT_MEASURED = "It is seen or known, not measured with marks."


def takings(view: str) -> tuple[Taking, ...]:
    """What may be taken over as findings from a picture of this view."""
    if view in OCCLUSAL:
        return _ARCH
    if view in SIDE:
        return _SIDE
    return ()


def taking(view: str, quantity: str) -> Taking | None:
    """How this view gives a quantity, or None where it is refused."""
    return next((one for one in takings(view) if one.quantity == quantity), None)


def refusal(view: str, quantity: str) -> str:
    """Why a picture of this view does not give a quantity, in words; empty where it does. KeyError for unknown ones."""
    known = QUANTITIES[quantity]
    if taking(view, quantity):
        return ""
    if known.group == "radiograph":
        return _CEPHALOMETRIC
    if quantity in _ALWAYS:
        return _ALWAYS[quantity]
    if known.group == "clinical":
        return _CLINICAL
    if quantity in {one.quantity for one in (*_ARCH, *_SIDE)}:
        return _of_the_view(view, side=quantity in {one.quantity for one in _SIDE})
    return _NOT_MEASURED


def _of_the_view(view: str, *, side: bool) -> str:
    wanted = "a side view" if side else "a view of one arch, square to it"
    known = BY_KEY.get(view)
    if known is None:
        return f"The picture has no view yet. It can be read in {wanted}."
    if known.band == RADIOGRAPHS:
        return f"A radiograph enlarges each depth differently and lays teeth over each other. It is read in {wanted}."
    if known.faces:
        return f"A face turns and curves away from the plane of any scale. It is read in {wanted}."
    if view in FRONT and side:
        return f"From the front, upper and lower teeth stand at different depths. It is read in {wanted}."
    if view in FRONT:
        return f"From the front, the arch curves away along the line of sight. It is read in {wanted}."
    return f"This view does not look squarely at the plane it lies in. It is read in {wanted}."


def site_fault(view: str, site: str) -> str:
    """What is wrong with a site in a picture of this view, in words; empty when it can be seen there."""
    if view in OCCLUSAL:
        arch = OCCLUSAL[view]
        if all(_arch_of(one) == arch for one in sites.teeth_of(site) or (site,)):
            return ""
        return f"This picture shows the {arch} arch."
    side = SIDE.get(view, "")
    shown = site == side or all(_side_of(one) == side for one in sites.teeth_of(site) or (site,))
    return "" if shown else f"This picture shows the {side} side."


def _arch_of(site: str) -> str:
    return teeth.arch(site) if teeth.is_tooth(site) else site.partition("-")[0]


def _side_of(site: str) -> str:
    return teeth.side(site) if teeth.is_tooth(site) else site


def refusals(view: str) -> tuple[tuple[str, str], ...]:
    """Labels and reasons of the lengths and angles of casts that this view refuses, for the page."""
    wanted = ("front", "behind", "sides", "midline", "arches", "contacts", "outcome")
    return tuple(
        (one.label, refusal(view, one.key))
        for one in QUANTITIES.values()
        if one.group in wanted and one.unit in ("mm", "%") and refusal(view, one.key)
    )
