"""What the tracing page sends, checked for shape; what it means is judged by the services."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from imaging.models import MandibularPlane
from imaging.tracing.as_face import Placed
from imaging.tracing.on_picture import Way
from imaging.tracing.outlines import Knot
from imaging.tracing.services import Wanted
from portfolio.forms.bodies import BodyRefused, decimal, read_object, request_key, whole_number

MOST_POINTS = 100
FACES = [(Way.RIGHT.value, "to the right of the picture"), (Way.LEFT.value, "to the left of the picture")]


class BeginForm(forms.Form):
    """The two questions before the first point."""

    public_id = forms.UUIDField(widget=forms.HiddenInput)
    faces = forms.ChoiceField(
        label="To which side does the patient face?",
        choices=FACES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose the side to which the nose points."},
    )
    mandibular_plane = forms.ChoiceField(
        label="Mandibular plane",
        choices=MandibularPlane.choices,
        initial=MandibularPlane.GO_ME,
        help_text="One case uses one plane at every stage: planes differ by about 3°. It stands with each value.",
    )

    @staticmethod
    def fresh(mandibular_plane: str) -> "BeginForm":
        """An empty form with the plane that the case uses."""
        return BeginForm(initial={"public_id": uuid.uuid4(), "mandibular_plane": mandibular_plane})


@dataclass(frozen=True, slots=True)
class SaveBody:
    request_key: str
    seen: int
    wanted: Wanted


@dataclass(frozen=True, slots=True)
class TakeBody:
    """Measures to take over as findings, each with the change number of the finding the page had seen."""

    request_key: str
    seen: int
    take: Mapping[str, int]


def read_save(body: bytes) -> SaveBody:
    """The body of a save; BodyRefused when it has another shape."""
    data = read_object(body)
    points = data.get("points", {})
    if not isinstance(points, dict) or len(points) > MOST_POINTS:
        raise BodyRefused(f"points must be an object of at most {MOST_POINTS}")
    plane, faces = data.get("mandibular_plane"), data.get("faces")
    if plane is not None and plane not in MandibularPlane.values:
        raise BodyRefused("mandibular_plane is not one of the choices")
    if faces is not None and faces not in dict(FACES):
        raise BodyRefused("faces must be right or left")
    outlines = data.get("outlines", {})
    if not isinstance(outlines, dict) or len(outlines) > MOST_POINTS:
        raise BodyRefused(f"outlines must be an object of at most {MOST_POINTS}")
    wanted = Wanted(
        {name: None if at is None else _placed(at) for name, at in points.items()},
        {key: None if row is None else _knots(row) for key, row in outlines.items()},
        plane,
        None if faces is None else Way(faces),
    )
    return SaveBody(request_key(data), whole_number(data, "seen"), wanted)


def read_take(body: bytes) -> TakeBody:
    """The body of taking over; BodyRefused when it has another shape."""
    data = read_object(body)
    take = data.get("take")
    if not isinstance(take, dict) or not 0 < len(take) <= MOST_POINTS:
        raise BodyRefused(f"take must be an object of 1 to {MOST_POINTS}")
    return TakeBody(
        request_key(data), whole_number(data, "seen"), {key: whole_number(take, key) for key in take}
    )


def _knots(row: Any) -> list[Knot]:
    if not isinstance(row, list) or len(row) > MOST_POINTS:
        raise BodyRefused(f"an outline must be null or a list of at most {MOST_POINTS} knots")
    return [_knot(knot) for knot in row]


def _knot(knot: Any) -> Knot:
    if isinstance(knot, str):
        return knot
    if not isinstance(knot, list) or len(knot) != len("xy"):
        raise BodyRefused("a knot must be a landmark's key or a pair of numbers")
    return [_coordinate(value, axis) for value, axis in zip(knot, "xy", strict=True)]


def _placed(at: Any) -> Placed:
    if not isinstance(at, dict):
        raise BodyRefused("a point must be an object or null")
    x, y = (_coordinate(at.get(axis), axis) for axis in "xy")
    return {"x": x, "y": y, "uncertain": at.get("uncertain") is True}


def _coordinate(value: Any, axis: str) -> float:
    return round(decimal(value, axis), 2)
