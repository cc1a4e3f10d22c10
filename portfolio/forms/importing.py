"""Forms of an import: the file, then the confirmation of what was previewed."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

MOST_BYTES = 512 * 1024


class SheetFileForm(forms.Form):
    """A sheet file, JSON or CSV."""

    file = forms.FileField(
        label="Sheet file",
        help_text="JSON or CSV, at most 512 KB. CSV may use commas, semicolons or tabs.",
        error_messages={"required": "Choose a file.", "empty": "The file is empty."},
    )

    def clean_file(self) -> UploadedFile[bytes]:
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError(
                f"The file has {(file.size or 0) // 1024} KB; a sheet file has at most {MOST_BYTES // 1024} KB."
            )
        return file


class ImportConfirmForm(forms.Form):
    """What was previewed, sent back by the page; it is read and checked again like any file."""

    text = forms.CharField(widget=forms.HiddenInput, strip=False, max_length=2 * MOST_BYTES)
    seen_version = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    key = forms.UUIDField(widget=forms.HiddenInput)

    @classmethod
    def for_preview(cls, text: str, version: int) -> ImportConfirmForm:
        """The form that confirms a preview; its key makes the import happen once."""
        initial: dict[str, Any] = {"text": text, "seen_version": version, "key": uuid.uuid4()}
        return cls(initial=initial)


class ImportUndoForm(forms.Form):
    """Takes back the import that is the last change of a sheet."""

    number = forms.IntegerField(min_value=1, widget=forms.HiddenInput)
    key = forms.UUIDField(widget=forms.HiddenInput)
