"""What the pages of repeats take: beginning one, a reason in writing, the days to wait."""

from django import forms

from portfolio.repeating.services import MOST_REASON, MOST_WAIT_DAYS


class BeginForm(forms.Form):
    """Begins a repeat; the public id makes that a form sent twice begins one."""

    public_id = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(
        label="Why it begins before it is due",
        required=False,
        max_length=MOST_REASON,
        help_text="Kept with the repeat and shown with the figures.",
    )


class ReasonForm(forms.Form):
    """A reason in writing."""

    reason = forms.CharField(
        label="Reason",
        max_length=MOST_REASON,
        help_text="Kept for good and shown with the figures.",
        error_messages={"required": "A reason in writing is needed; it is kept and shown with the figures."},
    )


class WaitForm(forms.Form):
    """How many days to wait before a repeat."""

    days = forms.IntegerField(
        label="Days to wait before a repeat",
        min_value=0,
        max_value=MOST_WAIT_DAYS,
        widget=forms.NumberInput(attrs={"class": "field-short"}),
    )
