"""The form of a portfolio's own norm: figures in the measure's unit, and where they come from."""

import re
from decimal import Decimal
from typing import Any

from django import forms

from imaging.cephalometry.registry import MEASURES
from imaging.norms.places import Figures, Place
from portfolio.forms.saving import RowForm
from portfolio.vocabulary import QUANTITIES

NUMBER = re.compile(r"-?[0-9]{1,3}(\.[0-9]{1,2})?")
MINUS = str.maketrans({"−": "-", "–": "-", ",": "."})
AGES = (3, 16)
MOST_PER_YEAR = 10


class FigureField(forms.CharField):
    """A decimal text from `least` to `most`; comma and − are taken, at most 2 decimals. Cleans to the text, or ""."""

    def __init__(self, *, least: Decimal, most: Decimal, **kwargs: Any) -> None:
        self.least, self.most = least, most
        attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "field-short"}
        super().__init__(widget=forms.TextInput(attrs=attrs), max_length=20, required=False, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return value.replace("-", "−") if isinstance(value, str) else value

    def clean(self, value: Any) -> str:
        text = str(super().clean(value) or "").translate(MINUS).replace(" ", "")
        if not text:
            return ""
        if not NUMBER.fullmatch(text):
            raise forms.ValidationError("Not a number; write 3.5 or 3,5, with at most 2 decimals.")
        if not self.least <= Decimal(text) <= self.most:
            raise forms.ValidationError(
                f"{text} is out of range; allowed: {self.least} to {self.most}.".replace("-", "−")
            )
        return text


class NormForm(RowForm):
    """One norm: a mean with its deviation, or limits, or both; `place` says of which measure."""

    value = forms.CharField()
    sd = forms.CharField()
    low = forms.CharField()
    high = forms.CharField()
    group = forms.CharField(
        label="Group",
        max_length=60,
        required=False,
        help_text="Of whom, such as adult women. Empty: of everybody.",
    )
    age_years = forms.IntegerField(
        label="Value at the age of",
        min_value=AGES[0],
        max_value=AGES[1],
        required=False,
        help_text=f"Whole years, {AGES[0]} to {AGES[1]}, only where the norm moves with age.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "field-short"}),
    )
    per_year = forms.CharField()
    source = forms.CharField(
        label="Source",
        max_length=200,
        help_text="Author, year, title, or whose measurements these are. It stands beside every value.",
        error_messages={
            "required": "Say where these figures come from; a norm without a source is not kept."
        },
    )

    def __init__(self, *args: Any, place: Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        measure, quantity = MEASURES[place.measure], QUANTITIES[place.measure]
        unit = {"deg": "degrees", "mm": "mm", "%": "per cent", "": ""}[measure.unit]
        in_unit = f", {unit}" if unit else ""
        least, most = quantity.minimum or Decimal(-90), quantity.maximum or Decimal(400)
        span = most - least
        wide = {"least": least, "most": most}
        self.fields["value"] = FigureField(label=f"Mean{in_unit}", **wide)
        self.fields["sd"] = FigureField(
            label=f"Standard deviation{in_unit}",
            least=Decimal("0.01"),
            most=span,
            help_text="Without one, no bar of deviations is drawn.",
        )
        self.fields["low"] = FigureField(label=f"Lower limit{in_unit}", **wide)
        self.fields["high"] = FigureField(label=f"Upper limit{in_unit}", **wide)
        self.fields["per_year"] = FigureField(
            label="Change a year",
            least=Decimal(-MOST_PER_YEAR),
            most=Decimal(MOST_PER_YEAR),
            help_text="With its sign: −0.3 falls by 0.3 each year.",
        )
        self.order_fields(
            ["key", "version", "value", "sd", "low", "high", "group", "age_years", "per_year", "source"]
        )

    def clean(self) -> dict[str, Any]:
        """What figures mean together: all faults beside their fields."""
        given = super().clean() or self.cleaned_data
        broken = set(self.errors)
        value, low, high = (given.get(name, "") for name in ("value", "low", "high"))
        if not {"value", "low", "high"} & broken and not (value or low or high):
            self.add_error("value", "Give a mean, or both limits.")
        if not {"low", "high"} & broken:
            if bool(low) != bool(high):
                self.add_error(
                    "high" if low else "low", "Both limits are needed, or neither; here is only one."
                )
            elif low and Decimal(low) >= Decimal(high):
                self.add_error(
                    "high", f"The upper limit must be above the lower one, {low}.".replace("-", "−")
                )
        if not {"value", "age_years", "per_year"} & broken:
            aged, moves = given.get("age_years") is not None, bool(given.get("per_year"))
            if aged != moves:
                missing = "per_year" if aged else "age_years"
                self.add_error(missing, "An age and a change a year are needed together, or neither.")
            elif aged and not value:
                self.add_error("value", "A norm that moves with age needs its mean at that age.")
        return given

    def figures(self) -> Figures:
        return Figures(**{name: self.cleaned_data[name] for name in Figures.__dataclass_fields__})
