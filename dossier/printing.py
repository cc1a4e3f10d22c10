"""Make the print of one case: gather, refuse in words, write a folder of its own, press it, keep the result."""

import hashlib
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from django.utils import timezone

from dossier import pages
from dossier.case_file import CaseFile, EvidencePicture, Picture, StagePart
from dossier.selectors import Printable, Wanted, printable
from dossier.true_size import FIT
from filing import services as filing_services
from filing.models import StoredFile
from filing.selectors import BytesMissing, open_bytes
from imaging.evidence import cut_out
from jobs.handle import JobFailed, JobHandle
from portfolio.access import visible_cases
from portfolio.ages import latest_day
from press.services import PressFailed, render
from press.typeface import without_glyph

CHUNK = 1 << 16
SHOWN_CHARACTERS = 12
CHANGED_WORDS = (
    "The case was changed after this print was asked for. Run it again to print the case as it is now."
)
KIND = "case_print"


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []

    def handle_data(self, data: str) -> None:
        self.said.append(data)


def stops(found: Printable) -> tuple[str, ...]:
    """Everything that stops this print, in words for its owner: consent, missing pictures, characters without a glyph."""
    said = list(found.stops)
    missing = []
    for name, stored in [*found.pictures.items(), *((name, cut.file) for name, cut in found.cuts.items())]:
        try:
            open_bytes(stored).close()
        except BytesMissing:
            missing.append(_label(found.file, name))
    if missing:
        said.append(
            f"The stored file of a picture is missing: {', '.join(missing)}. Take the picture in again or delete it."
        )
    reader = _Text()
    reader.feed(pages.document(found.file))
    boxes = without_glyph("".join(reader.said))
    if boxes:
        shown = ", ".join(f"{one} (U+{ord(one):04X})" for one in boxes[:SHOWN_CHARACTERS])
        said.append(f"The typeface of print has no sign for: {shown}. Replace them in notes and comments.")
    return tuple(said)


def _label(file: CaseFile, name: str) -> str:
    return next(
        f"{stage.label}, {picture.label}" for stage, picture in _pictures(file) if picture.file == name
    )


def _pictures(file: CaseFile) -> Iterator[tuple[StagePart, Picture | EvidencePicture]]:
    for stage in file.stages:
        yield from ((stage, picture) for band in stage.bands for picture in band.pictures)
        yield from ((stage, picture) for part in stage.evidence for picture in part.pictures)


def input_digest(file: CaseFile) -> str:
    """Tells prints apart by everything that goes into them: pages, style sheets and the checksums of pictures."""
    pictures = [picture.sha256 for _, picture in _pictures(file)]
    parts = [pages.document(file), pages.style(file), *pictures]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def print_name(file: CaseFile) -> str:
    """The name of the printed file: code, edition and paper only."""
    return f"{file.code}-{file.edition}-{file.paper}.pdf"


def wanted_of(options: Mapping[str, Any]) -> Wanted:
    """Which copy the options of a job ask for."""
    return Wanted(
        options["edition"],
        options["paper"],
        bool(options["faces"]),
        bool(options.get("true_size")),
        options.get("larger", FIT),
    )


def case_is_gone() -> JobFailed:
    """What a job says when its case was deleted or erased."""
    return JobFailed("This case is no longer among your cases.")


def print_case(handle: JobHandle) -> StoredFile:
    """The work of the job: one case by the options edition, paper and faces."""
    handle.progress(2, "Gathering the case")
    rows = visible_cases(handle.asked_by).select_related("patient__portfolio")
    case = rows.filter(public_id=handle.subject).first()
    if case is None:
        raise case_is_gone()
    found = printable(handle.asked_by, case, wanted_of(handle.options), latest_day(timezone.now()))
    stopping = stops(found)
    if stopping:
        raise JobFailed(" ".join(stopping))
    if input_digest(found.file) != handle.input_digest:
        raise JobFailed(CHANGED_WORDS)
    with tempfile.TemporaryDirectory(prefix="foliowright-print-") as name:
        folder = Path(name)
        lay_out(folder, found, handle.progress)
        handle.progress(40, "Printing")
        try:
            printed = render(folder, lambda: handle.progress(60, "Printing"))
        except PressFailed as failure:
            raise JobFailed(f"Case {case.code}: {failure}") from failure
        handle.progress(95, "Keeping the result")
        with printed.open("rb") as stream:
            return filing_services.store(
                handle.asked_by,
                iter(lambda: stream.read(CHUNK), b""),
                media_type="application/pdf",
                role=StoredFile.Role.RESULT,
                shown_name=print_name(found.file),
            )


def lay_out(folder: Path, found: Printable, progress: Callable[[int, str], None]) -> None:
    """Write page, style sheet and pictures into the folder that the child process sees."""
    (folder / "page.html").write_text(pages.document(found.file), encoding="utf-8")
    (folder / "page.css").write_text(pages.style(found.file), encoding="utf-8")
    (folder / "pictures").mkdir()
    for number, (name, stored) in enumerate(found.pictures.items(), 1):
        progress(5 + 30 * number // len(found.pictures), f"Laying out picture {number}")
        with open_bytes(stored) as source, (folder / name).open("wb") as target:
            shutil.copyfileobj(source, target, CHUNK)
    for number, (name, cut) in enumerate(found.cuts.items(), 1):
        progress(35 + 5 * number // len(found.cuts), f"Cutting out evidence {number}")
        (folder / name).write_bytes(cut_out(cut.file, cut.crop))
