"""What records of a stage are measured for: single indices, or a set chosen with one click."""

from typing import Any

from django import forms

from portfolio.finding_sheet import Sheet
from scoring import presets, registry


class IndicesForm(forms.Form):
    """Indices ticked one by one, or the key of a preset."""

    indices = forms.MultipleChoiceField(required=False)
    preset = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, frame: Sheet, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.frame = frame
        self.fields["indices"].choices = [(key, one.label) for key, one in registry.INDEXES.items()]  # type: ignore[attr-defined]
        self.fields["preset"].choices = [(key, label) for key, (label, _) in presets.PRESETS.items()]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("preset"):
            cleaned["indices"] = list(presets.preset(cleaned["preset"], self.frame))
        if not self.errors and not cleaned.get("indices"):
            raise forms.ValidationError("Choose at least one index.")
        return cleaned
