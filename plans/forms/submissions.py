"""Forms of submissions: freezing one, and what came back for a case."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django import forms

from plans.submitting.models import LONGEST_NOTE, LONGEST_SESSION, SubmissionResultState
from plans.submitting.selectors import ScoreThen
from portfolio.forms.saving import DayField, RowForm

POINTS = re.compile(r"[0-9]{1,4}(\.[0-9]{1,2})?\Z", re.ASCII)
LONGEST_REASON = 500


class FreezeForm(RowForm):
    """The session, the day, and a reason where something is open; `state` is what the page had shown."""

    session = forms.CharField(
        label="Session",
        max_length=LONGEST_SESSION,
        help_text="Of your own, such as the examination and the year.",
    )
    submitted_on = DayField(label="Handed in on", help_text="Seen by you only.")
    reason = forms.CharField(
        label="Why it is handed in as it is",
        max_length=LONGEST_REASON,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    state = forms.CharField(widget=forms.HiddenInput, required=False, max_length=4000)

    def __init__(self, *args: Any, latest: date, open_things: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.latest = latest
        if open_things:
            self.fields["reason"].required = True
            self.fields[
                "reason"
            ].help_text = "Asked for because of what stands above; it is kept with the submission."
        else:
            del self.fields["reason"]

    def clean_submitted_on(self) -> date:
        day: date = self.cleaned_data["submitted_on"]
        if day > self.latest:
            raise forms.ValidationError(
                "This day lies in the future. Give the day on which it was handed in."
            )
        return day


class SubmissionDayForm(forms.Form):
    """When the portfolio is meant to be handed in."""

    submission_on = DayField(
        label="To be handed in on",
        required=False,
        help_text="Windows up to the submission are counted to this day. Seen by you only.",
    )


class ResultForm(forms.Form):
    """What came back for one case: the answer, a note, the board's points of each category that we scored."""

    state = forms.ChoiceField(
        label="Answer",
        choices=[("", "choose"), *SubmissionResultState.choices],
        error_messages={"required": "Choose what was answered."},
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, scores: Sequence[ScoreThen], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places: dict[str, tuple[str, str]] = {}
        for number, score in enumerate(scores):
            for row in score.rows:
                name = f"points-{number}-{row.category}"
                self.places[name] = (f"{score.index} {score.stage}", row.category)
                self.fields[name] = forms.CharField(label=row.label, required=False, max_length=12)
                self.initial.setdefault(name, row.theirs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in self.places:
            typed = (cleaned.get(name) or "").strip().replace(",", ".")
            if typed and not POINTS.match(typed):
                self.add_error(
                    name,
                    "Points are a number from 0 to 9999, such as 4 or 4.5; leave it empty if none were told.",
                )
            cleaned[name] = typed
        return cleaned

    def points(self) -> Mapping[str, Mapping[str, str]]:
        """Index and stage → category → points as typed."""
        found: dict[str, dict[str, str]] = {}
        for name, (place, category) in self.places.items():
            if typed := self.cleaned_data[name]:
                found.setdefault(place, {})[category] = typed
        return found

    def rows(self, scores: Sequence[ScoreThen]) -> list[tuple[ScoreThen, list[tuple[Any, Any]]]]:
        """Each score with its rows and the field of each."""
        return [
            (score, [(row, self[f"points-{number}-{row.category}"]) for row in score.rows])
            for number, score in enumerate(scores)
        ]
