"""The scale of a picture: the newest that a person kept, else what the file says of itself; and its history."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from imaging.calibration import SIZE_WORDS, Origin, Scale, Size
from imaging.file_spacing import FileSpacing, Offer, said_by
from imaging.models import Calibration, CalibrationStep, CalibrationWay
from imaging.steps.history import Steps, steps_of
from portfolio.models import RecordItem

UNCALIBRATED = "No scale: angles and ratios only, no lengths."


@dataclass(frozen=True, slots=True)
class Statement:
    """One line of the history of a picture's scale, in words."""

    number: int
    by: str
    at: datetime
    what: str
    numbers: str
    counts: bool


@dataclass(frozen=True, slots=True)
class ShownOffer:
    """A scale that the file states, for the page."""

    key: str
    numbers: str
    size: str
    why: str
    by_itself: bool
    in_use: bool


@dataclass(frozen=True, slots=True)
class ScaleFacts:
    """All that the page of a scale shows; `way` is how it is told now, `given` what was entered for it.

    `by_itself`: nobody has said anything, so the rules for what the file states decide.
    """

    scale: Scale | None
    numbers: str
    why: str
    way: str
    given: dict[str, Any]
    by_itself: bool
    by: str
    at: datetime | None
    number: int
    """Of the newest statement, 0 for none: what a page has seen."""
    steps: Steps
    history: tuple[Statement, ...]
    file: FileSpacing
    offers: tuple[ShownOffer, ...]


def scale_of(item: RecordItem) -> Scale | None:
    """The scale by which lengths in a picture are told; None is uncalibrated: angles and ratios only.

    The picture comes from `portfolio.access`; its scale is seen by whoever sees the picture.
    """
    return scale_by(newest(item), item)


def scales_of(items: Sequence[RecordItem]) -> dict[int, Scale | None]:
    """The scales of several pictures by primary key, in one query."""
    rows = {row.item_id: row for row in Calibration.objects.filter(item__in=items).order_by("number")}
    return {item.pk: scale_by(rows.get(item.pk), item) for item in items}


def pixel_shape(item: RecordItem, scale: Scale | None) -> tuple[float, float]:
    """A pixel's width and height: in millimetres by the scale, else in its height, as far as the file tells its shape.

    Angles and ratios need no scale, but they do need to know that pixels are not square.
    """
    return (scale.across, scale.down) if scale else (said_by(item.file_facts).aspect, 1.0)


def newest(item: RecordItem) -> Calibration | None:
    """The statement that counts; None while no person made one."""
    return Calibration.objects.filter(item=item).order_by("-number").first()


def scale_by(row: Calibration | None, item: RecordItem) -> Scale | None:
    """The scale after a statement about it; None is uncalibrated."""
    if row is None or row.way == CalibrationWay.BY_ITSELF:
        used = said_by(item.file_facts).used
        return used.scale if used else None
    if row.across is None or row.down is None or row.sd_percent is None:
        return None
    return Scale(row.across, row.down, row.sd_percent, Origin(row.origin), Size(row.size), row.words)


def steps_on(item: RecordItem, undone: int = 0) -> Steps:
    """Which change of the scale may be undone and which done again; as if `undone` had just been undone."""
    rows: list[tuple[int, str, int | None]] = list(
        Calibration.objects.filter(item=item).order_by("number").values_list("number", "step", "undoes")
    )
    return steps_of([*rows, (len(rows) + 1, CalibrationStep.UNDO, undone)] if undone else rows)


def scale_facts(item: RecordItem) -> ScaleFacts:
    """The page of a picture's scale."""
    rows = list(Calibration.objects.filter(item=item).select_related("by").order_by("-number"))
    row = rows[0] if rows else None
    scale, file = scale_by(row, item), said_by(item.file_facts)
    by_itself = row is None or row.way == CalibrationWay.BY_ITSELF
    return ScaleFacts(
        scale=scale,
        numbers=numbers(scale),
        why=scale.words if scale else _why_none(row, file),
        way=CalibrationWay.BY_ITSELF if row is None else row.way,
        given=row.given if row else {},
        by_itself=by_itself,
        by="" if by_itself or row is None else row.by.name,
        at=None if by_itself or row is None else row.at,
        number=row.number if row else 0,
        steps=steps_on(item),
        history=tuple(_statement(one, item, one is row) for one in rows),
        file=file,
        offers=tuple(_shown(offer, scale) for offer in file.offers),
    )


def numbers(scale: Scale | None) -> str:
    """A scale in figures with its error; empty without one."""
    if scale is None:
        return ""
    across, down = f"{scale.across:.4f}", f"{scale.down:.4f}"
    error = f"a pixel ± {scale.sd_percent:.1f} % (1 SD)"
    if across == down:
        return f"{across} {scale.unit} {error}"
    return f"{across} {scale.unit} across and {down} {scale.unit} down {error}"


def size_words(scale: Scale) -> str:
    """Which size the millimetres of a scale have, in words."""
    return SIZE_WORDS[scale.size]


def _shown(offer: Offer, in_use: Scale | None) -> ShownOffer:
    return ShownOffer(
        offer.key,
        numbers(offer.scale),
        size_words(offer.scale).capitalize(),
        offer.why,
        offer.by_itself,
        offer.scale == in_use,
    )


def _why_none(row: Calibration | None, file: FileSpacing) -> str:
    if row is not None and row.way == CalibrationWay.NONE:
        return "It was stated that this picture has no scale."
    if not file.told:
        return "The file states no scale, and nobody has given one."
    if file.offers:
        return "What the file states is not used before a person chooses it; the reason stands beside it."
    return "What the file states is no scale, and nobody has given one."


def _statement(row: Calibration, item: RecordItem, counts: bool) -> Statement:
    scale = scale_by(row, item)
    what = row.get_way_display().capitalize()
    if row.step != CalibrationStep.CHANGE:
        done = "undone" if row.step == CalibrationStep.UNDO else "done again"
        what = f"Statement {row.undoes} {done}, so again {row.get_way_display()}"
    return Statement(row.number, row.by.name, row.at, what, numbers(scale) or UNCALIBRATED, counts)
