"""A reader's own errors of points, from finished repeats, where there are enough of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count, Max, Sum

from imaging.calibrating.selectors import pixel_shape, scales_of
from imaging.calibration import Scale
from imaging.models import RepeatTracing
from imaging.repeats.access import visible_repeats
from imaging.repeats.pairs import Pair, own_sds
from imaging.tracing.as_face import face_of
from imaging.tracing.on_picture import Way, face_axes
from imaging.tracing.pictures import picture_of
from portfolio.access import Asker
from portfolio.repeats import FEWEST_PAIRS_USED


@dataclass(frozen=True, slots=True)
class ReadPair:
    """A finished repeat with both faces; None where the picture lies on its side."""

    repeat: RepeatTracing
    pair: Pair | None


def counted_repeats(reader: Asker) -> list[RepeatTracing]:
    """The finished repeats that count: the first one of each radiograph, so that trying again changes nothing."""
    rows = (
        visible_repeats(reader)
        .filter(finished_at__isnull=False)
        .select_related("tracing__item__record_set__case", "first")
        .order_by("first_id", "-tracing__repeat")
    )
    return list({row.first_id: row for row in rows}.values())


def read_pairs(repeats: Sequence[RepeatTracing]) -> list[ReadPair]:
    """Both faces of each, by the scale that the radiograph has today."""
    scales = scales_of([row.tracing.item for row in repeats])
    return [ReadPair(row, _pair(row, scales[row.tracing.item_id])) for row in repeats]


def _pair(row: RepeatTracing, scale: Scale | None) -> Pair | None:
    again = row.tracing
    axes = face_axes(picture_of(again.item), Way(again.forward), pixel_shape(again.item, scale))
    if axes is None:
        return None
    first, second = (
        face_of(points, axes, scale, again.mandibular_plane)
        for points in (row.first_then["points"], again.points)
    )
    return Pair(first, second)


Stamp = tuple[int | None, ...]
_known: dict[int, tuple[Stamp, Mapping[str, float]]] = {}
"""By reader, in this process: what was found, and for which repeats, pictures and scales.

Every save of a tracing asks, and reading all pairs takes longer than the save.
"""


def own_point_sds(reader: Asker) -> Mapping[str, float]:
    """Standard deviation in millimetres of a coordinate by point, for points with enough pairs; mostly empty."""
    finished = visible_repeats(reader).filter(finished_at__isnull=False)
    told = finished.aggregate(repeats=Count("pk"), newest=Max("pk"), changes=Sum("tracing__item__version"))
    if reader.pk is None or told["repeats"] < FEWEST_PAIRS_USED:
        return {}
    scales = finished.aggregate(newest=Max("tracing__item__calibrations__pk"))
    stamp = (*told.values(), scales["newest"])
    known = _known.get(reader.pk)
    if known is None or known[0] != stamp:
        found = own_sds(one.pair for one in read_pairs(counted_repeats(reader)) if one.pair)
        _known[reader.pk] = known = (stamp, found)
    return known[1]
