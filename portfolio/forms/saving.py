"""What every form of this room shares: sent twice it makes one row, and it never overwrites another edit."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils import formats

from portfolio.ages import AgeRefused, age_text, read_age

DAY = "%Y-%m-%d"


@dataclass(frozen=True, slots=True)
class Difference:
    """A field that two windows have filled in differently."""

    label: str
    stored: str
    yours: str


class DayField(forms.DateField):
    """A calendar day, the same in every time zone."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault(
            "widget", forms.DateInput(format=DAY, attrs={"type": "date", "autocomplete": "off"})
        )
        kwargs.setdefault("input_formats", [DAY])
        kwargs.setdefault("error_messages", {"invalid": "This is not a day: year, month and day are needed."})
        super().__init__(**kwargs)


class AgeField(forms.CharField):
    """An age in whole months, typed as 13 y 8 m, 13;8 or 164 m."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Age at the records")
        kwargs.setdefault("max_length", 30)
        kwargs.setdefault("widget", forms.TextInput(attrs={"class": "field-medium", "autocomplete": "off"}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return read_age(text)
        except AgeRefused as refusal:
            raise forms.ValidationError(str(refusal), code="age") from refusal

    def prepare_value(self, value: Any) -> Any:
        return age_text(value) if isinstance(value, int) else value


class RowForm(forms.Form):
    """A form that knows which row it makes (`key`) or which version of a row it was opened with."""

    key = forms.UUIDField(required=False, widget=forms.HiddenInput)
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.changed_meanwhile: tuple[Difference, ...] = ()
        if not self.is_bound and "version" not in self.initial:
            self.initial["key"] = uuid.uuid4()

    @property
    def seen_version(self) -> int:
        return int(self.cleaned_data.get("version") or 0)

    @property
    def row_key(self) -> uuid.UUID:
        key = self.cleaned_data.get("key")
        return key if isinstance(key, uuid.UUID) else uuid.uuid4()

    def tell_changed(self, stored: Mapping[str, Any]) -> None:
        """Say that another window has saved meanwhile, with both versions; sending again then saves this one."""
        self.changed_meanwhile = tuple(
            Difference(str(field.label), self._shown(name, stored[name]), self._shown(name, yours))
            for name, field in self.fields.items()
            if not field.widget.is_hidden
            and name in stored
            and (yours := self.cleaned_data.get(name)) != stored[name]
        )
        data = QueryDict(mutable=True)
        data.update(self.data)
        data["version"] = str(stored["version"])
        self.data = data
        self.add_error(
            None,
            "This was changed in another window after you had opened it. Below stands what you typed; saving "
            "again replaces what is stored now.",
        )

    def _shown(self, name: str, value: Any) -> str:
        field = self.fields[name]
        if value in (None, "", [], ()):
            return "nothing"
        if isinstance(field, AgeField):
            return age_text(int(value))
        if isinstance(value, date):
            return str(formats.date_format(value, "j M Y"))
        labels = {
            str(key): str(label)
            for key, label in getattr(field, "choices", ())
            if not isinstance(label, list)
        }
        if isinstance(value, list | tuple):
            return ", ".join(labels.get(str(one), str(one)) for one in value)
        return labels.get(str(value), str(value))
