"""Forms of one-time codes: asking for one, typing it into a phone, sending the picture."""

from collections.abc import Sequence
from typing import Any

from django import forms

from accounts.secrets_shown_once import plain_code
from imaging.phone.codes import GROUP, GROUPS
from imaging.phone.selectors import Choice
from portfolio.photographs import VIEWS

NO_FINDING = ("", "no finding: it stays among the pictures")


class AskForm(forms.Form):
    """What the picture shall show, and which finding it witnesses."""

    public_id = forms.UUIDField(widget=forms.HiddenInput)
    view = forms.ChoiceField(
        label="Kind of picture", choices=[(one.key, one.label) for one in VIEWS], initial="witness"
    )
    finding = forms.ChoiceField(
        label="Witness of",
        required=False,
        help_text="A witness picture shows how a finding was taken, for instance the caliper on the cast. It gives no number.",
    )

    def __init__(self, *args: Any, found: Sequence[Choice] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["finding"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [NO_FINDING, *((one.key, one.words) for one in found)]


class CodeForm(forms.Form):
    """The code, as typed into a phone."""

    code = forms.CharField(
        label="Code",
        max_length=40,
        help_text="Eight signs, as your computer shows them; small letters and a missing hyphen are fine.",
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={"required": "Type the code that your computer shows."},
    )

    def clean_code(self) -> str:
        code = plain_code(self.cleaned_data["code"])
        if len(code) != GROUP * GROUPS:
            raise forms.ValidationError(f"A code has {GROUP * GROUPS} signs; here are {len(code)}.")
        return code
