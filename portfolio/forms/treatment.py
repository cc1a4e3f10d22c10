"""Forms of treatment events: several at once, one to change; and of what is stated about a case."""

import uuid
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from portfolio import events
from portfolio.events import BY_KEY, HANDS, KINDS, MOST_PHASES, Event, detail_words, label
from portfolio.forms.saving import DayField, RowForm
from portfolio.models import TreatmentEvent
from portfolio.selectors.courses import Statements, event_of
from portfolio.treatment.typed_teeth import EXAMPLES, TeethRefused, read_teeth, teeth_shown

FEWEST_ROWS, MORE_ROWS, MOST_ROWS = 4, 4, 40
_SELECT = {"class": "form-select"}
_TEXT = {"class": "form-control", "autocomplete": "off"}
_DAY = {"class": "form-control", "type": "date", "autocomplete": "off"}


def _detail_choices() -> list[tuple[str, Any]]:
    """All details under the name of what they are; one that several kinds take stands once."""
    groups: dict[str, dict[str, str]] = {}
    for kind in KINDS:
        if kind.details:
            groups.setdefault(kind.detail_label, {}).update(kind.details)
    return [("", "none"), *((name, list(found.items())) for name, found in groups.items())]


DETAILS = _detail_choices()


class EventFields(forms.Form):
    """What one event is made of, checked together. `notation` is that of the portfolio."""

    one_of_several = False
    """A row of several may be left empty."""

    on = DayField(label="Day", required=False, widget=forms.DateInput(format="%Y-%m-%d", attrs=_DAY))
    kind = forms.ChoiceField(
        label="Event",
        required=False,
        choices=[("", "choose"), *((kind.key, kind.label) for kind in KINDS)],
        widget=forms.Select(attrs=_SELECT),
    )
    detail = forms.ChoiceField(
        label="Appliance, reason or operation",
        required=False,
        choices=DETAILS,
        widget=forms.Select(attrs=_SELECT),
    )
    teeth = forms.CharField(
        label="Teeth", required=False, max_length=200, widget=forms.TextInput(attrs=_TEXT)
    )
    phase = forms.TypedChoiceField(
        label="Phase",
        required=False,
        coerce=int,
        choices=[(str(number), str(number or "none")) for number in range(MOST_PHASES + 1)],
        widget=forms.Select(attrs=_SELECT),
    )
    done_by = forms.ChoiceField(
        label="Who",
        required=False,
        choices=[("", "not stated"), *HANDS.items()],
        widget=forms.Select(attrs=_SELECT),
    )
    note = forms.CharField(label="Note", required=False, max_length=500, widget=forms.TextInput(attrs=_TEXT))

    def __init__(
        self, *args: Any, notation: str, latest: date, birth_date: date | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.notation, self.latest, self.birth_date = notation, latest, birth_date
        example, allowed = EXAMPLES[notation]
        self.fields["teeth"].widget.attrs["placeholder"] = example
        self.fields["teeth"].help_text = f"{allowed}; several with commas."

    @property
    def empty(self) -> bool:
        """Whether nothing was typed that makes an event; phase and hands alone do not."""
        return not any(
            str(self[name].data or "").strip() for name in ("on", "kind", "detail", "teeth", "note")
        )

    def clean_teeth(self) -> tuple[str, ...]:
        try:
            return read_teeth(self.cleaned_data["teeth"], self.notation)
        except TeethRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if self.one_of_several and self.empty:
            return cleaned
        self._clean_day(cleaned.get("on"))
        kind = BY_KEY.get(cleaned.get("kind", ""))
        if kind is None:
            if "kind" not in self.errors:
                self.add_error("kind", "Choose what happened.")
            return cleaned
        self._clean_teeth(kind, cleaned)
        self._clean_detail(kind, cleaned)
        if kind.needs_phase and not cleaned.get("phase"):
            self.add_error("phase", f"Say which phase, 1 to {MOST_PHASES}.")
        if kind.key == "note" and not cleaned.get("note"):
            self.add_error("note", "Write the note.")
        return cleaned

    def _clean_day(self, on: date | None) -> None:
        if on is None:
            if "on" not in self.errors:
                self.add_error("on", "Give the day.")
        elif on > self.latest:
            self.add_error("on", "This day lies in the future; events are recorded when they have happened.")
        elif self.birth_date and on < self.birth_date:
            self.add_error("on", "This day lies before the birth.")

    def _clean_teeth(self, kind: events.Kind, cleaned: dict[str, Any]) -> None:
        if "teeth" in self.errors:
            return
        beyond = cleaned.get("detail") == events.SUPERNUMERARY
        if kind.needs_teeth and not cleaned.get("teeth") and not beyond:
            self.add_error("teeth", f"Name the teeth, for example {EXAMPLES[self.notation][0]}.")
        if cleaned.get("teeth") and not kind.teeth:
            self.add_error("teeth", f"“{kind.label}” takes no teeth. Empty this, or write them in the note.")

    def _clean_detail(self, kind: events.Kind, cleaned: dict[str, Any]) -> None:
        if "detail" in self.errors:
            return
        detail, allowed = cleaned.get("detail", ""), kind.details or {}
        if kind.needs_detail and not detail:
            self.add_error("detail", f"Choose the {kind.detail_label.lower()}.")
        elif detail and detail not in allowed:
            what = f"one under “{kind.detail_label}”" if allowed else "none"
            self.add_error("detail", f"This does not belong to “{kind.label}”. Choose {what}.")

    def event(self) -> Event:
        """The event, once the form is valid."""
        return Event(**{name: self.cleaned_data[name] for name in FIELDS} | {"phase": self._phase})

    @property
    def _phase(self) -> int:
        return int(self.cleaned_data.get("phase") or 0)


class EventRow(EventFields):
    """One of several rows."""

    one_of_several = True


FIELDS = ("on", "kind", "teeth", "detail", "phase", "done_by", "note")


class EventForm(EventFields, RowForm):
    """One event to change."""

    def _shown(self, name: str, value: Any) -> str:
        if name == "teeth" and value:
            return teeth_shown(tuple(value), self.notation)
        if name == "detail" and value:
            return next(
                (str(group[value]) for _, found in DETAILS[1:] if value in (group := dict(found))), value
            )
        return super()._shown(name, value)


def stored_event(row: TreatmentEvent, notation: str, *, typed: bool) -> dict[str, Any]:
    """What is stored: as the form shows it if `typed`, else as it cleans it."""
    event = event_of(row)
    teeth = teeth_shown(event.teeth, notation) if typed else event.teeth
    return {name: getattr(event, name) for name in FIELDS} | {"teeth": teeth, "version": row.version}


def event_words(row: TreatmentEvent) -> str:
    """`Extraction`, `Appliances on, aligners`: what a message calls an event."""
    event = event_of(row)
    return ", ".join(words for words in (label(event), detail_words(event)) if words)


class SeveralEventsForm(forms.Form):
    """Rows to type several events in, all saved together or none. Rows left empty are passed over."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    rows_shown = forms.IntegerField(min_value=1, max_value=MOST_ROWS, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, hand: str = "", **asked: Any) -> None:
        super().__init__(data, initial={"key": uuid.uuid4(), "rows_shown": FEWEST_ROWS})
        self.rows = [
            EventRow(data, prefix=f"row-{number}", initial={"done_by": hand}, **asked)
            for number in range(_rows_shown(data))
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        filled = self.filled
        wrong = sum(not row.is_valid() for row in filled)
        if wrong:
            rows = "One row needs" if wrong == 1 else f"{wrong} rows need"
            raise forms.ValidationError(f"{rows} another look; the reason stands beside the field.")
        if not filled:
            raise forms.ValidationError("Fill in at least one row: a day and what happened.")
        return cleaned

    @property
    def filled(self) -> list[EventRow]:
        """The rows in which something was typed."""
        return [row for row in self.rows if not row.empty]

    @property
    def teeth_help(self) -> str:
        """How teeth are written in this portfolio."""
        return str(self.rows[0].fields["teeth"].help_text)

    def shown_rows(self) -> list[tuple[EventRow, bool]]:
        """Each row, and whether its faults are to be told."""
        return [(row, self.is_bound and not row.empty) for row in self.rows]

    def events(self) -> list[Event]:
        return [row.event() for row in self.filled]


def with_more_rows(data: Mapping[str, Any], **asked: Any) -> SeveralEventsForm:
    """The form with what was typed and more rows; nothing of it is checked yet."""
    count = min(_rows_shown(data) + MORE_ROWS, MOST_ROWS)
    form = SeveralEventsForm(hand=asked.pop("hand", ""), **asked)
    form.initial.update(key=data.get("key"), rows_shown=count)
    form.rows = [
        EventRow(prefix=f"row-{number}", initial=_typed(data, number, form), **asked)
        for number in range(count)
    ]
    return form


def _typed(data: Mapping[str, Any], number: int, form: SeveralEventsForm) -> dict[str, Any]:
    if f"row-{number}-kind" not in data:
        return dict(form.rows[0].initial)
    return {name: data.get(f"row-{number}-{name}", "") for name in FIELDS}


def _rows_shown(data: Mapping[str, Any] | None) -> int:
    given = str((data or {}).get("rows_shown", FEWEST_ROWS))
    return min(max(int(given), 1), MOST_ROWS) if given.isascii() and given.isdigit() else FEWEST_ROWS


YES_NO = (("", "not stated"), ("yes", "yes"), ("no", "no"))
_TRUTH = {"yes": True, "no": False, "": None}


class YesNoField(forms.ChoiceField):
    """Yes, no, or not stated; cleaned to True, False or None."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=YES_NO, required=False, **kwargs)

    def clean(self, value: Any) -> bool | None:
        return _TRUTH[super().clean(value)]

    def prepare_value(self, value: Any) -> Any:
        return {True: "yes", False: "no", None: ""}.get(value, value)


class StatementsForm(RowForm):
    """What is stated about a case as a whole."""

    asymmetry = YesNoField(
        label="Asymmetry of the face or jaws",
        help_text="Whether the case is one of asymmetry, as its write-up will say.",
    )
    surgical_plan = YesNoField(
        label="Planned with surgery of the jaws",
        help_text="The plan; what was done follows from the events.",
    )
    presented_before = YesNoField(
        label="Presented to a board before",
        help_text="Whether this patient's records were ever handed in for an examination.",
    )
    note = forms.CharField(
        label="Note", required=False, max_length=500, help_text="What the answers rest on. No names."
    )

    def _shown(self, name: str, value: Any) -> str:
        if isinstance(self.fields[name], YesNoField):
            return {True: "yes", False: "no", None: "not stated"}[value]
        return super()._shown(name, value)


def stored_statements(stated: Statements) -> dict[str, Any]:
    """What is stored, as the form shows it."""
    return {
        "asymmetry": stated.asymmetry,
        "surgical_plan": stated.surgical_plan,
        "presented_before": stated.presented_before,
        "note": stated.note,
        "version": stated.version,
    }
