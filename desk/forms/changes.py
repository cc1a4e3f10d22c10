"""What the pages of change are asked for: stages, index, portfolio, state; the limit of results."""

from typing import Any

from django import forms

from desk.change.many import OFFERED, Wanted
from portfolio.access import Asker, visible_portfolios
from portfolio.models import CaseState, Stage
from scoring import registry


def _select() -> forms.Select:
    return forms.Select(attrs={"class": "form-select"})


class ManyForm(forms.Form):
    """The filter of the caseload; what is not understood falls back to what is usual."""

    index = forms.ChoiceField(label="Index", required=False, widget=_select())
    before = forms.ChoiceField(label="Before", choices=Stage.choices, required=False, widget=_select())
    after = forms.ChoiceField(label="After", choices=Stage.choices, required=False, widget=_select())
    portfolio = forms.ChoiceField(label="Portfolio", required=False, widget=_select())
    state = forms.ChoiceField(
        label="State", choices=[("", "any"), *CaseState.choices], required=False, widget=_select()
    )

    def __init__(self, *args: Any, user: Asker, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["index"].choices = [(key, registry.index(key).label) for key in OFFERED]  # type: ignore[attr-defined]
        own = visible_portfolios(user).order_by("name", "pk")
        self.fields["portfolio"].choices = [("", "all"), *((str(p.public_id), p.name) for p in own)]  # type: ignore[attr-defined]

    def wanted(self) -> Wanted:
        """What is asked for, with the usual where nothing or something unknown stands."""
        self.is_valid()
        usual, found = Wanted(), self.cleaned_data
        return Wanted(
            index=found.get("index") or usual.index,
            before=found.get("before") or usual.before,
            after=found.get("after") or usual.after,
            portfolio=found.get("portfolio") or "",
            state=found.get("state") or "",
        )


class LimitForm(forms.Form):
    """The total that results are held against; empty for the published one again."""

    limit = forms.IntegerField(min_value=0, max_value=200, required=False)
