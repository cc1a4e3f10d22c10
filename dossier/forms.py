"""The choices of a print."""

from django import forms

from dossier.case_file import EXAMINER, PAPERS
from dossier.true_size import CUT, FIT

EDITIONS = (
    ("examiner", "Examiner's copy: scores with sources and rule choices, without comments and other totals"),
    ("candidate", "Candidate's copy: everything, with comments, other totals and distances to the next step"),
)


LARGER = (
    (FIT, "printed smaller, which is said on the page"),
    (CUT, "printed at their size without their edges; how much is left out is said on the page"),
)


class PrintForm(forms.Form):
    """Edition, paper, whether photographs of the face are printed, and radiographs at their own size."""

    edition = forms.ChoiceField(choices=EDITIONS, initial=EXAMINER, widget=forms.RadioSelect, label="Copy")
    paper = forms.ChoiceField(choices=tuple(PAPERS.items()), label="Paper")
    faces = forms.BooleanField(
        required=False,
        initial=True,
        label="Print photographs of the face",
        help_text="Asks for a consent in force that allows pictures of the face for this board examination.",
    )
    true_size = forms.BooleanField(
        required=False,
        label="Print radiographs true to size too",
        help_text="Each radiograph that has a scale on a page of its own, with a line of 100 mm to check the print by. "
        "Print these pages at 100 per cent.",
    )
    larger = forms.ChoiceField(
        required=False,
        choices=LARGER,
        initial=FIT,
        widget=forms.RadioSelect,
        label="Radiographs that are larger than the paper",
    )

    def clean_larger(self) -> str:
        return self.cleaned_data["larger"] or FIT
