"""The form of an own error of measurement: one standard deviation, and where it comes from."""

import re
from decimal import Decimal
from typing import Any

from django import forms

from portfolio.errors import LEAST_SHARE_OF_DEFAULT, default_error
from portfolio.forms.saving import RowForm
from portfolio.quantity import UNIT_WORDS
from portfolio.vocabulary import QUANTITIES

NUMBER = re.compile(r"[0-9]{1,3}(\.[0-9]{1,2})?", re.ASCII)
MOST = {"mm": Decimal(10), "deg": Decimal(30), "%": Decimal(50), "": Decimal(10)}
"""Larger errors leave nothing of a measurement (choice)."""


class ErrorFigureForm(RowForm):
    """One standard deviation in the quantity's unit with its source; `version` is the statement the page had seen."""

    sd = forms.CharField(
        max_length=12,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "field-short"}),
    )
    source = forms.CharField(
        label="Source",
        max_length=200,
        help_text="Author, year, title, or whose repeats these are. It stands beside every figure made of it.",
        error_messages={
            "required": "Say where this figure comes from; an error without a source is not kept."
        },
    )

    def __init__(self, *args: Any, quantity: str, method: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit = QUANTITIES[quantity].unit
        self._most = MOST[unit]
        # In hundredths, upwards: what is refused is never less than what is told.
        share = Decimal(str(default_error(quantity, method).sd)) * Decimal(str(LEAST_SHARE_OF_DEFAULT))
        self._least = max(share.quantize(Decimal("0.01")), Decimal("0.01"))
        words = {"mm": "mm", "deg": "degrees", "%": "per cent", "": "steps"}[unit]
        self._unit = UNIT_WORDS[unit]
        self.fields["sd"].label = f"Standard deviation of one measurement, {words}"
        self.fields[
            "sd"
        ].help_text = (
            f"{self._least} to {self._most}: two of three measurements lie within it round the true value."
        )

    def clean_sd(self) -> str:
        """Decimal text with at most two decimals; comma and a trailing unit are taken."""
        text = str(self.cleaned_data["sd"]).replace(",", ".").replace("±", "").strip()
        if self._unit:
            text = text.removesuffix(self._unit).strip()
        if not NUMBER.fullmatch(text):
            raise forms.ValidationError(
                f"“{text}” is not a number; write 0.3 or 0,3, with at most two decimals."
            )
        if not self._least <= Decimal(text) <= self._most:
            raise forms.ValidationError(
                f"{text} is out of range; allowed: {self._least} to {self._most}. Repeats that agree were rounded, not exact."
            )
        return format(Decimal(text).normalize(), "f")
