"""Keeping scales of pictures: each statement is a row of its own, and undoing one is another."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from accounts.models import User
from imaging.calibrating.selectors import newest, steps_on
from imaging.calibration import (
    Doubt,
    Plane,
    Ruler,
    RulerReading,
    Scale,
    ScaleRefused,
    by_magnification,
    by_ruler,
    typed_film_scale,
)
from imaging.file_spacing import said_by
from imaging.models import Calibration, CalibrationStep, CalibrationWay
from portfolio.models import RecordItem
from portfolio.services.saving import ChangedMeanwhile


@dataclass(frozen=True, slots=True)
class Stand:
    """What the page had seen: the number of the newest statement (0 for none), and the key of this request."""

    seen: int
    request_key: str


@dataclass(frozen=True, slots=True)
class Magnification:
    """A stated enlargement of the film, and the film's scale: typed millimetres a pixel, or None for the file's."""

    factor: float
    factor_sd_percent: float
    film: tuple[float, float] | None = None


def keep_ruler(by: User, item: RecordItem, reading: RulerReading, stand: Stand, at: datetime) -> None:
    """Keep the scale of rulers in the picture; raises ScaleRefused, ChangedMeanwhile."""
    scale = by_ruler_in(item, reading)
    _keep(by, item, CalibrationWay.RULER, _given(reading), scale, stand, at)


def by_ruler_in(item: RecordItem, reading: RulerReading) -> Scale:
    """The scale of rulers that lie in the picture; raises ScaleRefused."""
    width, height = item.width or 0, item.height or 0
    for number, ruler in enumerate((reading.first, reading.second), 1):
        for name, (x, y) in (("start", ruler.start), ("end", ruler.end)) if ruler else ():
            if not (0 <= x <= width and 0 <= y <= height):
                raise ScaleRefused(
                    f"ruler_{number}_{name}",
                    f"{x:g} across, {y:g} down lies outside the picture, which is {width} across and {height} down.",
                )
    return by_ruler(reading)


def keep_file(by: User, item: RecordItem, key: str, stand: Stand, at: datetime) -> None:
    """Use one of the scales that the file states; raises ScaleRefused, ChangedMeanwhile."""
    offer = next((one for one in said_by(item.file_facts).offers if one.key == key), None)
    if offer is None:
        raise ScaleRefused("offer", "The file does not state this scale.")
    _keep(by, item, CalibrationWay.FILE, {"offer": key}, offer.scale, stand, at)


def keep_magnification(by: User, item: RecordItem, stated: Magnification, stand: Stand, at: datetime) -> None:
    """Use a stated enlargement; raises ScaleRefused, ChangedMeanwhile."""
    scale = by_magnification(film_scale(item, stated.film), stated.factor, stated.factor_sd_percent)
    given = {
        "factor": stated.factor,
        "factor_sd_percent": stated.factor_sd_percent,
        "film": list(stated.film) if stated.film else None,
    }
    _keep(by, item, CalibrationWay.MAGNIFICATION, given, scale, stand, at)


def film_scale(item: RecordItem, typed: tuple[float, float] | None) -> Scale:
    """The scale of the film: as typed (across, down), else as the file states it; raises ScaleRefused."""
    if typed is not None:
        return typed_film_scale(*typed)
    stated = said_by(item.file_facts).film
    if stated is None:
        raise ScaleRefused("film", "The file states no scale of the film. Type it.")
    return stated


def keep_none(by: User, item: RecordItem, stand: Stand, at: datetime) -> None:
    """State that the picture has no scale, whatever its file says; raises ChangedMeanwhile."""
    _keep(by, item, CalibrationWay.NONE, {}, None, stand, at)


def step(
    by: User, item: RecordItem, action: CalibrationStep, number: int, stand: Stand, at: datetime
) -> None:
    """Undo the newest change of the scale, or do the newest undone one again; raises ChangedMeanwhile.

    `number` is the change that the page means.
    """
    with transaction.atomic():
        row = _turn(item, stand)
        if row is None:
            return
        steps = steps_on(item)
        if number != (steps.undo if action == CalibrationStep.UNDO else steps.redo) or not number:
            raise ChangedMeanwhile
        wanted = steps_on(item, undone=number).undo if action == CalibrationStep.UNDO else number
        source = Calibration.objects.filter(item=item, number=wanted).first() if wanted else None
        _write(by, item, row, _fields(source), stand.request_key, at, action=action, undoes=number)


def _keep(
    by: User,
    item: RecordItem,
    way: CalibrationWay,
    given: Mapping[str, Any],
    scale: Scale | None,
    stand: Stand,
    at: datetime,
) -> None:
    with transaction.atomic():
        row = _turn(item, stand)
        if row is None:
            return
        fields: dict[str, Any] = {"way": way, "given": dict(given)}
        if scale is not None:
            fields |= {
                "across": scale.across,
                "down": scale.down,
                "sd_percent": scale.sd_percent,
                "origin": scale.origin.value,
                "size": scale.size.value,
                "words": scale.words,
            }
        _write(by, item, row, fields, stand.request_key, at)


def _turn(item: RecordItem, stand: Stand) -> int | None:
    """The number of the next statement, with the picture locked; None when this request was answered before."""
    RecordItem.objects.select_for_update(of=("self",)).get(pk=item.pk)
    if Calibration.objects.filter(item=item, request_key=stand.request_key).exists():
        return None
    last = newest(item)
    number = last.number if last else 0
    if number != stand.seen:
        raise ChangedMeanwhile
    return number + 1


def _write(
    by: User,
    item: RecordItem,
    number: int,
    fields: Mapping[str, Any],
    request_key: str,
    at: datetime,
    action: CalibrationStep = CalibrationStep.CHANGE,
    undoes: int | None = None,
) -> None:
    row = Calibration(
        item=item,
        number=number,
        by=by,
        at=at,
        step=action,
        undoes=undoes,
        request_key=request_key,
        **fields,
    )
    row.full_clean()
    row.save(force_insert=True)


def _fields(row: Calibration | None) -> dict[str, Any]:
    """What a row stated; without one the file is asked again."""
    if row is None:
        return {"way": CalibrationWay.BY_ITSELF}
    names = ("way", "given", "across", "down", "sd_percent", "origin", "size", "words")
    return {name: getattr(row, name) for name in names}


def _given(reading: RulerReading) -> dict[str, Any]:
    rulers = [reading.first, *([reading.second] if reading.second else [])]
    given: dict[str, Any] = {
        "rulers": [{"start": list(r.start), "end": list(r.end), "mm": r.millimetres} for r in rulers],
        "plane": reading.plane.value,
        "aspect": reading.aspect,
    }
    if reading.plane == Plane.DETECTOR:
        given |= {"factor": reading.factor, "factor_sd_percent": reading.factor_sd_percent}
    if reading.plane == Plane.MEASURED:
        given |= {
            "off_plane": reading.doubt.off_plane,
            "lens": reading.doubt.lens,
            "tilt": reading.doubt.tilt,
        }
    return given


def reading_of(given: Mapping[str, Any]) -> RulerReading:
    """The reading that was kept as `given`."""
    first, *more = [
        Ruler((r["start"][0], r["start"][1]), (r["end"][0], r["end"][1]), r["mm"]) for r in given["rulers"]
    ]
    doubt = Doubt(given["off_plane"], given["lens"], given["tilt"]) if "lens" in given else Doubt()
    more_words = {"factor_sd_percent": given["factor_sd_percent"]} if "factor_sd_percent" in given else {}
    return RulerReading(
        first,
        Plane(given["plane"]),
        more[0] if more else None,
        given.get("factor"),
        doubt=doubt,
        aspect=given["aspect"],
        **more_words,
    )
