"""Handing a coded patient over, and taking one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from portfolio.forms.saving import RowForm
from portfolio.models import Portfolio
from portfolio.moving.models import LONGEST_NOTE


class HandOverForm(RowForm):
    """Who takes the patient over, and what goes along."""

    email = forms.EmailField(
        label="E-mail address of the colleague",
        help_text="The one of the account here; the colleague decides.",
    )
    private_along = forms.BooleanField(
        label="The locator and a kept birth date go along",
        required=False,
        help_text="Unticked, both are removed when the patient is taken over; ages stay.",
    )
    note = forms.CharField(
        label="Note to the colleague",
        required=False,
        max_length=LONGEST_NOTE,
        help_text="No name of the patient: the colleague sees the code and this note before deciding.",
    )


class TakeOverForm(forms.Form):
    """Into which of the person's portfolios the patient comes."""

    into: forms.ModelChoiceField[Portfolio] = forms.ModelChoiceField(
        queryset=None,
        to_field_name="public_id",
        label="Into the portfolio",
        empty_label=None,
        error_messages={"invalid_choice": "This is none of your portfolios. Choose one of the list."},
    )

    def __init__(self, *args: Any, portfolios: QuerySet[Portfolio], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["into"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = portfolios
