"""Form of a portfolio."""

from typing import Any

from django import forms

from portfolio.forms.saving import RowForm
from portfolio.models import DatePolicy, Notation, Paper, Portfolio
from portfolio.services import PortfolioDetails


class PortfolioForm(RowForm):
    """Only the name is needed; everything else has a usual answer."""

    name = forms.CharField(
        label="Name", max_length=120, help_text="For yourself, such as the examination and the year."
    )
    notation = forms.ChoiceField(
        label="Tooth notation",
        choices=Notation.choices,
        initial=Notation.ISO3950,
        help_text="How teeth are shown to you. Files always use ISO 3950.",
    )
    paper = forms.ChoiceField(label="Paper", choices=Paper.choices, initial=Paper.A4)
    date_policy = forms.ChoiceField(
        label="What others see of dates",
        choices=DatePolicy.choices,
        initial=DatePolicy.AGES,
        help_text="An exact date together with an age in months gives away the month of birth, so the two are "
        "never shown together. You yourself always see the dates you have entered.",
    )

    def details(self) -> PortfolioDetails:
        return PortfolioDetails(**{name: self.cleaned_data[name] for name in FIELDS})


FIELDS = ("name", "notation", "paper", "date_policy")


def stored_portfolio(portfolio: Portfolio) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    return {name: getattr(portfolio, name) for name in FIELDS} | {"version": portfolio.version}
