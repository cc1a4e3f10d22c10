"""The part of a form that asks for the age at the records: typed, or worked out from two dates."""

from datetime import date
from typing import Any

from django import forms

from portfolio.ages import AgeRefused, age_at, age_text
from portfolio.forms.saving import AgeField, DayField, RowForm


class AgedForm(RowForm):
    """Age, the day of the records, and a birth date that is thrown away unless it is to be kept."""

    age_months = AgeField(
        required=False,
        help_text="13 y 8 m, 13;8 or 164 m. Or leave it empty and give the two dates below.",
    )
    taken_on = DayField(
        label="Day of the records",
        required=False,
        help_text="Private: only you see it. Others see ages and months since the start.",
    )
    birth_date = DayField(
        label="Birth date",
        required=False,
        help_text="Only to work out the age; it is not stored unless you tick the box below.",
    )
    keep_birth_date = forms.BooleanField(
        label="Keep the birth date in the private layer",
        required=False,
        help_text="Then later ages are worked out and checked for you.",
    )

    def __init__(self, *args: Any, latest: date, kept_birth_date: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest, self.kept_birth_date = latest, kept_birth_date
        if kept_birth_date:
            del self.fields["birth_date"], self.fields["keep_birth_date"]
            self.fields["age_months"].help_text = (
                "13 y 8 m, 13;8 or 164 m. Or leave it empty: it is worked out from the kept birth date and the day "
                "of the records."
            )

    def birth_date_for_age(self, cleaned: dict[str, Any]) -> date | None:
        """The birth date that ages of this form are worked out from."""
        return cleaned.get("birth_date") or self.kept_birth_date

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        taken_on, birth_date = cleaned.get("taken_on"), self.birth_date_for_age(cleaned)
        if taken_on and taken_on > self.latest:
            self.add_error("taken_on", "The records cannot have been taken in the future.")
            return cleaned
        typed_birth_date = cleaned.get("birth_date")
        if typed_birth_date and typed_birth_date > self.latest:
            self.add_error("birth_date", "A birth date cannot lie in the future.")
            return cleaned
        if typed_birth_date and not taken_on and not cleaned.get("keep_birth_date"):
            self.add_error("taken_on", "To work out the age, the day of the records is needed too.")
        if cleaned.get("keep_birth_date") and not typed_birth_date:
            self.add_error("birth_date", "There is no birth date to keep.")
        if taken_on and birth_date:
            self._work_out(cleaned, birth_date, taken_on)
        return cleaned

    def _work_out(self, cleaned: dict[str, Any], birth_date: date, taken_on: date) -> None:
        try:
            months = age_at(birth_date, taken_on)
        except AgeRefused as refusal:
            self.add_error("taken_on", str(refusal))
            return
        typed = cleaned.get("age_months")
        if typed is None and "age_months" not in self.errors:
            cleaned["age_months"] = months
        elif typed is not None and typed != months:
            self.add_error(
                "age_months",
                f"The two dates give {age_text(months)}. Correct the age or a date, or empty the age.",
            )

    @property
    def kept(self) -> date | None:
        """The birth date that the owner has chosen to keep on this form."""
        return self.cleaned_data.get("birth_date") if self.cleaned_data.get("keep_birth_date") else None
