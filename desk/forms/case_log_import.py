"""Forms of importing a table into the case log: file or pasted text, then what was decided about it."""

from __future__ import annotations

import base64
import binascii
import uuid
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from desk.case_log.table_file import DECIMALS, MOST_ROWS, Asked
from portfolio.forms.importing import MOST_BYTES
from portfolio.text_files import SEPARATORS

MOST_KILOBYTES = MOST_BYTES // 1024


class TableForm(forms.Form):
    """A file of the person's machine, or cells copied from a spreadsheet."""

    file = forms.FileField(
        label="Table as a file",
        required=False,
        allow_empty_file=True,
        help_text=f"CSV with commas, semicolons or tabs, at most {MOST_KILOBYTES} KB and {MOST_ROWS} rows.",
    )
    text = forms.CharField(
        label="Or cells pasted here",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false", "autocomplete": "off"}),
        help_text="Copied from a spreadsheet, the heading first.",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        file: UploadedFile[bytes] | None = cleaned.get("file")
        text = str(cleaned.get("text") or "")
        if file and text.strip():
            self.add_error("text", "Send either a file or pasted cells, not both.")
        elif file is not None:
            self._judge("file", file.size or 0)
        elif not text.strip():
            self.add_error("file", "Choose a file, or paste the cells below.")
        else:
            self._judge("text", len(text.encode()))
        return cleaned

    def _judge(self, name: str, size: int) -> None:
        if not size:
            self.add_error(name, "The file is empty.")
        if size > MOST_BYTES:
            self.add_error(name, f"{size // 1024} KB are too many; a table has at most {MOST_KILOBYTES} KB.")

    def content(self) -> bytes:
        """The bytes that were sent."""
        file: UploadedFile[bytes] | None = self.cleaned_data["file"]
        return file.read() if file else str(self.cleaned_data["text"]).encode()


class DecisionForm(forms.Form):
    """The bytes of the preview, sent back by the page and read again, with what was decided about them."""

    content = forms.CharField(widget=forms.HiddenInput, max_length=2 * MOST_BYTES)
    separator = forms.ChoiceField(
        required=False, choices=[("", ""), *SEPARATORS.items()], widget=forms.HiddenInput
    )
    decimal = forms.ChoiceField(
        required=False, choices=[("", ""), *DECIMALS.items()], widget=forms.HiddenInput
    )
    key = forms.UUIDField(widget=forms.HiddenInput)
    leave_out = forms.BooleanField(required=False)
    confirmed = forms.BooleanField(required=False, widget=forms.HiddenInput)

    @classmethod
    def holding(cls, content: bytes, asked: Asked) -> DecisionForm:
        """The form of a preview; its key makes the import happen once."""
        return cls(
            initial={
                "content": base64.b64encode(content).decode(),
                "separator": asked.separator,
                "decimal": asked.decimal,
                "key": uuid.uuid4(),
                "confirmed": True,
            }
        )

    def clean_content(self) -> bytes:
        try:
            content = base64.b64decode(self.cleaned_data["content"], validate=True)
        except (binascii.Error, ValueError):
            raise forms.ValidationError("The preview is out of date. Send the table again.") from None
        if not 0 < len(content) <= MOST_BYTES:
            raise forms.ValidationError("The preview is out of date. Send the table again.")
        return content

    @property
    def asked(self) -> Asked:
        return Asked(self.cleaned_data["separator"], self.cleaned_data["decimal"])


class UndoForm(forms.Form):
    """Takes one import back."""

    number = forms.IntegerField(min_value=1, widget=forms.HiddenInput)
    key = forms.UUIDField(widget=forms.HiddenInput)
