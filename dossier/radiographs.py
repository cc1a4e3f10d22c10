"""Radiographs that are printed at their own size, and why the others are not to scale."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from uuid import UUID

from dossier.case_file import NotToScale, TrueSizePart, TrueSizePicture
from dossier.true_size import SHEETS, Placed, placed
from filing.models import StoredFile
from imaging.calibrating.on_paper import size_of
from imaging.calibrating.selectors import scale_of
from imaging.calibration import Scale, Size
from imaging.selectors import picture_facts
from imaging.superimposing.drawing import Sketch
from imaging.superimposing.selectors import drawn_tracings
from imaging.tracing.pictures import picture_of
from portfolio.access import Asker, visible_items, visible_record_sets
from portfolio.ages import in_order
from portfolio.models import Case, ItemState, RecordItem
from portfolio.photographs import RADIOGRAPHS, VIEWS
from portfolio.selectors import stage_label

VIEW_KEYS = tuple(view.key for view in VIEWS if view.band == RADIOGRAPHS)
PANORAMIC = "panoramic"
SIZE_NAMES = {
    Size.NATURAL: "natural size",
    Size.FILM: "film size",
    Size.UNKNOWN: "size stated by the file, which does not say whether of patient or film",
}
NO_SCALE = "not to scale: it has no scale"
VARYING = "not to scale: the magnification of a panoramic radiograph differs from place to place"
PAPER_NAMES = {"a4": "A4", "letter": "Letter"}


@dataclass(frozen=True, slots=True)
class Sized:
    """One radiograph of a case with what is known of its size; `why_not` is empty where it can be printed to size."""

    item: RecordItem
    stage: str
    label: str
    scale: Scale | None
    size: tuple[float, float]
    why_not: str

    @property
    def size_words(self) -> str:
        return _millimetres(self.size)


@dataclass(frozen=True, slots=True)
class SizeLine:
    """One radiograph in the list beside the choice to print it true to size."""

    picture: UUID
    label: str
    words: str
    scaled: bool


def true_size_part(
    user: Asker, case: Case, paper: str, files: Mapping[str, StoredFile], *, cut: bool = False
) -> TrueSizePart | None:
    """The radiographs of a case at their own size, each with the person's tracing on the next page; None without any.

    `files` are the stored files by the names they have in the print; `cut` leaves out edges of what is larger than
    the paper, which is made smaller otherwise.
    """
    names = {file.pk: name for name, file in files.items()}
    drawings = drawn_tracings(user, case)
    pictures, others = [], []
    for one in _sized(user, case):
        name = names.get(one.item.print_file_id or 0)
        if name is None:
            continue
        label = f"{one.label}, {one.stage}"
        if one.scale is None or one.why_not:
            others.append(NotToScale(label, one.why_not))
        else:
            pictures.append(_picture(label, name, one, one.scale, placed(one.size, paper, cut=cut)))
            drawing = drawings.get(one.item.pk)
            if drawing is not None:
                pictures.append(_tracing(one, one.scale, drawing, paper))
    return TrueSizePart(tuple(pictures), tuple(others)) if pictures or others else None


def size_lines(user: Asker, case: Case) -> tuple[SizeLine, ...]:
    """What the choice would do for each radiograph of a case, on each paper."""
    return tuple(
        SizeLine(one.item.public_id, f"{one.label}, {one.stage}", _line(one), one.scale is not None)
        for one in _sized(user, case)
    )


def _sized(user: Asker, case: Case) -> Iterator[Sized]:
    order = {
        record_set.pk: record_set for record_set in in_order(visible_record_sets(user).filter(case=case))
    }
    rows = visible_items(user).filter(record_set__case=case, state=ItemState.PRESENT, view__in=VIEW_KEYS)
    places = list(order)
    for item in sorted(
        rows.select_related("print_file", "file", "no_text_by"),
        key=lambda row: (places.index(row.record_set_id), VIEW_KEYS.index(row.view), row.position),
    ):
        here, scale = order[item.record_set_id], scale_of(item)
        why = NO_SCALE if scale is None else VARYING if item.view == PANORAMIC else ""
        yield Sized(
            item,
            stage_label(here.stage, here.ordinal),
            picture_facts(item).label,
            scale,
            size_of(picture_of(item), scale) if scale else (0, 0),
            why,
        )


def _picture(label: str, name: str, one: Sized, scale: Scale, at: Placed) -> TrueSizePicture:
    return TrueSizePicture(
        label=label,
        file=name,
        width=round(at.width, 3),
        height=round(at.height, 3),
        lying=at.lying,
        percent=None if at.true else at.percent,
        size_name=SIZE_NAMES[scale.size],
        own_size=one.size_words,
        error=f"± {scale.sd_percent:.1f} % (1 SD)",
        scale_words=scale.words,
        left_out=(round(at.left_out[0], 3), round(at.left_out[1], 3)),
    )


def _tracing(one: Sized, scale: Scale, drawing: Sketch, paper: str) -> TrueSizePicture:
    size = (drawing.width, drawing.height)
    at = placed(size, paper)
    sheet = _picture(f"Tracing of the {one.label.lower()}, {one.stage}", "", one, scale, at)
    return replace(sheet, sketch=drawing, own_size=_millimetres(size))


def _millimetres(size: tuple[float, float]) -> str:
    return f"{size[0]:.0f} × {size[1]:.0f} mm"


def _line(one: Sized) -> str:
    if one.scale is None or one.why_not:
        return one.why_not.capitalize()
    fits = [PAPER_NAMES[paper] for paper in SHEETS if placed(one.size, paper).true]
    told = f"{SIZE_NAMES[one.scale.size].capitalize()} {one.size_words}: "
    if fits:
        return f"{told}fits {' and '.join(fits)}"
    percents = " and ".join(
        f"{placed(one.size, paper).percent} % on {PAPER_NAMES[paper]}" for paper in SHEETS
    )
    return f"{told}larger than the paper; printed smaller ({percents}), or at its size without its edges"
