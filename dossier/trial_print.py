"""One case printed after a restore, to prove that what came back can be worked with; the print is thrown away."""

import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pikepdf
from django.db.models import Count
from django.utils import timezone

from accounts.models import User
from dossier.case_file import EXAMINER
from dossier.printing import lay_out, stops
from dossier.selectors import Printable, Wanted, printable
from filing.health import Result
from portfolio.access import visible_cases
from portfolio.ages import latest_day
from press.services import PressFailed, render

MOST_TRIED = 20
"""Cases looked at until one may be printed."""


def proof() -> Result:
    """Print the examiner's copy of one case through the child process, open the file again and count its pages.

    Faces are printed only where a consent in force allows them. Where there is no case, or none that may be printed
    as it stands, the result is good and says so: the backup is not at fault.
    """
    said = ""
    for found in _printable_files(latest_day(timezone.now())):
        said = " ".join(stops(found))
        if not said:
            return _printed(found)
    if said:
        return Result("print", True, f"No case was printed, because none may be as it stands. {said}")
    return Result(
        "print", True, "There is no case to print yet. Database, rows, files and checksums were checked."
    )


def _printable_files(today: date) -> Iterator[Printable]:
    """Cases as they would be printed, each with faces and then without; the fullest of each owner first."""
    tried = 0
    for owner in User.objects.filter(is_active=True).order_by("pk"):
        cases = visible_cases(owner).select_related("patient__portfolio")
        for case in cases.annotate(pictures=Count("record_sets__items")).order_by("-pictures", "pk"):
            if tried == MOST_TRIED:
                return
            tried += 1
            paper = case.patient.portfolio.paper
            yield printable(owner, case, Wanted(EXAMINER, paper, faces=True), today)
            yield printable(owner, case, Wanted(EXAMINER, paper, faces=False), today)


def _printed(found: Printable) -> Result:
    with tempfile.TemporaryDirectory(prefix="foliowright-print-") as name:
        folder = Path(name)
        lay_out(folder, found, lambda percent, words: None)
        try:
            file = render(folder)
            with pikepdf.open(file) as pdf:
                pages, title = len(pdf.pages), str(pdf.docinfo.get("/Title", ""))
                faults = pdf.check_pdf_syntax()
        except (PressFailed, pikepdf.PdfError) as fault:
            return Result("print", False, f"A case could not be printed: {fault}")
    if faults or not pages or found.file.code not in title:
        return Result(
            "print", False, f"The printed case is not sound: {pages} pages, {'; '.join(faults) or title}"
        )
    pictures = f"{len(found.pictures)} picture{'' if len(found.pictures) == 1 else 's'}"
    return Result("print", True, f"One case was printed and opened again: {pages} pages, {pictures}.")
