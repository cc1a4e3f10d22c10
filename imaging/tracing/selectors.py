"""A tracing as the page sees it: points, what they measure, steps to undo, and what findings differ."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from accounts.models import User
from imaging.calibrating.selectors import pixel_shape, scale_of
from imaging.calibration import Scale
from imaging.cephalometry.face import Face
from imaging.cephalometry.measuring import measure_face
from imaging.models import MandibularPlane, Tracing
from imaging.repeats.own_errors import own_point_sds
from imaging.tracing.access import visible_tracings
from imaging.tracing.as_face import LYING_WORDS, face_of, mirrored_words
from imaging.tracing.offers import left_behind, offer_data, offers, on_sheet
from imaging.tracing.on_picture import Axes, Way, face_axes
from imaging.tracing.pictures import picture_of
from imaging.tracing.services import history_of
from portfolio.access import visible_record_sets
from portfolio.models import RecordItem
from portfolio.quantities.radiograph import PLANE_LABELS
from portfolio.selectors import stage_label
from portfolio.selectors.sheets import planes_on_sheets


@dataclass(frozen=True, slots=True)
class Reading:
    """A tracing read: the face, or None with `why` in words."""

    face: Face | None
    axes: Axes | None
    scale: Scale | None
    why: str
    own_sds: Mapping[str, float] = field(default_factory=dict)
    """The reader's own standard deviations in mm by point, where they stand in place of the default."""


def tracing_on(user: User, item: RecordItem) -> Tracing | None:
    """The person's own first tracing of a picture; repeats are never among it."""
    return visible_tracings(user).filter(item=item, reader=user, repeat=0).first()


def read(tracing: Tracing) -> Reading:
    """The face of a tracing that comes with its picture loaded."""
    scale = scale_of(tracing.item)
    axes = face_axes(picture_of(tracing.item), Way(tracing.forward), pixel_shape(tracing.item, scale))
    if axes is None:
        return Reading(None, None, scale, LYING_WORDS)
    own = own_point_sds(tracing.reader)
    face = face_of(tracing.points, axes, scale, tracing.mandibular_plane, own)
    if words := mirrored_words(face):
        return Reading(None, axes, scale, words, own)
    return Reading(face, axes, scale, "", own)


def state(tracing: Tracing, user: User) -> dict[str, Any]:
    """All that changes on the page, as JSON takes it.

    `points`: landmark → x, y in pixels of the original picture, and `uncertain`.  `outlines`: structure → its row of
    knots, a landmark's key or `[x, y]` in the same pixels; it is saved by the same key of a save's body, `null`
    taking an outline away, and undone with the rest.  `axes` are two rows of a matrix that turns pixels into the
    frame of the face.  `undo` and `redo` are the numbers that the step's body has to name, 0 for none.

    `own_sds` are the reader's own standard deviations in mm by point, used in place of the default: empty until there
    are enough repeat tracings.

    `offers` are the measures that a sheet takes, each with what the sheet holds now (`now`, `now_sd`, `now_plane`,
    `method`): `from_here` says that it was taken from this tracing, `same` that nothing differs, `changed` that it was
    taken before something here changed, so that old and new value are to be shown and taking it anew offered.
    `left_behind` are findings from this tracing that it cannot tell any more, with the reason.  `other_planes` are
    other stages of the case that hold to another mandibular plane: stage, plane, and `traced` or `recorded`.
    """
    reading = read(tracing)
    told, refused = measure_face(reading.face) if reading.face else ((), ())
    steps = history_of(tracing)
    shown = picture_of(tracing.item)
    beside, scale = on_sheet(user, tracing), reading.scale
    return {
        "version": tracing.version,
        "points": tracing.points,
        "outlines": tracing.outlines,
        "mandibular_plane": tracing.mandibular_plane,
        "faces": shown.way(Way(tracing.forward)).value,
        "axes": [*reading.axes.x, *reading.axes.y] if reading.axes else None,
        "calibrated": scale is not None,
        "scale_sd_percent": scale.sd_percent if scale else 0,
        "scale_words": scale.words if scale else "",
        "length_unit": scale.unit if scale else "",
        "own_sds": dict(reading.own_sds) if scale else {},
        "scale_hint": reading.face.scale_hint() if reading.face else "",
        "why": reading.why,
        "values": {one.measure.key: {"value": one.value, "sd": one.sd} for one in told},
        "refused": {one.measure.key: one.why for one in refused},
        "undo": steps.undo,
        "redo": steps.redo,
        "offers": [offer_data(one) for one in offers(tracing, beside, told, scale.size if scale else None)],
        "left_behind": [asdict(one) for one in left_behind(beside, refused, reading.why)],
        "other_planes": [asdict(one) for one in other_planes(user, tracing.item, tracing.mandibular_plane)],
    }


def picture_data(item: RecordItem) -> dict[str, Any]:
    """Where pixels of the original lie in the rendition that is traced on."""
    shown = picture_of(item)
    return {
        "width": shown.width,
        "height": shown.height,
        "original": [item.width, item.height],
        "matrix": [shown.xx, shown.yx, shown.xy, shown.yy, shown.x0, shown.y0],
    }


@dataclass(frozen=True, slots=True)
class PlaneElsewhere:
    """The mandibular plane that another stage of the case holds to, in words; `how` is traced or recorded."""

    stage: str
    plane: str
    how: str


def other_planes(user: User, item: RecordItem, plane: str) -> tuple[PlaneElsewhere, ...]:
    """Other stages of the case that were traced, or have angles recorded, with another mandibular plane."""
    return tuple(
        PlaneElsewhere(stage, PLANE_LABELS[other], how)
        for stage, other, how in _planes_elsewhere(user, item)
        if other != plane
    )


def plane_of_case(user: User, item: RecordItem) -> str:
    """The mandibular plane a new tracing begins with: the one that other stages hold to, else Go-Me."""
    return next((plane for _, plane, _ in _planes_elsewhere(user, item)), MandibularPlane.GO_ME.value)


def _planes_elsewhere(user: User, item: RecordItem) -> list[tuple[str, str, str]]:
    """Stage, plane and how, of the case's other records, in their order; what is traced comes first."""
    others = visible_record_sets(user).filter(case=item.record_set.case_id).exclude(pk=item.record_set_id)
    rows = (
        visible_tracings(user)
        .filter(item__record_set__in=others, repeat=0)
        .select_related("item__record_set")
        .order_by("item__record_set__pk", "pk")
    )
    traced = [(_stage(row.item), row.mandibular_plane, "traced") for row in rows]
    recorded = [
        (stage_label(stage, ordinal), plane, "recorded") for stage, ordinal, plane in planes_on_sheets(others)
    ]
    return list(dict.fromkeys(traced + recorded))


def _stage(item: RecordItem) -> str:
    return stage_label(item.record_set.stage, item.record_set.ordinal)
