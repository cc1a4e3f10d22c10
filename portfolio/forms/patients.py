"""Forms of a coded patient and of consents."""

from datetime import date
from typing import Any

from django import forms

from portfolio.forms.saving import DayField, RowForm
from portfolio.models import Consent, Patient, Sex, Signer
from portfolio.services import MEDIA, PURPOSES, ConsentDetails, PatientDetails


class PatientForm(RowForm):
    """Sex and the private layer: where the patient's box stands, and the birth date if it is to be kept."""

    sex = forms.ChoiceField(
        label="Sex",
        choices=[("", "not recorded"), *Sex.choices],
        required=False,
        help_text="Used for growth norms.",
    )
    locator = forms.CharField(
        label="Locator",
        max_length=200,
        required=False,
        help_text="Private: only you see it. Where the casts and the file are, such as shelf 4 box 12. No names.",
    )
    birth_date = DayField(
        label="Birth date, only if you want it kept",
        required=False,
        help_text="Private: only you see it. Without it, ages are typed or worked out from a date that is not kept.",
    )

    def __init__(self, *args: Any, latest: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest = latest

    def clean_birth_date(self) -> date | None:
        birth_date: date | None = self.cleaned_data["birth_date"]
        if birth_date and birth_date > self.latest:
            raise forms.ValidationError("A birth date cannot lie in the future.")
        return birth_date

    def details(self) -> PatientDetails:
        cleaned = self.cleaned_data
        return PatientDetails(cleaned["sex"] or None, cleaned["locator"], cleaned["birth_date"])


def stored_patient(patient: Patient) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    return {
        "sex": patient.sex or "",
        "locator": patient.locator,
        "birth_date": patient.birth_date,
        "version": patient.version,
    }


class ConsentForm(RowForm):
    """What was signed, for what, by whom, and where the paper lies."""

    purposes = forms.MultipleChoiceField(
        label="Given for",
        choices=list(PURPOSES.items()),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one purpose."},
    )
    covers = forms.MultipleChoiceField(
        label="Covers",
        choices=list(MEDIA.items()),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one kind of record."},
    )
    signer = forms.ChoiceField(
        label="Signed by",
        choices=Signer.choices,
        help_text="Where a parent or guardian signed, your law may ask for the patient's own consent at majority.",
    )
    signed_on = DayField(label="Signed on")
    expires = DayField(label="Valid until", required=False, help_text="Leave empty when no end was agreed.")
    paper_lies = forms.CharField(
        label="Where the signed paper lies",
        max_length=200,
        required=False,
        help_text="Private. The paper itself is never uploaded.",
    )

    def __init__(self, *args: Any, latest: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest = latest

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        signed_on, expires = cleaned.get("signed_on"), cleaned.get("expires")
        if signed_on and signed_on > self.latest:
            self.add_error("signed_on", "A consent cannot have been signed in the future.")
        if signed_on and expires and expires < signed_on:
            self.add_error("expires", "The end lies before the day of signing.")
        return cleaned

    def details(self) -> ConsentDetails:
        cleaned = dict(self.cleaned_data)
        return ConsentDetails(media=cleaned["covers"], **{name: cleaned[name] for name in CONSENT_FIELDS})


CONSENT_FIELDS = ("purposes", "signer", "signed_on", "expires", "paper_lies")


def stored_consent(consent: Consent) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    stored = {name: getattr(consent, name) for name in CONSENT_FIELDS}
    return stored | {"covers": consent.media, "version": consent.version}


class WithdrawalForm(RowForm):
    """The day a consent was withdrawn; emptied when that was noted by mistake."""

    withdrawn_on = DayField(
        label="Withdrawn on", required=False, help_text="Empty it if the withdrawal was noted by mistake."
    )

    def __init__(self, *args: Any, latest: date, signed_on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest, self.signed_on = latest, signed_on

    def clean_withdrawn_on(self) -> date | None:
        day: date | None = self.cleaned_data["withdrawn_on"]
        if day and day < self.signed_on:
            raise forms.ValidationError("The withdrawal lies before the day of signing.")
        if day and day > self.latest:
            raise forms.ValidationError("A withdrawal cannot lie in the future.")
        return day


def stored_withdrawal(consent: Consent) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    return {"withdrawn_on": consent.withdrawn_on, "version": consent.version}
