"""The pictures that findings rest on, gathered for print under the same rules as every other picture."""

from collections.abc import Collection
from dataclasses import dataclass, field

from dossier.case_file import EvidencePart, EvidencePicture
from filing.models import StoredFile
from imaging.evidence import ShownPiece, shown_evidence
from imaging.marking.crops import Crop
from portfolio.access import Asker
from portfolio.models import EvidenceKind, Sheet

SUFFIXES = {"image/jpeg": ".jpg", "image/png": ".png"}
PRINTED = (EvidenceKind.MARKS, EvidenceKind.WITNESS, EvidenceKind.TRACING)
OUTSIDE = "what was marked lies outside the picture as it is cropped now"


@dataclass(frozen=True, slots=True)
class Cut:
    """The part of a stored rendition that is printed."""

    file: StoredFile
    crop: Crop


@dataclass(slots=True)
class Evidence:
    """What a print gathers on its way through the stages; `pictures` are those of the whole print by name."""

    pictures: dict[str, StoredFile]
    with_faces: bool
    cuts: dict[str, Cut] = field(default_factory=dict)
    held: dict[str, int] = field(default_factory=dict)
    faces: bool = False
    unread: list[str] = field(default_factory=list)

    def cut_name(self, file: StoredFile, crop: Crop, suffix: str) -> str:
        """The name of a part in the print; what several findings were read from lies there once."""
        for name, cut in self.cuts.items():
            if (cut.file.pk, cut.crop.box) == (file.pk, crop.box):
                return name
        name = f"pictures/cut-{len(self.cuts) + 1}{suffix}"
        self.cuts[name] = Cut(file, crop)
        return name

    def unread_here(self) -> list[str]:
        """Labels of pictures in which nobody has looked for names, each told once; they are then forgotten here."""
        labels, self.unread = list(dict.fromkeys(self.unread)), []
        return labels


def evidence_parts(
    user: Asker, sheet: Sheet, notation: str, gathered: Evidence, scored: Collection[str]
) -> tuple[EvidencePart, ...]:
    """The findings of a sheet with the pictures they rest on; none without a picture that is printed.

    Of what was read from tracings only findings are drawn whose anchor stands in `scored`: a tracing tells dozens of
    measures, each of which would bring the radiograph once more.
    """
    parts = []
    for one in shown_evidence(user, sheet, notation):
        pieces = [p for p in one.pieces if p.kind != EvidenceKind.TRACING or one.anchor in scored]
        pictures = tuple(made for piece in pieces if (made := _picture(piece, gathered)) is not None)
        if pictures:
            parts.append(EvidencePart(one.words, one.value, one.sd, pictures, one.anchor))
    return tuple(parts)


def _picture(piece: ShownPiece, gathered: Evidence) -> EvidencePicture | None:
    here = piece.picture
    if here is None or piece.kind not in PRINTED or (here.faces and not gathered.with_faces):
        return None
    gathered.faces = gathered.faces or here.faces
    gathered.held[str(here.public_id)] = here.masks
    if here.text_unchecked:
        gathered.unread.append(here.label)
    suffix = SUFFIXES[here.file.media_type]
    told = piece.kind_words.capitalize()
    words = [told if told == here.label else f"{told}: {here.label}"]
    if piece.points:
        words.append(f"read at {piece.points}")
    if piece.kind != EvidenceKind.WITNESS and piece.crop is None:
        words.append(OUTSIDE)
    if piece.scale_percent:
        words.append(f"scale ± {piece.scale_percent} per cent")
    if piece.crop is None:
        name = f"pictures/evidence-{len(gathered.pictures) + 1}{suffix}"
        gathered.pictures[name] = here.file
        return EvidencePicture(here.label, name, here.file.sha256, here.width, here.height, "; ".join(words))
    name = gathered.cut_name(here.file, piece.crop, suffix)
    return EvidencePicture(
        here.label,
        name,
        here.file.sha256,
        piece.crop.width,
        piece.crop.height,
        "; ".join(words),
        piece.crop.unit,
        piece.crop.paths,
        piece.crop.points,
        piece.crop.names if piece.points else (),
    )
