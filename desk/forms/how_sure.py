"""What the page of chances takes: totals that are asked for, and which question."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from scoring.shapes import plain
from scoring.uncertainty import Question

MOST_THRESHOLDS = 4
MOST_POINTS = 1000
BETWEEN = re.compile(r";|,(?!\d(?!\d))")
"""What stands between numbers; a comma before a single digit is a decimal comma, as in 22,5."""


class HowSureForm(forms.Form):
    """Thresholds as one line of numbers, and the question."""

    thresholds = forms.CharField(
        label="Totals to be reached",
        required=False,
        max_length=60,
        help_text="Up to four, such as 20, 28. Empty: the recorded total.",
        widget=forms.TextInput(
            attrs={"class": "form-control", "inputmode": "decimal", "autocomplete": "off"}
        ),
    )
    question = forms.ChoiceField(
        label="Asked for",
        required=False,
        choices=[(one.value, one.words) for one in Question],
        widget=forms.Select(attrs={"class": "form-select"}),
    )

    def clean_thresholds(self) -> tuple[Decimal, ...]:
        """Numbers in ascending order, each once."""
        text: str = self.cleaned_data["thresholds"]
        parts = BETWEEN.sub(" ", text).split()
        found = {_number(part) for part in parts}
        if len(found) > MOST_THRESHOLDS:
            raise forms.ValidationError(f"{len(found)} totals are named; allowed: up to {MOST_THRESHOLDS}.")
        return tuple(sorted(found))

    def clean_question(self) -> Question:
        return Question(self.cleaned_data["question"] or Question.TRUE_SCORE)

    def asked(self) -> dict[str, Any]:
        """What the page is made from: as typed where it holds, else as if nothing were typed."""
        cleaned = self.cleaned_data if hasattr(self, "cleaned_data") else {}
        return {
            "thresholds": cleaned.get("thresholds", ()),
            "question": cleaned.get("question", Question.TRUE_SCORE),
        }


def _number(part: str) -> Decimal:
    try:
        number = Decimal(part.replace(",", "."))
    except InvalidOperation:
        raise forms.ValidationError(
            f"“{part}” is no number of points; allowed: whole or decimal numbers such as 28 or 22.5."
        ) from None
    if not number.is_finite() or not 0 <= number <= MOST_POINTS or "e" in part.lower():
        raise forms.ValidationError(f"“{part}” is out of range; allowed: 0 to {MOST_POINTS} points.")
    if number != round(number, 2):
        raise forms.ValidationError(f"“{plain(number)}” has too many decimals; allowed: two.")
    return number
