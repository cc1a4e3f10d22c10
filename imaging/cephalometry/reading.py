"""The tracing file: JSON text in, a `Face` out, or every fault at once.

Numbers are JSON numbers, scales decimal texts.  Nothing is guessed: an
unknown name, a doubled key or a mirrored picture refuses the file.
"""

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from imaging.cephalometry.face import STRUCTURES, Face, Spot
from imaging.cephalometry.landmarks import BY_KEY, DEFAULT_POINT_SD_MM
from imaging.cephalometry.planes import MANDIBULAR_PLANES
from imaging.geometry import Vector

KEYS = (
    "tracing",
    "y",
    "faces",
    "mm_per_unit",
    "scale_sd_percent",
    "mandibular_plane",
    "points",
    "fiducials",
)
REQUIRED = ("tracing", "y", "faces", "points")
Y_WAYS = {"up": 1.0, "down": -1.0}
FACES_WAYS = {"right": 1.0, "left": -1.0}
MOST_BYTES = 1_000_000
MOST_COORDINATE = 1_000_000
MOST_MM_PER_UNIT = 1000
MOST_SCALE_SD_PERCENT = 50
MOST_POINT_SD_MM = 50
MOST_FIDUCIALS = 200
LONGEST_NAME = 64
DECIMAL = re.compile(r"[0-9]{1,9}(\.[0-9]{1,20})?")


class TracingRefused(ValueError):
    """A file that is not taken; `faults` holds one line for each fault."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


class _Object(dict[str, Any]):
    """A JSON object that remembers the keys it was given more than once."""

    doubled: tuple[str, ...] = ()


@dataclass
class _Reader:
    """A tracing file on its way in, with the faults found so far."""

    faults: list[str] = field(default_factory=list)

    def fault(self, where: str, message: str) -> None:
        self.faults.append(f"{where}: {message}" if where else message)

    def objects(self, where: str, found: Any, what: str) -> Iterator[tuple[str, Any]]:
        """The entries of an object, after its doubled keys were noted; none when it is something else."""
        if not isinstance(found, _Object):
            self.fault(where, f"must be an object of {what}, not {shown(found)}")
            return
        for key in found.doubled:
            self.fault(where, f"{shown(key)} is given twice")
        yield from found.items()

    def choice(self, where: str, found: Any, allowed: Mapping[str, Any], default: str) -> str:
        if isinstance(found, str) and found in allowed:
            return found
        self.fault(where, f"must be {' or '.join(allowed)}, not {shown(found)}")
        return default

    def decimal(self, where: str, found: Any, example: str, most: int, zero: bool) -> float:
        """A decimal text as a number; 1.0 after a fault."""
        if not isinstance(found, str) or not DECIMAL.fullmatch(found):
            self.fault(where, f'must be a decimal text such as "{example}", not {shown(found)}')
            return 1.0
        value = float(found)
        if value > most or (value == 0 and not zero):
            low = "0 up to" if zero else "more than 0 and up to"
            self.fault(where, f"{shown(found)} is out of range; allowed: {low} {most}")
            return 1.0
        return value

    def number(self, where: str, what: str, found: Any, low: float, high: float) -> float:
        """A finite JSON number; 0.0 after a fault."""
        if isinstance(found, bool) or not isinstance(found, int | float):
            self.fault(where, f"{what} must be a number, not {shown(found)}")
            return 0.0
        if not (-1e300 < found < 1e300) or not low <= found <= high:
            self.fault(where, f"{what} {shown(found)} is out of range; allowed: {low:g} to {high:g}")
            return 0.0
        return float(found)

    def spot(self, where: str, found: Any, scale: Vector) -> Spot:
        """A point `[x, y]` or `[x, y, sd]` in the face's frame."""
        if not isinstance(found, list) or len(found) not in (2, 3):
            self.fault(where, f"must be [x, y] or [x, y, SD in mm], not {shown(found)}")
            return Spot(Vector(0.0, 0.0))
        x, y = (
            self.number(where, axis, value, -MOST_COORDINATE, MOST_COORDINATE)
            for axis, value in zip("xy", found, strict=False)
        )
        sd = (
            self.number(where, "SD", found[2], 0, MOST_POINT_SD_MM)
            if len(found) == 3
            else DEFAULT_POINT_SD_MM
        )
        return Spot(Vector(x * scale.x, y * scale.y), sd)


def shown(found: Any) -> str:
    """Anything met in a file, short and on one line."""
    if isinstance(found, dict | list):
        return f"{'an object' if isinstance(found, dict) else 'a list'} of {len(found)}"
    if isinstance(found, str):
        cut = found[:40] + ("…" if len(found) > 40 else "")
        return f'"{cut}"' if cut.isprintable() else json.dumps(cut)
    if isinstance(found, float) and not math.isfinite(found):
        return "a number too large"
    return json.dumps(found)[:40]


