"""Forms of a case."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from portfolio.codes import ALPHABET, LENGTH, is_code, new_code
from portfolio.forms.ages import AgedForm
from portfolio.forms.saving import RowForm
from portfolio.models import Case, CaseState, Patient, Stage
from portfolio.services import CaseStart, PatientDetails


class CaseStartForm(AgedForm):
    """Code, stage and age; everything else is asked when it is first needed."""

    code = forms.CharField(
        label="Case code",
        max_length=LENGTH,
        widget=forms.TextInput(
            attrs={"class": "code-text field-medium", "autocomplete": "off", "spellcheck": "false"}
        ),
        help_text="Drawn at random. It stands on every page and in every file, so it must not be made of initials, "
        "a chart number or a birth date.",
    )
    patient: forms.ModelChoiceField[Patient] = forms.ModelChoiceField(
        label="Coded patient",
        queryset=None,
        to_field_name="public_id",
        required=False,
        empty_label="a new coded patient",
        help_text="Choose an existing one only for a second course of treatment of the same person.",
    )
    stage = forms.ChoiceField(
        label="First records",
        choices=Stage.choices,
        initial=Stage.INITIAL,
        help_text="Other stages are added later.",
    )
    field_order = ("key", "version", "code", "patient", "stage", "age_months", "taken_on", "birth_date")

    def __init__(self, *args: Any, patients: Any, latest: date, **kwargs: Any) -> None:
        super().__init__(*args, latest=latest, **kwargs)
        choice = self.fields["patient"]
        assert isinstance(choice, forms.ModelChoiceField)
        choice.queryset = patients
        choice.error_messages["invalid_choice"] = (
            "This patient is not in the portfolio any more. Choose another."
        )
        if not self.is_bound:
            self.initial.setdefault("code", new_code())

    def birth_date_for_age(self, cleaned: dict[str, Any]) -> date | None:
        patient = cleaned.get("patient")
        typed: date | None = cleaned.get("birth_date")
        return typed or (patient.birth_date if patient else None)

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"]).strip().upper()
        if not is_code(code):
            raise forms.ValidationError(
                f"A code has {LENGTH} characters out of {ALPHABET[0]}–{ALPHABET[7]} and the letters "
                f"{ALPHABET[8:]}; those left out are easily mistaken. Another one to take: {new_code()}."
            )
        return code

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("age_months") is None and not {"age_months", "taken_on", "birth_date"} & set(
            self.errors
        ):
            self.add_error("age_months", "Give the age, or the day of the records and the birth date.")
        return cleaned

    def start(self) -> CaseStart:
        cleaned = self.cleaned_data
        return CaseStart(
            code=cleaned["code"],
            patient=cleaned["patient"],
            new_patient=PatientDetails(birth_date=self.kept),
            stage=cleaned["stage"],
            age_months=cleaned["age_months"],
            taken_on=cleaned["taken_on"],
        )


class CaseForm(RowForm):
    """State and note of a case."""

    state = forms.ChoiceField(label="State", choices=CaseState.choices)
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="For yourself; the search of cases looks in it. No names.",
    )


def stored_case(case: Case) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    return {"state": case.state, "note": case.note, "version": case.version}


class ErasureForm(forms.Form):
    """The code typed to confirm what cannot be undone."""

    code = forms.CharField(
        label="Case code",
        max_length=20,
        widget=forms.TextInput(
            attrs={"class": "code-text field-medium", "autocomplete": "off", "spellcheck": "false"}
        ),
        help_text="Type the code of the case to confirm.",
    )
