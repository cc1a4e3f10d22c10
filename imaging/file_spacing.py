"""Which of the spacings that a file states may be a scale, and why: rules of DICOM PS3.3 section 10.7.1, and ours.

Spacings come as texts, down before across (PS3.3 10.7.1.3), and stand in the facts that are kept of a file.  A scale is
used by itself only when the file says that it is that of the patient; everything else is offered to a person.  Pure.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from imaging.calibration import FACTOR_SD_PERCENT, USUAL_FACTOR, Origin, Scale, Size, by_magnification

PIXEL, IMAGER, SCANNED = "PixelSpacing", "ImagerPixelSpacing", "NominalScannedPixelSpacing"
NAMES = {
    PIXEL: "pixel spacing",
    IMAGER: "spacing on the detector",
    SCANNED: "spacing of the scanned film",
}
FACTOR_KEY, HOW_KEY = "EstimatedRadiographicMagnificationFactor", "PixelSpacingCalibrationType"
SAME = 0.0005
"""Spacings that differ by less than this share are the same, rounded differently (choice, no source)."""
AGREEING = 0.02
"""A stated magnification and the one that two spacings imply may differ by that share (choice, no source)."""
LARGEST_MM = 2.0
"""No radiograph of a head and no photograph of teeth is that coarse; captures of screens state such numbers (choice)."""
MEASURED_SD_PERCENT = 0.6
"""Of a spacing that an object of known size or a flat scanner gave: the smallest difference found between repeated
films (Rino Neto et al. 2013, read in an excerpt), taken as one standard deviation (choice)."""

NOTHING_OF_THE_PATIENT = "the file states no size in the patient that could be used"
BESIDE_CORRECTED = "it stands beside the corrected one"


@dataclass(frozen=True, slots=True)
class Told:
    """One spacing as the file states it; `fault` says why it is none, empty when it can be one."""

    key: str
    name: str
    down: float
    across: float
    text: str
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Offer:
    """A scale from the file; `why` says what speaks for it. `by_itself`: used unless a person chooses otherwise."""

    key: str
    scale: Scale
    why: str
    by_itself: bool = False


@dataclass(frozen=True, slots=True)
class FileSpacing:
    """All that a file says of its scale: what it states, what may be used, and what does not fit."""

    told: tuple[Told, ...]
    offers: tuple[Offer, ...]
    flags: tuple[str, ...]
    aspect: float
    """How many times wider than high a pixel is; 1 where the file does not say."""

    @property
    def used(self) -> Offer | None:
        """The scale that is used where no person has chosen one."""
        return next((offer for offer in self.offers if offer.by_itself), None)

    @property
    def film(self) -> Scale | None:
        """The size on the film or detector, where the file states it."""
        return next((offer.scale for offer in self.offers if offer.scale.size == Size.FILM), None)


def said_by(facts: Mapping[str, Any]) -> FileSpacing:
    """What the kept facts of a file come to."""
    told = tuple(_told(key, facts) for key in NAMES if key in facts)
    good = {one.key: one for one in told if not one.fault}
    film = good.get(IMAGER) or good.get(SCANNED)
    factor, flags = _factor(facts)
    offers: list[Offer] = []
    if PIXEL in good:
        offer, more = _of_pixels(good[PIXEL], film, facts.get(HOW_KEY, ""))
        offers.append(offer)
        flags += more
    if film is not None and not any(offer.scale.size == Size.FILM for offer in offers):
        corrected = any(offer.by_itself for offer in offers)
        offers.append(_of_film(film, BESIDE_CORRECTED if corrected else NOTHING_OF_THE_PATIENT))
    if film is not None and factor is not None:
        offers.append(_of_factor(film, factor))
        if PIXEL in good:
            flags += _factor_flags(good[PIXEL], film, factor)
    elif factor is not None and PIXEL in good:
        flags.append(
            f"It states a magnification of {factor:g} without a spacing on the detector, so that nobody can tell whether "
            "the pixel spacing allows for it already."
        )
    return FileSpacing(told, tuple(offers), tuple(flags), _aspect(good, facts))


def _told(key: str, facts: Mapping[str, Any]) -> Told:
    text = " by ".join(facts[key])
    name = NAMES[key]
    try:
        down, across = (float(one) for one in facts[key])
    except ValueError:
        return Told(key, name, 0, 0, text, "two numbers are needed, down and across")
    if not (math.isfinite(down) and math.isfinite(across)):
        return Told(key, name, 0, 0, text, "no number of millimetres")
    if down <= 0 or across <= 0:
        return Told(key, name, down, across, text, "a spacing must be greater than 0")
    if max(down, across) > LARGEST_MM:
        fault = f"more than {LARGEST_MM:g} mm a pixel is no picture of a head or of teeth"
        return Told(key, name, down, across, text, fault)
    if down == across == 1 and (
        facts.get("stored_as") == "secondary capture" or facts.get("modality") == "OT"
    ):
        return Told(
            key,
            name,
            down,
            across,
            text,
            "programs that capture a screen or film put 1 by 1 where nothing is known",
        )
    return Told(key, name, down, across, text)


def _of_pixels(pixel: Told, film: Told | None, how: str) -> tuple[Offer, list[str]]:
    """What a pixel spacing is (PS3.3 10.7.1.1 and 10.7.1.2)."""
    if film is None:
        return _without_film(pixel, how), []
    if _same(pixel, film):
        flags = []
        if how:
            flags.append(
                f"It says that the pixel spacing is corrected ({how}), yet it is the {film.name}: it is taken as uncorrected."
            )
        return _of_film(
            film, f"the pixel spacing is the same as the {film.name}, so it was not corrected"
        ), flags
    implied = film.down / pixel.down
    flag = f"The pixel spacing ({pixel.text}) and the {film.name} ({film.text}) differ by a factor of {implied:.3f}."
    low, high = USUAL_FACTOR
    if not low < implied <= high:
        flag += f" A magnification of {low:g} to {high:g} would be usual: the spacing is not used by itself."
        return Offer(
            "pixel",
            _scale(pixel, Size.UNKNOWN, FACTOR_SD_PERCENT, "Pixel spacing of the file."),
            "the two spacings do not fit each other",
        ), [flag]
    why = f"it differs from the {film.name}, so it was corrected for magnification"
    return Offer("pixel", _corrected(pixel, how), f"{why}{_how_words(how)}", by_itself=True), [flag]


def _without_film(pixel: Told, how: str) -> Offer:
    if how:
        return Offer(
            "pixel",
            _corrected(pixel, how),
            f"the file says that it is corrected{_how_words(how)}",
            by_itself=True,
        )
    scale = _scale(
        pixel,
        Size.UNKNOWN,
        FACTOR_SD_PERCENT,
        "Pixel spacing of the file, which does not say whether it is corrected for magnification.",
    )
    return Offer(
        "pixel", scale, "the file does not say whether it is that of the patient or that on the detector"
    )


def _corrected(pixel: Told, how: str) -> Scale:
    sd = MEASURED_SD_PERCENT if how == "FIDUCIAL" else FACTOR_SD_PERCENT
    return _scale(pixel, Size.NATURAL, sd, f"Pixel spacing of the file{_how_words(how)}.")


def _of_film(film: Told, why: str = NOTHING_OF_THE_PATIENT) -> Offer:
    sd = MEASURED_SD_PERCENT if film.key == SCANNED else 0.0
    scale = _scale(film, Size.FILM, sd, f"{film.name.capitalize()}, as the file states it.")
    return Offer("film", scale, f"{why}; lengths are those on the film and are labelled so")


def _of_factor(film: Told, factor: float) -> Offer:
    scale = by_magnification(_of_film(film).scale, factor)
    return Offer(
        "factor",
        scale,
        f"the file states a magnification of {factor:g} beside the {film.name}; it is an estimate",
    )


def _factor(facts: Mapping[str, Any]) -> tuple[float | None, list[str]]:
    if FACTOR_KEY not in facts:
        return None, []
    factor, (low, high) = float(facts[FACTOR_KEY][0]), USUAL_FACTOR
    if low <= factor <= high:
        return factor, []
    return None, [
        f"It states a magnification of {factor:g}; {low:g} to {high:g} would be usual, so it is left aside."
    ]


def _factor_flags(pixel: Told, film: Told, factor: float) -> list[str]:
    implied = film.down / pixel.down
    if _same(pixel, film) or abs(implied / factor - 1) <= AGREEING:
        return []
    return [f"It states a magnification of {factor:g}, and its two spacings imply {implied:.3f}."]


def _scale(told: Told, size: Size, sd: float, words: str) -> Scale:
    return Scale(told.across, told.down, sd, Origin.FILE, size, words)


def _how_words(how: str) -> str:
    return {
        "GEOMETRY": ", for an assumed depth (GEOMETRY)",
        "FIDUCIAL": ", by an object of known size at that depth (FIDUCIAL)",
    }.get(how, "")


def _same(one: Told, other: Told) -> bool:
    return all(
        math.isclose(a, b, rel_tol=SAME) for a, b in ((one.down, other.down), (one.across, other.across))
    )


def _aspect(good: Mapping[str, Told], facts: Mapping[str, Any]) -> float:
    """From spacings, else from the pixel aspect ratio, which is down before across too (PS3.3 C.7.6.3.1.7)."""
    for key in NAMES:
        if key in good:
            return good[key].across / good[key].down
    try:
        down, across = (float(one) for one in facts.get("PixelAspectRatio", ()))
    except ValueError:
        return 1.0
    return across / down if down > 0 and across > 0 else 1.0