def read_tracing(text: str) -> Face:
    """The face of a tracing file; TracingRefused with every fault otherwise."""
    reader = _Reader()
    whole = _parsed(text)
    entries = dict(reader.objects("", whole, "a tracing"))
    for key in entries:
        if key not in KEYS:
            reader.fault("", f"{shown(key)} is not a key of a tracing; allowed: {', '.join(KEYS)}")
    for key in REQUIRED:
        if isinstance(whole, _Object) and key not in entries:
            reader.fault("", f"{key} is missing")
    if "tracing" in entries and (type(entries["tracing"]) is not int or entries["tracing"] != 1):
        reader.fault("tracing", f"must be 1, not {shown(entries['tracing'])}")
    up = reader.choice("y", entries["y"], Y_WAYS, "up") if "y" in entries else "up"
    faces = reader.choice("faces", entries["faces"], FACES_WAYS, "right") if "faces" in entries else "right"
    plane = reader.choice(
        "mandibular_plane", entries.get("mandibular_plane", "go_me"), MANDIBULAR_PLANES, "go_me"
    )
    calibrated = "mm_per_unit" in entries
    unit = _unit(reader, entries["mm_per_unit"]) if calibrated else Vector(1.0, 1.0)
    scale = Vector(unit.x * FACES_WAYS[faces], unit.y * Y_WAYS[up])
    scale_sd = 0.0
    if "scale_sd_percent" in entries:
        scale_sd = reader.decimal(
            "scale_sd_percent", entries["scale_sd_percent"], "0.4", MOST_SCALE_SD_PERCENT, zero=True
        )
    points = _points(reader, entries["points"], scale) if "points" in entries else {}
    fiducials = _fiducials(reader, entries["fiducials"], scale) if "fiducials" in entries else {}
    face = Face(points, calibrated, scale_sd, plane, fiducials)
    if not reader.faults:
        chin, line = face.mirrored_at()
        if chin:
            lie = "lie" if "," in chin else "lies"
            reader.fault(
                "", f"{chin} {lie} above {line}: the picture is mirrored; check y ({up}) and faces ({faces})"
            )
    if reader.faults:
        raise TracingRefused(reader.faults)
    return face


def _parsed(text: str) -> Any:
    def noted(pairs: list[tuple[str, Any]]) -> _Object:
        made = _Object(pairs)
        if len(made) < len(pairs):
            names = [key for key, _ in pairs]
            made.doubled = tuple(key for key in made if names.count(key) > 1)
        return made

    def never(constant: str) -> Any:
        raise ValueError(f"{constant} is not a number of JSON")

    def whole(digits: str) -> int | float:
        # thousands of digits are no coordinate, and turning them into a whole number takes long
        return int(digits) if len(digits) < 300 else math.copysign(math.inf, -1 if digits[0] == "-" else 1)

    try:
        return json.loads(text, object_pairs_hook=noted, parse_constant=never, parse_int=whole)
    except RecursionError as error:
        raise TracingRefused(["is nested too deeply to be a tracing"]) from error
    except ValueError as error:
        raise TracingRefused([f"is not JSON: {' '.join(str(error).split())}"]) from error


def _unit(reader: _Reader, found: Any) -> Vector:
    where = "mm_per_unit"
    if not isinstance(found, list):
        both = reader.decimal(where, found, "0.1", MOST_MM_PER_UNIT, zero=False)
        return Vector(both, both)
    if len(found) != 2:
        reader.fault(where, f"must be a decimal text or a pair of them [x, y], not {shown(found)}")
        return Vector(1.0, 1.0)
    x, y = (reader.decimal(where, value, "0.1", MOST_MM_PER_UNIT, zero=False) for value in found)
    return Vector(x, y)


def _points(reader: _Reader, found: Any, scale: Vector) -> dict[str, Spot]:
    read: dict[str, Spot] = {}
    for name, value in reader.objects("points", found, "landmarks"):
        if name in BY_KEY:
            read[name] = reader.spot(f"points {name}", value, scale)
            continue
        alike = [key for key, one in BY_KEY.items() if name.lower() in (key.lower(), one.name.lower())]
        near = alike or get_close_matches(name[:LONGEST_NAME], BY_KEY, n=1, cutoff=0.5)
        reader.fault("points", f"{shown(name)} is not a landmark" + (f"; nearest: {near[0]}" if near else ""))
    return read


def _fiducials(reader: _Reader, found: Any, scale: Vector) -> dict[str, dict[str, Spot]]:
    read: dict[str, dict[str, Spot]] = {}
    for structure, marks in reader.objects("fiducials", found, "structures"):
        if structure not in STRUCTURES:
            reader.fault(
                "fiducials", f"{shown(structure)} is not a structure; allowed: {', '.join(STRUCTURES)}"
            )
            continue
        where = f"fiducials {structure}"
        read[structure] = {}
        for name, value in reader.objects(where, marks, "marks"):
            if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
                reader.fault(where, f"{shown(name)} is no name; allowed: 1 to {LONGEST_NAME} printable signs")
                continue
            read[structure][name] = reader.spot(f"{where} {name}", value, scale)
        if len(read[structure]) > MOST_FIDUCIALS:
            reader.fault(where, f"{len(read[structure])} marks; allowed: up to {MOST_FIDUCIALS}")
    return read
