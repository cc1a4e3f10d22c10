"""What the score pages take: a rule choice or a set of them, what to keep, points from a paper form."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import RegexValidator

from scoring.index import ChoiceRefused, Index
from scoring.models import MOST_EDITION, ChoiceSet
from scoring.shapes import plain
from scoring.tally import MOST_POINTS, PointsRefused, read_points


class ChoiceForm(forms.Form):
    """One of the three sets, or one choice as `id=value`."""

    choice_set = forms.ChoiceField(choices=ChoiceSet.choices, required=False)
    choice = forms.CharField(max_length=90, required=False)

    def __init__(self, *args: Any, index: Index, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.index = index

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not cleaned.get("choice_set"):
            choice_id, _, value = cleaned.get("choice", "").partition("=")
            try:
                self.index.settled({choice_id: value})
            except ChoiceRefused as refusal:
                raise forms.ValidationError(str(refusal)) from refusal
            cleaned["choice_id"], cleaned["value"] = choice_id, value
        return cleaned


class EditionForm(forms.Form):
    """One of the editions of an index."""

    edition = forms.CharField(max_length=MOST_EDITION)

    def __init__(self, *args: Any, index: Index, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.index = index

    def clean_edition(self) -> str:
        try:
            return self.index.edition(self.cleaned_data["edition"])
        except ChoiceRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal


class OwnWeightsForm(forms.Form):
    """A set of weights of the site's own: a name and one number for each row of the form."""

    name = forms.CharField(
        label="Name of the set",
        max_length=20,
        validators=[RegexValidator(r"^[A-Za-z0-9_-]+$", "Letters, digits, - and _ only, such as harbour-2.")],
        widget=forms.TextInput(attrs={"class": "form-control", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, index: Index, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.index = index
        for key, label in index.categories.items():
            self.fields[key] = forms.DecimalField(
                label=label,
                min_value=0,
                max_value=20,
                decimal_places=2,
                localize=True,
                widget=forms.TextInput(
                    attrs={
                        "class": "form-control points-entry",
                        "inputmode": "decimal",
                        "autocomplete": "off",
                    }
                ),
            )

    @property
    def edition(self) -> str:
        """The set as an edition, once the form is valid."""
        weights = ",".join(plain(self.cleaned_data[key]) for key in self.index.categories)
        return f"site:{self.cleaned_data['name']}:{weights}"


class KeepForm(forms.Form):
    """The state of the sheet, of its teeth and of the rule choices that the page had shown."""

    version = forms.IntegerField(min_value=0)
    choices = forms.CharField(max_length=16)
    frame = forms.CharField(max_length=16)


class PointsField(forms.CharField):
    """Points as somebody types them."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(
            attrs={"class": "form-control points-entry", "inputmode": "decimal", "autocomplete": "off"}
        )
        super().__init__(required=False, max_length=20, widget=widget, **kwargs)

    def clean(self, value: Any) -> Decimal | None:
        text = str(super().clean(value))
        try:
            return read_points(text)
        except PointsRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal


class TallyForm(forms.Form):
    """One field for each row of the form and one for the total."""

    def __init__(self, *args: Any, index: Index, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.index = index
        for key, label in index.categories.items():
            self.fields[key] = PointsField(label=label)
        self.fields["total"] = PointsField(label="Total")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and all(points is None for points in cleaned.values()):
            raise forms.ValidationError(
                f"Type the points of at least one row, or the total (0 to {MOST_POINTS} each)."
            )
        return cleaned

    def typed(self) -> tuple[dict[str, str], str]:
        """Points by row and in total as text; rows left empty are not named."""
        by_row = {
            key: str(points)
            for key in self.index.categories
            if (points := self.cleaned_data[key]) is not None
        }
        total = self.cleaned_data["total"]
        return by_row, "" if total is None else str(total)
