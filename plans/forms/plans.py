"""Forms of plans: a new one, a file, its confirmation, the note of a version."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from plans.document import Plan, Slot
from plans.plan_file import MOST_BYTES
from plans.plan_reading import MOST, MOST_NAME
from portfolio.forms.saving import RowForm

USUAL_SLOTS = 6


class NewPlanForm(RowForm):
    """A name and a number of slots; everything else is filled in afterwards."""

    name = forms.CharField(
        label="Name", max_length=MOST_NAME, help_text="Of your own, such as the examination and the year."
    )
    slots = forms.IntegerField(
        label="Number of slots",
        min_value=1,
        max_value=MOST["slots"],
        initial=USUAL_SLOTS,
        help_text="How many cases are asked for. Slots can be added and removed later.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "field-short"}),
    )

    def plan(self) -> Plan:
        """The plan that the form describes: slots that take any case."""
        many = self.cleaned_data["slots"]
        slots = tuple(Slot(f"slot-{number}", f"Slot {number}") for number in range(1, many + 1))
        return Plan(self.cleaned_data["name"], slots)


class PlanFileForm(forms.Form):
    """A plan file."""

    file = forms.FileField(
        label="Plan file",
        help_text=f"JSON as this app writes it, at most {MOST_BYTES // 1000} kB.",
        error_messages={"required": "Choose a file.", "empty": "The file is empty."},
    )

    def clean_file(self) -> UploadedFile[bytes]:
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError(
                f"The file has {(file.size or 0) // 1000} kB; a plan file has at most {MOST_BYTES // 1000} kB."
            )
        return file


class PlanConfirmForm(forms.Form):
    """What was previewed, sent back by the page; it is read and checked again like any file."""

    text = forms.CharField(widget=forms.HiddenInput, strip=False, max_length=MOST_BYTES)
    key = forms.UUIDField(widget=forms.HiddenInput)

    @classmethod
    def for_preview(cls, text: str) -> PlanConfirmForm:
        """The form that confirms a preview; its key makes one plan of it, however often it is sent."""
        initial: dict[str, Any] = {"text": text, "key": uuid.uuid4()}
        return cls(initial=initial)


class KeepForm(RowForm):
    """Keeping the draft as a version, with a note of why."""

    note = forms.CharField(
        label="Note",
        max_length=300,
        required=False,
        help_text="What is new, such as “instructions of 2027”. It stands in the list of versions.",
    )
