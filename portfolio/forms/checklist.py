"""Form of the records of one stage that have no picture: state, where or why, quality ticks of casts."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from portfolio.records import NOTHING_TOLD, RECORDS, Record, RecordState
from portfolio.services.record_states import Stated, seen_words

MOST_WORDS = 200


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One record with its fields; `ticks` where quality is asked here, which for pictures their own page does."""

    record: Record
    state: forms.BoundField
    words: forms.BoundField
    ticks: forms.BoundField | None
    seen: forms.BoundField


class RecordStatesForm(forms.Form):
    """All records of one stage. What has pictures is shown and not asked."""

    def __init__(self, *args: Any, states: Mapping[str, RecordState], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.states = states
        self.open = [one for one in RECORDS if not states.get(one.key, NOTHING_TOLD).pictures]
        for record in self.open:
            self._add(record, states.get(record.key, NOTHING_TOLD))

    def _add(self, record: Record, state: RecordState) -> None:
        key = record.key
        self.fields[f"{key}-state"] = forms.ChoiceField(
            label=record.label,
            required=False,
            choices=[("", "nothing told"), *record.states.items()],
            initial=state.stated,
            widget=forms.Select(attrs={"class": "form-select"}),
        )
        self.fields[f"{key}-words"] = forms.CharField(
            label=f"{record.label}: where, or why not",
            required=False,
            max_length=MOST_WORDS,
            initial=state.words,
            widget=forms.TextInput(attrs={"class": "form-control", "autocomplete": "off"}),
        )
        if not record.picture and record.ticks:
            self.fields[f"{key}-ticks"] = forms.MultipleChoiceField(
                label=f"{record.label}: quality",
                required=False,
                choices=list(record.ticks.items()),
                initial=list(state.ticks),
                widget=forms.CheckboxSelectMultiple(attrs={"class": "form-check-input"}),
            )
        self.fields[f"{key}-seen"] = forms.CharField(
            required=False, initial=seen_words(state), strip=False, widget=forms.HiddenInput
        )

    def groups(self) -> list[tuple[str, list[RecordRow]]]:
        """The rows under their headings."""
        found: dict[str, list[RecordRow]] = {}
        for record in self.open:
            found.setdefault(record.group, []).append(self._row(record))
        return list(found.items())

    def with_pictures(self) -> list[tuple[str, int]]:
        """Records that have pictures, with how many."""
        return [
            (record.label, pictures)
            for record in RECORDS
            if (pictures := self.states.get(record.key, NOTHING_TOLD).pictures)
        ]

    def _row(self, record: Record) -> RecordRow:
        key = record.key
        ticks = self[f"{key}-ticks"] if f"{key}-ticks" in self.fields else None
        return RecordRow(record, self[f"{key}-state"], self[f"{key}-words"], ticks, self[f"{key}-seen"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for record in self.open:
            state = f"{record.key}-state"
            if cleaned.get(f"{record.key}-words") and not cleaned.get(state) and state not in self.errors:
                self.add_error(state, "Choose a state that these words belong to.")
        return cleaned

    def stated(self) -> dict[str, Stated]:
        """What is stated of each record, once the form is valid."""
        cleaned = self.cleaned_data
        return {
            one.key: Stated(
                cleaned[f"{one.key}-state"],
                cleaned[f"{one.key}-words"],
                tuple(cleaned.get(f"{one.key}-ticks", ())),
            )
            for one in self.open
        }

    def seen(self) -> dict[str, str]:
        return {one.key: self.cleaned_data[f"{one.key}-seen"] for one in self.open}

    def tell_late(self, keys: Iterable[str], now: Mapping[str, RecordState]) -> None:
        """Say beside each record what another window has stored; sending again then replaces it."""
        data = QueryDict(mutable=True)
        data.update(self.data)
        for key in keys:
            record, state = next(one for one in RECORDS if one.key == key), now.get(key, NOTHING_TOLD)
            data[f"{key}-seen"] = seen_words(state)
            stored = record.states.get(state.stated, "nothing told")
            words = f"{stored}: {state.words}" if state.words else stored
            self.add_error(f"{key}-state", f"Changed in another window meanwhile; stored now: {words}.")
        self.data = data
        self.add_error(
            None, "Another window has changed these records. Saving again replaces what is stored now."
        )
