"""Puts the drawn radiographs into the invented records: views, ticks, scales, tracings, and findings taken from them."""

import random
import uuid
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from functools import cache

from accounts.models import User
from demo.broken import DemoBroken
from demo.radiographs.film import RULER_MM, Radiograph, picture
from demo.scenario import PORTFOLIOS
from demo.scenario.faces import radiograph, record_of
from demo.scenario.filmed import Record
from imaging import services as imaging
from imaging.calibrating import services as calibrating
from imaging.calibration import Plane, Ruler, RulerReading
from imaging.cephalometry.landmarks import LANDMARKS
from imaging.models import MandibularPlane, Tracing
from imaging.repeats import services as repeats
from imaging.steps.answers import Saved
from imaging.superimposing import services as superimposing
from imaging.tracing import services as tracings
from imaging.tracing.as_face import Placed
from imaging.tracing.offers import MAIN, on_sheet
from imaging.tracing.on_picture import Way
from imaging.tracing.taking_over import take_over
from portfolio.access import visible_record_sets
from portfolio.models import RecordItem
from portfolio.services import Recorded, record_items

HARD_TO_SEE = ("L1A", "Po")
"""Points that a reader marks as uncertain on these radiographs."""
LAST_BEGUN = "PM"
"""The landmark after which the tracing that was begun was left."""
BETWEEN = timedelta(minutes=4)
FORGOTTEN = timedelta(days=15)
"""How long before its repeat a radiograph was traced."""
HAND_MM = 0.6
"""How far a hand misses a point in each direction (choice, no source)."""
AT_ONCE = 2
"""Radiographs drawn side by side."""

Exposures = Mapping[tuple[str, str], tuple[Record, Radiograph, bytes]]


@cache
def exposures() -> Exposures:
    """Every radiograph by the note of its case and its stage, drawn; always the same."""
    planned = [(plan, sheet) for portfolio in PORTFOLIOS for plan in portfolio.cases for sheet in plan.sheets]
    drawn = [radiograph(plan, sheet) for plan, sheet in planned]
    with ThreadPoolExecutor(AT_ONCE) as threads:  # most of the drawing is done where threads run side by side
        pictures = list(threads.map(picture, drawn))
    return {
        (plan.note, sheet.stage): (record_of(plan, sheet), one, data)
        for (plan, sheet), one, data in zip(planned, drawn, pictures, strict=True)
    }


def put_in(by: User, exposed: Exposures, at: datetime) -> None:
    """Add the radiographs to the records of their cases; raises DemoBroken for a step that is refused."""
    for record_set in (
        visible_record_sets(by).filter(case__note__in={note for note, _ in exposed}).select_related("case")
    ):
        key = (record_set.case.note, record_set.stage)
        record, drawn, data = exposed[key]
        answer = imaging.add_picture(by, record_set, f"lateral {record_set.stage}.jpg", data)
        if isinstance(answer, imaging.NotTaken):
            raise DemoBroken(f"radiograph of {key}: {answer.reason}")
        item = answer.item
        _ticks(by, item, record, at)
        if record.scaled:
            _scale(by, item, drawn, at)
        tracing = _trace(by, item, record, drawn, at - FORGOTTEN if record.repeated else at)
        if record.taken_over:
            _taken_over(by, tracing, at + 2 * BETWEEN)
        if record.repeated:
            _repeat(by, item, drawn, at + 3 * BETWEEN)


def _ticks(by: User, item: RecordItem, record: Record, at: datetime) -> None:
    record_items.assign_view(item, "lateral", item.version)
    if record.quality:
        record_items.save_quality(item, record.quality, item.version)
    if record.side_checked:
        record_items.save_side_check(item, "right", "no_mark", item.version)
    if record.looked_through:
        record_items.state_no_text(by, item, item.version, at)


def _scale(by: User, item: RecordItem, drawn: Radiograph, at: datetime) -> None:
    """As by two clicks on the ends of the ruler."""
    upper, lower = drawn.film.ruler_ends()
    reading = RulerReading(Ruler(upper, lower, RULER_MM), Plane.MIDSAGITTAL)
    calibrating.keep_ruler(by, item, reading, calibrating.Stand(0, f"demo-scale-{item.pk}"), at)


def _trace(by: User, item: RecordItem, record: Record, drawn: Radiograph, at: datetime) -> Tracing:
    tracing = tracings.begin(by, item, uuid.uuid4(), Way.RIGHT, MandibularPlane.GO_ME)
    points = {name: _placed(*spot, uncertain=name in HARD_TO_SEE) for name, spot in drawn.points().items()}
    if record.traced == "begun":
        keys = [landmark.key for landmark in LANDMARKS]
        _saved(
            by, tracing, tracings.Wanted({key: points[key] for key in keys[: keys.index(LAST_BEGUN) + 1]}), at
        )
        return tracing
    outlines = {
        key: [knot if isinstance(knot, str) else [round(axis, 2) for axis in knot] for knot in row]
        for key, row in drawn.outlines().items()
    }
    _saved(by, tracing, tracings.Wanted(points), at)
    _saved(by, tracing, tracings.Wanted(outlines=outlines), at + BETWEEN)
    marks = {key: _placed(*spot) for key, spot in drawn.stable_marks().items()}
    answer = superimposing.save_marks(tracing, marks, 0)
    if not isinstance(answer, superimposing.MarksSaved):
        raise DemoBroken(f"stable marks: {answer}")
    return tracing


def _repeat(by: User, item: RecordItem, drawn: Radiograph, at: datetime) -> None:
    """Traced again: where the points are drawn, missed as a hand misses them, by the same amounts in every demo."""
    hand = random.Random(drawn.film.seed)  # noqa: S311
    sd = HAND_MM * drawn.film.fineness
    points = {
        name: _placed(x + hand.gauss(0, sd), y + hand.gauss(0, sd)) for name, (x, y) in drawn.points().items()
    }
    repeat = repeats.begin_repeat(by, item, uuid.uuid4(), at)
    answer = repeats.save_repeat(
        by, repeat, tracings.Wanted(points), 0, f"demo-repeat-{item.pk}", at + BETWEEN
    )
    if not isinstance(answer, Saved):
        raise DemoBroken(f"repeat: {answer}")
    repeats.finish_repeat(repeat, at + 2 * BETWEEN)


def _placed(x: float, y: float, *, uncertain: bool = False) -> Placed:
    return {"x": round(x, 2), "y": round(y, 2), "uncertain": uncertain}


def _saved(by: User, tracing: Tracing, wanted: tracings.Wanted, at: datetime) -> None:
    key = f"demo-{tracing.pk}-{tracing.version}"
    answer = tracings.save(by, tracing, wanted, tracing.version, key, at)
    if not isinstance(answer, Saved):
        raise DemoBroken(f"tracing: {answer}")
    tracing.refresh_from_db()


def _taken_over(by: User, tracing: Tracing, at: datetime) -> None:
    seen = on_sheet(by, tracing).seen
    answer = take_over(by, tracing, {key: seen.get(key, 0) for key in MAIN}, f"demo-from-{tracing.pk}", at)
    if not isinstance(answer, Recorded):
        raise DemoBroken(f"taking over: {answer}")
