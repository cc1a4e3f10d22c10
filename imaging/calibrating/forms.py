"""The forms of a picture's scale: fields that take 3.5 and 3,5, and what they come to."""

import math
import re
import uuid
from collections.abc import Mapping
from typing import Any

from django import forms

from imaging.calibrating.services import Magnification, Stand, reading_of
from imaging.calibration import (
    FACTOR,
    FACTOR_SD_PERCENT,
    LENS_MM,
    OFF_PLANE_MM,
    RULER_MM,
    TILT_DEGREES,
    Doubt,
    Plane,
    Ruler,
    RulerReading,
)

NUMBER = re.compile(r"[0-9]{1,7}([.][0-9]{1,6})?")
MM_PER_INCH = 25.4
PLANES = (
    (
        Plane.MIDSAGITTAL.value,
        "amid the patient (on the head holder, at the midsagittal plane): natural size",
    ),
    (Plane.DETECTOR.value, "on the film or detector: size on the film, to be divided by the magnification"),
)
ENDS = ("start", "end")
PLACES = tuple(f"{end}_{axis}" for end in ENDS for axis in ("across", "down"))


class DecimalField(forms.CharField):
    """A number from `least` to `most` in the field's unit; a comma is taken as a point. Cleans to float or None."""

    def __init__(self, *, least: float, most: float, unit: str = "", **kwargs: Any) -> None:
        self.least, self.most, self.unit = least, most, unit
        attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "form-control field-short"}
        super().__init__(widget=forms.TextInput(attrs=attrs), max_length=20, **kwargs)

    def clean(self, value: Any) -> float | None:
        text = str(super().clean(value) or "").strip().replace(",", ".").removesuffix("mm").strip()
        if not text:
            return None
        number = self._read(text)
        if number is None or not self.least <= number <= self.most:
            raise forms.ValidationError(
                f"{text[:20]} is not taken; a number from {self.least:g} to {self.most:g}{self.unit} is."
            )
        return number

    def _read(self, text: str) -> float | None:
        return float(text) if NUMBER.fullmatch(text) else None


class FactorField(DecimalField):
    """A magnification: 1.098, or 9.8 % for the same."""

    def _read(self, text: str) -> float | None:
        if text.endswith("%"):
            percent = super()._read(text.removesuffix("%").strip())
            return None if percent is None else 1 + percent / 100
        return super()._read(text)


