"""The views of a pictorial record, in three bands: faces; right, front, left; upper and lower arch; then further ones.

Common practice, no source: which views a record holds. Boards ask for more or fewer; their instructions prevail.
"""

from collections.abc import Mapping
from dataclasses import dataclass

RADIOGRAPHS = 5
WITNESS = 6


@dataclass(frozen=True, slots=True)
class View:
    """One view. `digit` is the key that assigns it; `band` 1 faces, 2 teeth together, 3 arches, 4 further, 5 radiographs, 6 witness.

    `seen_from` tells how left and right are checked: "front" (the patient's right is on the left of the picture),
    "right" or "left" (front teeth or nose point to that side of the picture), "side" (to either), "" (not asked).
    `text_asked`: names and numbers are often burned or written into such pictures, so a person looks before print.
    """

    key: str
    label: str
    band: int
    digit: str
    usual: bool = True
    faces: bool = False
    seen_from: str = "front"
    text_asked: bool = False

    @property
    def may_be_absent(self) -> bool:
        """Whether a record is asked about this view, so that it can be stated as not taken."""
        return self.usual or self.band == RADIOGRAPHS


VIEWS: tuple[View, ...] = (
    View("face_rest", "Face at rest", 1, "1", faces=True),
    View("face_smiling", "Face smiling", 1, "2", faces=True),
    View("profile", "Profile", 1, "3", faces=True, seen_from="side"),
    View("right", "Right side", 2, "4", seen_from="right"),
    View("front", "Front", 2, "5"),
    View("left", "Left side", 2, "6", seen_from="left"),
    View("upper", "Upper arch", 3, "7"),
    View("lower", "Lower arch", 3, "8"),
    View("oblique", "Oblique face", 4, "9", usual=False, faces=True, seen_from="side"),
    View("profile_smiling", "Profile smiling", 4, "0", usual=False, faces=True, seen_from="side"),
    View("overjet", "Overjet close-up", 4, "o", usual=False, seen_from="side"),
    View("casts_right", "Casts, right side", 4, "", usual=False, seen_from="right", text_asked=True),
    View("casts_front", "Casts, front", 4, "", usual=False, text_asked=True),
    View("casts_left", "Casts, left side", 4, "", usual=False, seen_from="left", text_asked=True),
    View("casts_upper", "Casts, upper arch", 4, "", usual=False, text_asked=True),
    View("casts_lower", "Casts, lower arch", 4, "", usual=False, text_asked=True),
    View("casts_base", "Casts, base", 4, "", usual=False, seen_from="", text_asked=True),
    View("panoramic", "Panoramic radiograph", RADIOGRAPHS, "p", usual=False, text_asked=True),
    View("lateral", "Lateral radiograph", RADIOGRAPHS, "s", usual=False, seen_from="side", text_asked=True),
    View("radiograph", "Other radiograph", RADIOGRAPHS, "r", usual=False, seen_from="", text_asked=True),
    View("witness", "Witness picture", WITNESS, "", usual=False, seen_from="", text_asked=True),
)
BY_KEY = {view.key: view for view in VIEWS}
BANDS = {
    1: "Faces",
    2: "Right, front, left",
    3: "Upper and lower arch",
    4: "Further views",
    RADIOGRAPHS: "Radiographs",
    WITNESS: "Witness pictures",
}
QUALITY = {
    "sharp": "sharp",
    "framed": "well framed",
    "lit": "evenly lit",
    "level": "level",
    "dry": "clean and dry",
}
"""The ticks of quality of a photograph; common practice, no source."""
RADIOGRAPH_QUALITY = {
    "positioned": "well positioned",
    "framed": "whole area shown",
    "contrast": "good contrast",
    "sharp": "no motion blur",
    "ruler": "ruler visible",
}
"""The ticks of quality of a radiograph; common practice, no source."""


def quality_ticks(view: str) -> Mapping[str, str]:
    """The ticks of quality that a picture of this view is asked for, by key."""
    band = BY_KEY[view].band if view in BY_KEY else 0
    return RADIOGRAPH_QUALITY if band == RADIOGRAPHS else QUALITY


def side_question(view: View) -> str:
    """The first of the two questions about left and right."""
    if view.seen_from == "front":
        return "On which side of the picture is the patient's right?"
    return "To which side of the picture do the front teeth or the nose point?"


def side_fault(view: View, first: str, second: str) -> str:
    """What is wrong when the two answers do not fit the view, in words; empty when they do.

    `first` is "left" or "right" of the picture; `second` says whether a mark of known side (a missing or crowded
    tooth, a filling, a mole) lies where it should: "mark", "no_mark" (none is known) or "wrong". A picture of the
    right side of the mouth has the front teeth on its right: it follows from looking at that cheek.
    """
    expected = {"front": "left", "right": "right", "left": "left", "side": first}[view.seen_from]
    way_out = "Mirror it, or assign it to another view, and answer again."
    if first not in ("left", "right") or second not in ("mark", "no_mark", "wrong"):
        return "Answer both questions."
    if first != expected and view.seen_from == "front":
        return f"The patient's right belongs on the left of this view; here it is a mirror image. {way_out}"
    if first != expected:
        return (
            f"In a view of the {view.seen_from} side they point to the {expected} of the picture. {way_out}"
        )
    if second == "wrong":
        return f"The mark lies on the wrong side, so left and right are exchanged. {way_out}"
    return ""
