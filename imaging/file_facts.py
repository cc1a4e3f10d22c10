"""The few facts that are kept of a file beside its pixels, as `RecordItem.file_facts` holds them, and in words.

An allow-list: no free text, no date, no number of a person or machine is among them. Every fact is kept only when it
has the form told here; a key that is missing was not stated, or not in that form.

Spacings are those of the ORIGINAL picture as `RecordItem.width` and `height` count it: upright, before anything was done
to it, never of a rendition that was made smaller. Each is a list of two texts, millimetres a pixel, DOWN BEFORE ACROSS
(PS3.3 section 10.7.1.3), left as the file wrote them: a zero, a negative or a senseless one is kept, so that it can be
told. `float` takes each of these texts. DICOM pictures are not turned when they are taken in, so rows and columns stay
what the file calls so; where a TIFF, JPEG or PNG was turned upright by a quarter, its two texts are exchanged with it.
What a spacing may be used for is decided in `imaging.file_spacing`.
"""

from collections.abc import Mapping
from typing import Any, TypedDict

LOWEST_DPI, HIGHEST_DPI = 10.0, 25_400.0
"""Pixels an inch between which a resolution is one: 2.5 mm to a micrometre a pixel (choice, no source)."""


class FileFacts(TypedDict, total=False):
    """All keys there are. Capitals: the keyword of the DICOM attribute (PS3.6) that the value was read from."""

    frame: int
    """Which page or frame was taken, from 1; only of a file that holds several."""
    frames: int
    stored_as: str
    """Of a DICOM file what it was stored as, in words of `dicom_files.TAKEN`."""
    modality: str
    """Its modality, 2 to 8 capital letters, or empty."""
    window: str
    """How deeper greys became 8 bits, in words."""
    inverted: bool
    """Whether dark and bright were exchanged when it was taken in, and why (`inversion`, words; empty if not)."""
    inversion: str
    PatientOrientation: list[str]
    """Two texts of the letters APLRHF: to which side of the patient rows (to the right) and columns (down) lead."""
    BurnedInAnnotation: str
    """YES or NO, as the file says."""
    PixelSpacing: list[str]
    """(0028,0030), two texts in mm, down before across: that of the patient, if `PixelSpacingCalibrationType` says so."""
    PixelSpacingCalibrationType: str
    """(0028,0A02): GEOMETRY or FIDUCIAL."""
    ImagerPixelSpacing: list[str]
    """(0018,1164), two texts in mm, down before across: at the front of the detector."""
    NominalScannedPixelSpacing: list[str]
    """(0018,2010), two texts in mm, down before across: on the film that was scanned."""
    ResolutionSpacing: list[str]
    """Two texts in mm, down before across, from the resolution that a TIFF, JPEG or PNG states with a unit of length.

    Scanners state that of the film; cameras and programs put 72, 96 or 300 pixels an inch where nothing is known, so it
    is never a scale by itself.
    """
    PixelAspectRatio: list[str]
    """(0028,0034), two whole numbers as texts: height and width of a pixel, where no spacing is stated."""
    EstimatedRadiographicMagnificationFactor: list[str]
    """(0018,1114), one text: distance source to detector by source to patient."""
    DistanceSourceToDetector: list[str]
    """(0018,1110), one text, in mm."""
    DistanceSourceToPatient: list[str]
    """(0018,1111), one text, in mm."""


def resolution_spacing(across: float, down: float, *, quarter_turned: bool) -> FileFacts:
    """The fact for a resolution in pixels an inch, as the file lies; empty for one that cannot be."""
    if not all(LOWEST_DPI <= one <= HIGHEST_DPI for one in (across, down)):
        return {}
    texts = [f"{25.4 / one:.6g}" for one in (down, across)]
    return {"ResolutionSpacing": texts[::-1] if quarter_turned else texts}


_WAYS = {"A": "front", "P": "back", "L": "left", "R": "right", "H": "head", "F": "feet"}
SPACING_NAMES = {
    "PixelSpacing": "pixel spacing",
    "ImagerPixelSpacing": "spacing on the detector",
    "NominalScannedPixelSpacing": "spacing of the scanned film",
}
_DISTANCES = {
    "DistanceSourceToDetector": "distance from the source to the detector",
    "DistanceSourceToPatient": "distance from the source to the patient",
}
_KNOWN_HOW = {
    "GEOMETRY": "corrected for an assumed depth",
    "FIDUCIAL": "corrected by an object of known size",
}


def in_words(facts: Mapping[str, Any]) -> tuple[str, ...]:
    """One sentence for each fact, for the page of the picture; empty for a file that said nothing."""
    words = []
    if facts.get("frames"):
        words.append(f"Number {facts['frame']} of the {facts['frames']} pages or frames of the file.")
    if facts.get("stored_as"):
        modality = f" (modality {facts['modality']})" if facts.get("modality") else ""
        words.append(f"DICOM, stored as a {facts['stored_as']}{modality}.")
    if facts.get("window"):
        words.append(f"Greys: {facts['window']}.")
    if facts.get("inverted"):
        words.append(f"Inverted when taken in: {facts['inversion']}.")
    words += _sides(facts.get("PatientOrientation", ()))
    for key, name in SPACING_NAMES.items():
        if key in facts:
            how = (
                _KNOWN_HOW.get(facts.get("PixelSpacingCalibrationType", ""), "")
                if key == "PixelSpacing"
                else ""
            )
            down_across = " by ".join(facts[key])
            words.append(
                f"It states a {name} of {down_across} mm, down by across{', ' + how if how else ''}."
            )
    if "ResolutionSpacing" in facts:
        words.append(
            f"Its resolution comes to {' by '.join(facts['ResolutionSpacing'])} mm a pixel, down by across: that of the film "
            "if it was scanned; cameras and programs put any number there."
        )
    if "EstimatedRadiographicMagnificationFactor" in facts:
        words.append(f"It states a magnification of {facts['EstimatedRadiographicMagnificationFactor'][0]}.")
    words += [
        f"It states a {name} of {facts[key][0]} mm." for key, name in _DISTANCES.items() if key in facts
    ]
    if facts.get("BurnedInAnnotation") == "YES":
        words.append("It says itself that names or numbers are burned into the picture: crop or mask them.")
    return tuple(words)


def _sides(ways: Any) -> list[str]:
    """Which way the right and the lower edge of the stored picture point (PS3.3 C.7.6.1.1.1)."""
    if len(ways) != 2:
        return []
    right, below = (" and ".join(_WAYS[letter] for letter in way) for way in ways)
    upside = " It lies upside down: turn it twice." if "H" in ways[1] else ""
    return [f"As stored, its right edge is the patient's {right}, its lower edge the {below}.{upside}"]