class SeenForm(forms.Form):
    """What every form of the page carries: the newest statement it had seen, and a key of its own."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=1_000_000)
    request_key = forms.RegexField(r"[0-9A-Za-z_-]{8,64}", widget=forms.HiddenInput)

    def stand(self) -> Stand:
        return Stand(self.cleaned_data["seen"], self.cleaned_data["request_key"])


def fresh(seen: int) -> dict[str, Any]:
    """Initial values that every form of the page carries."""
    return {"seen": seen, "request_key": uuid.uuid4().hex}


class RulerForm(SeenForm):
    """One or two rulers: places in pixels of the original, stated lengths, and where they lie."""

    def __init__(self, *args: Any, radiograph: bool, size: tuple[int, int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.radiograph = radiograph
        if radiograph:
            self.fields["plane"] = forms.ChoiceField(
                label="Where does the ruler lie?",
                choices=PLANES,
                widget=forms.RadioSelect,
                error_messages={"required": "Choose where the ruler lies; lengths differ by up to a third."},
            )
            self.fields["factor"] = _factor_field(required=False)
            self.fields["factor_sd_percent"] = _factor_sd_field()
        else:
            self.fields |= _doubt_fields()
        for number in (1, 2):
            for place in PLACES:
                most = size[0] if place.endswith("across") else size[1]
                self.fields[f"ruler_{number}_{place}"] = DecimalField(
                    label=f"{'First' if place.startswith('start') else 'Second'} mark, {place.rpartition('_')[2]}",
                    least=0,
                    most=most,
                    unit=" pixels",
                    required=number == 1,
                    error_messages={"required": "Click the mark, or type where it lies."},
                )
            self.fields[f"ruler_{number}_mm"] = DecimalField(
                label="Length between the two marks, mm",
                least=RULER_MM[0],
                most=RULER_MM[1],
                unit=" mm",
                required=number == 1,
                error_messages={"required": "Say how many millimetres lie between the two marks."},
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        names = [f"ruler_2_{name}" for name in (*PLACES, "mm")]
        missing = [name for name in names if cleaned.get(name) is None and name not in self.errors]
        if missing and len(missing) < len(names):
            for name in missing:
                self.add_error(name, "The second ruler needs both marks and its length, or nothing at all.")
        return cleaned

    def rows(self) -> tuple[dict[str, Any], ...]:
        """The fields of each ruler for the page."""
        return tuple(
            {
                "number": number,
                "places": [self[f"ruler_{number}_{place}"] for place in PLACES],
                "mm": self[f"ruler_{number}_mm"],
                "faulty": any(f"ruler_{number}_{name}" in self.errors for name in (*PLACES, "mm")),
                "filled": any(self[f"ruler_{number}_{name}"].value() for name in (*PLACES, "mm")),
            }
            for number in (1, 2)
        )

    def reading(self, aspect: float) -> RulerReading:
        """What was entered, after a check that found no fault."""
        given = self.cleaned_data
        first = self._ruler(1)
        assert first is not None, "required"
        if not self.radiograph:
            usual = Doubt()
            doubt = Doubt(
                _or_usual(given["off_plane"], usual.off_plane),
                _or_usual(given["lens"], usual.lens),
                _or_usual(given["tilt"], usual.tilt),
            )
            return RulerReading(first, Plane.MEASURED, self._ruler(2), doubt=doubt, aspect=aspect)
        plane = Plane(given["plane"])
        on_film = plane == Plane.DETECTOR
        return RulerReading(
            first,
            plane,
            self._ruler(2),
            factor=given["factor"] if on_film else None,
            factor_sd_percent=_or_usual(given["factor_sd_percent"], FACTOR_SD_PERCENT),
            aspect=aspect,
        )

    def refuse(self, field: str, words: str) -> None:
        """Put a fault beside the entry it is about."""
        name = field if field in self.fields else f"{field}_across"
        self.add_error(name if name in self.fields else None, words)

    def _ruler(self, number: int) -> Ruler | None:
        given = self.cleaned_data
        places = [given[f"ruler_{number}_{place}"] for place in PLACES]
        millimetres = given[f"ruler_{number}_mm"]
        if millimetres is None:
            return None
        return Ruler((places[0], places[1]), (places[2], places[3]), millimetres)


class MagnificationForm(SeenForm):
    """A stated enlargement, and the scale of the film where the file does not state it."""

    field_order = ("factor", "factor_sd_percent", "resolution", "film_mm")

    resolution = DecimalField(
        label="Resolution of the scanned film, pixels to the inch",
        least=50,
        most=5000,
        required=False,
        help_text="As set at the scanner, for instance 300.",
    )
    film_mm = DecimalField(
        label="or millimetres of film for a pixel",
        least=0.005,
        most=2,
        unit=" mm",
        required=False,
        help_text="For instance 0.0847.",
    )

    def __init__(self, *args: Any, film_stated: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.film_stated = film_stated
        self.fields["factor"] = _factor_field(required=True)
        self.fields["factor_sd_percent"] = _factor_sd_field()
        self.order_fields(self.field_order)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        resolution, film = cleaned.get("resolution"), cleaned.get("film_mm")
        if {"resolution", "film_mm"} & set(self.errors):
            return cleaned
        if resolution is not None and film is not None:
            self.add_error("film_mm", "Say it once: the resolution, or millimetres for a pixel.")
        elif resolution is None and film is None and not self.film_stated:
            self.add_error(
                "resolution",
                "The file states no scale of the film: type the resolution, or millimetres for a pixel.",
            )
        return cleaned

    def stated(self) -> Magnification:
        given = self.cleaned_data
        film = given["film_mm"] or (MM_PER_INCH / given["resolution"] if given["resolution"] else None)
        return Magnification(
            given["factor"],
            _or_usual(given["factor_sd_percent"], FACTOR_SD_PERCENT),
            (film, film) if film else None,
        )


class OfferForm(SeenForm):
    """One of the scales that the file states."""

    offer = forms.CharField(max_length=20, widget=forms.HiddenInput)


class StepForm(SeenForm):
    """A change to be undone or done again."""

    number = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=1_000_000)


def ruler_values(given: Mapping[str, Any]) -> dict[str, Any]:
    """Initial values of the ruler form from what was kept."""
    if "rulers" not in given:
        return {}
    reading = reading_of(given)
    values: dict[str, Any] = {"plane": reading.plane.value, "factor": _text(reading.factor)}
    for number, ruler in enumerate((reading.first, reading.second), 1):
        if ruler is not None:
            for end, place in zip(ENDS, (ruler.start, ruler.end), strict=True):
                for axis, value in zip(("across", "down"), place, strict=True):
                    values[f"ruler_{number}_{end}_{axis}"] = _text(value)
            values[f"ruler_{number}_mm"] = _text(ruler.millimetres)
    if reading.plane == Plane.DETECTOR:
        values["factor_sd_percent"] = _text(reading.factor_sd_percent)
    if reading.plane == Plane.MEASURED:
        doubt = reading.doubt
        values |= {
            "off_plane": _text(doubt.off_plane),
            "lens": _text(doubt.lens),
            "tilt": _text(doubt.tilt),
        }
    return values


def magnification_values(given: Mapping[str, Any]) -> dict[str, Any]:
    """Initial values of the magnification form from what was kept."""
    if "film" not in given:
        return {}
    values = {name: _text(given[name]) for name in ("factor", "factor_sd_percent")}
    return {**values, "film_mm": _text(given["film"][0]) if given["film"] else ""}


def _factor_field(*, required: bool) -> FactorField:
    return FactorField(
        label="Magnification",
        least=FACTOR[0],
        most=FACTOR[1],
        required=required,
        error_messages={"required": "Say how many times the film is larger than the patient."},
        help_text="How many times the film is larger: 1.098, or 9.8 % for the same."
        + ("" if required else " Left empty, lengths are those on the film and labelled so."),
    )


def _factor_sd_field() -> DecimalField:
    return DecimalField(
        label="The magnification may be off by, ± % (1 SD)",
        least=0,
        most=20,
        unit=" %",
        required=False,
        initial=_text(FACTOR_SD_PERCENT),
        help_text=f"Usual {FACTOR_SD_PERCENT:g}: repeated films of one maker's units differed by up to 2.3 %.",
    )


def _doubt_fields() -> dict[str, forms.Field]:
    return {
        "off_plane": DecimalField(
            label="Bar nearer or further than what is measured, mm",
            least=0,
            most=100,
            unit=" mm",
            required=False,
            initial=_text(OFF_PLANE_MM),
            help_text="5 mm make a length err by 1.7 % at 300 mm, by 0.5 % at 1000 mm.",
        ),
        "lens": DecimalField(
            label="Distance of the lens, mm",
            least=50,
            most=10_000,
            unit=" mm",
            required=False,
            initial=_text(LENS_MM),
        ),
        "tilt": DecimalField(
            label="Tilt of the picture, degrees",
            least=0,
            most=45,
            unit=" degrees",
            required=False,
            initial=_text(TILT_DEGREES),
            help_text="10° shorten a length by 1.5 %, 20° by 6 %.",
        ),
    }


def _or_usual(value: float | None, usual: float) -> float:
    return usual if value is None else value


def _text(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.6f}".rstrip("0").rstrip(".")
