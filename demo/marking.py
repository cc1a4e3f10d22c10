"""Marks on drawings of the first case that findings of its sheet rest on, and witness pictures of two others."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from accounts.models import User
from demo.broken import DemoBroken
from demo.drawings import ARCH_RULER_MM, ARCH_RULERS, arch_tooth, caliper
from imaging import services as imaging
from imaging.calibrating import services as calibrating
from imaging.calibration import Plane, Ruler, RulerReading
from imaging.marking import services as marking
from imaging.marking.taking_over import Asked, take_over
from imaging.steps.answers import Saved
from portfolio.access import visible_items
from portfolio.models import EvidenceKind, RecordItem, RecordSet, Sheet
from portfolio.selectors import reading
from portfolio.selectors.standing import standing
from portfolio.services import EvidencePiece, Recorded, record_items
from portfolio.services.evidence_adding import add_evidence

WIDTHS = {"upper": (("11", 6), ("21", 7)), "lower": (("41", 6), ("42", 5))}
"""Teeth whose width is marked, with their places in the drawing from its left."""
OPENS = {"upper": 1, "lower": -1}
MOLARS = ((300.0, 380.0), (262.0, 420.0))
"""Where the cusp of the upper and the groove of the lower first molar are drawn in the right side view."""
WITNESSED = ("overjet", "overbite")
ZOOM = 4.0


def put_on(by: User, here: RecordSet, sheet: Sheet, uneven: int, at: datetime) -> None:
    """Mark the pictures of these records and take the marks over, to the values that the sheet has already.

    `uneven` is how the pictures were drawn.  Raises DemoBroken for a step that is refused.
    """
    for view in WIDTHS:
        item = _picture(by, here, view)
        start, end = ARCH_RULERS[OPENS[view]]
        ruler = RulerReading(Ruler(start, end, ARCH_RULER_MM), Plane.MEASURED)
        calibrating.keep_ruler(by, item, ruler, calibrating.Stand(0, f"demo-scale-{item.pk}"), at)
        marks = dict(_widths(sheet, view, uneven))
        _taken_over(by, item, sheet, {tooth: ("tooth_width", mark, "") for tooth, mark in marks.items()}, at)
    line = _mark("line", "Cusp to groove", *MOLARS)
    relation = _value(sheet, "molar_relation", "right")
    _taken_over(by, _picture(by, here, "right"), sheet, {"right": ("molar_relation", line, relation)}, at)
    for quantity in WITNESSED:
        _witness(by, here, sheet, quantity, at)


def _picture(by: User, here: RecordSet, view: str) -> RecordItem:
    return visible_items(by).get(record_set=here, view=view)


def _value(sheet: Sheet, quantity: str, site: str) -> str:
    found = reading(sheet).at(quantity, site)
    if found is None:
        raise DemoBroken(f"{quantity} {site}: not on the sheet")
    return found.value


def _widths(sheet: Sheet, view: str, uneven: int) -> Iterator[tuple[str, dict[str, Any]]]:
    """Marks over drawn teeth, as long as the sheet says that they are wide."""
    (left, _), (right, _) = ARCH_RULERS[OPENS[view]]
    for tooth, number in WIDTHS[view]:
        x, y, _ = arch_tooth(number, uneven, OPENS[view])
        half = float(_value(sheet, "tooth_width", tooth)) * (right - left) / ARCH_RULER_MM / 2
        yield tooth, _mark("distance", tooth, (x - half, y), (x + half, y))


def _mark(kind: str, label: str, *places: tuple[float, float]) -> dict[str, Any]:
    spots = [{"x": round(x, 2), "y": round(y, 2), "zoom": ZOOM} for x, y in places]
    return {"kind": kind, "label": label, "places": spots}


def _taken_over(
    by: User, item: RecordItem, sheet: Sheet, wanted: Mapping[str, tuple[str, Any, str]], at: datetime
) -> None:
    """Save marks and take each over; `wanted` is site → quantity, mark, and what the eye says."""
    named = {site: f"m{number}" for number, site in enumerate(wanted, 1)}
    marks = {named[site]: mark for site, (_, mark, _) in wanted.items()}
    answer = marking.save(by, item, marks, 0, f"demo-marks-{item.pk}", at)
    if not isinstance(answer, Saved):
        raise DemoBroken(f"marks: {answer}")
    for site, (quantity, _, code) in wanted.items():
        seen = standing(sheet).changed_in[quantity, site, 1]
        asked = Asked(named[site], quantity, site, code=code, seen=seen)
        taken = take_over(by, item, asked, f"demo-mark-{item.pk}-{site}", at)
        if not isinstance(taken, Recorded):
            raise DemoBroken(f"mark {quantity} {site}: {taken}")


def _witness(by: User, here: RecordSet, sheet: Sheet, quantity: str, at: datetime) -> None:
    """A picture of the caliper with its reading, as evidence beside the value of tooth 11."""
    data = caliper(_value(sheet, quantity, "11"))
    answer = imaging.add_picture(by, here, f"caliper {quantity}.png", data)
    if isinstance(answer, imaging.NotTaken):
        raise DemoBroken(f"witness picture: {answer.reason}")
    item = answer.item
    record_items.assign_view(item, "witness", item.version)
    record_items.state_no_text(by, item, item.version, at)
    piece = EvidencePiece(EvidenceKind.WITNESS.value, item.public_id)
    added = add_evidence(by, sheet, (quantity, "11", 1), piece, f"demo-witness-{item.pk}", at)
    if not isinstance(added, Recorded):
        raise DemoBroken(f"witness of {quantity}: {added}")
