"""Form of a record set, with the teeth that stand as a list to tick."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from portfolio import teeth
from portfolio.forms.ages import AgedForm
from portfolio.models import Dentition, Occlusion, RecordSet, Stage
from portfolio.services import RecordSetDetails, usual_teeth


@dataclass(frozen=True, slots=True)
class ToothTick:
    """One tooth of the list to tick, named in the reader's notation."""

    tooth: str
    label: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class ToothRow:
    """One row of teeth from the patient's right to left, in two halves that wrap as one."""

    label: str
    right: tuple[ToothTick, ...]
    left: tuple[ToothTick, ...]


class RecordSetForm(AgedForm):
    """Stage, age, bite and the teeth that stand."""

    stage = forms.ChoiceField(label="Stage", choices=Stage.choices)
    ordinal = forms.IntegerField(
        label="Number",
        required=False,
        min_value=1,
        max_value=99,
        widget=forms.NumberInput(attrs={"class": "field-short"}),
        help_text="Leave it empty for the next free number of the stage.",
    )
    reason = forms.CharField(
        label="Reason",
        required=False,
        max_length=200,
        help_text="For interim records: why they were taken.",
    )
    dentition = forms.ChoiceField(label="Dentition", choices=Dentition.choices, initial=Dentition.PERMANENT)
    occlusion = forms.ChoiceField(
        label="Bite of the casts", choices=Occlusion.choices, initial=Occlusion.INTERCUSPAL
    )
    teeth = forms.MultipleChoiceField(
        label="Teeth standing",
        required=False,
        choices=[(tooth, tooth) for tooth in sorted(teeth.ALL_TEETH)],
        error_messages={"invalid_choice": "One of these is not a tooth."},
    )
    teeth_shown = forms.CharField(required=False, widget=forms.HiddenInput)
    field_order = ("key", "version", "stage", "ordinal", "reason", "age_months", "taken_on", "birth_date")

    def __init__(self, *args: Any, latest: date, notation: str, **kwargs: Any) -> None:
        super().__init__(*args, latest=latest, **kwargs)
        self.notation = notation
        if not self.is_bound:
            dentition = self.initial.get("dentition", Dentition.PERMANENT)
            self.initial.setdefault("teeth", list(usual_teeth(dentition)))
            self.initial["teeth_shown"] = " ".join(sorted(self.initial["teeth"]))

    def plain_fields(self) -> list[forms.BoundField]:
        """Every field but the list to tick, which has its own place on the page."""
        return [field for field in self if field.name != "teeth"]

    def tooth_rows(self) -> tuple[ToothRow, ...]:
        """The list to tick, row by row."""
        ticked = set(self["teeth"].value() or ())
        upper, lower, milk = teeth.UPPER_ROUND, teeth.LOWER_ROUND, teeth.PRIMARY
        return tuple(
            ToothRow(label, self._ticks(right, ticked), self._ticks(left, ticked))
            for label, right, left in (
                ("Upper, permanent", upper[:8], upper[8:]),
                ("Upper, primary", milk[:5], milk[5:10]),
                ("Lower, primary", milk[10:15], milk[15:]),
                ("Lower, permanent", lower[:8], lower[8:]),
            )
        )

    def _ticks(self, row: tuple[str, ...], ticked: set[str]) -> tuple[ToothTick, ...]:
        return tuple(ToothTick(one, teeth.shown(one, self.notation), one in ticked) for one in row)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if "dentition" in cleaned and "teeth" in cleaned:
            self._clean_teeth(cleaned)
        return cleaned

    def _clean_teeth(self, cleaned: dict[str, Any]) -> None:
        ticked, dentition = set(cleaned["teeth"]), cleaned["dentition"]
        untouched = ticked == set(cleaned.get("teeth_shown", "").split())
        if untouched and self._dentition_changed(dentition) and dentition != Dentition.MIXED:
            # The ticks belong to the dentition chosen before; the new one has usual teeth of its own.
            cleaned["teeth"] = list(usual_teeth(dentition))
            return
        primary = {one for one in ticked if teeth.is_primary(one)}
        if not ticked:
            self.add_error("teeth", "Tick the teeth that stand.")
        elif dentition == Dentition.MIXED and not primary:
            self.add_error(
                "teeth",
                "A mixed dentition has at least one primary tooth: tick the teeth that stand, or choose permanent.",
            )
        elif dentition == Dentition.PRIMARY and primary != ticked:
            self.add_error(
                "teeth", "In a primary dentition no permanent tooth stands: choose mixed, or untick them."
            )
        cleaned["teeth"] = list(teeth.in_order(ticked))

    def _dentition_changed(self, dentition: str) -> bool:
        return bool(dentition != self.initial.get("dentition", Dentition.PERMANENT))

    def details(self) -> RecordSetDetails:
        return RecordSetDetails(**{name: self.cleaned_data[name] for name in FIELDS})


FIELDS = ("stage", "ordinal", "reason", "taken_on", "age_months", "dentition", "occlusion", "teeth")


def stored_record_set(record_set: RecordSet) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    stored = {name: getattr(record_set, name) for name in FIELDS}
    return stored | {"teeth": record_set.teeth.split(), "version": record_set.version}
