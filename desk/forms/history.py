"""The form that takes a change of a sheet back."""

from django import forms


class UndoForm(forms.Form):
    """Number of the change, and a key so that a form sent twice undoes once."""

    number = forms.IntegerField(min_value=1, max_value=1_000_000)
    request_key = forms.RegexField(regex=r"\A[0-9a-f]{32}\Z")
