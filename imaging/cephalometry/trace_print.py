"""What `manage.py trace` prints: the JSON object, and lines for a reader."""

from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from imaging.cephalometry.measure import Norm
from imaging.cephalometry.measuring import Change, Measured, Refused
from imaging.cephalometry.registry import norms_of
from imaging.cephalometry.superimpose import Superimposition

UNITS = {"deg": "°", "mm": " mm", "%": " %", "": ""}


def fixed(value: float, places: int = 2) -> str:
    """A number with a fixed count of decimals, half away from zero, never a minus zero.

    Nine decimals are taken first, so that noise of the last binary digits cannot tip a half.
    """
    step = Decimal(1).scaleb(-places)
    text = str(Decimal(f"{value:.9f}").quantize(step, ROUND_HALF_UP))
    return text.removeprefix("-") if not text.strip("-0.") else text


def as_dict(
    told: Sequence[Measured], refused: Sequence[Refused], over: Superimposition | None = None
) -> dict[str, Any]:
    """The object that `--json` prints; every number a text with two decimals."""
    made: dict[str, Any] = {
        "measures": [_measure(found) for found in told],
        "refused": [{"key": found.measure.key, "why": found.why} for found in refused],
    }
    if over is not None:
        made["over"] = _over(over)
    return made


def _measure(found: Measured) -> dict[str, str]:
    made = {"key": found.measure.key, "value": fixed(found.value), "unit": found.measure.unit}
    if found.sd is not None:
        made["sd"] = fixed(found.sd)
    if found.plane is not None:
        made["plane"] = found.plane
    return made


def _over(over: Superimposition) -> dict[str, Any]:
    made: dict[str, Any] = {
        "on": over.on,
        "rms_mm": None if over.rms_mm is None else fixed(over.rms_mm),
        "displacements": {
            name: {
                "x": fixed(moved.x),
                "y": fixed(moved.y),
                "along_sn": fixed(moved.along_sn),
                "square_to_sn": fixed(moved.square_to_sn),
            }
            for name, moved in over.displacements.items()
        },
    }
    if over.refused:
        made["refused"] = [{"key": name, "why": why} for name, why in over.refused.items()]
    return made


def measure_lines(told: Sequence[Measured], refused: Sequence[Refused]) -> Iterator[str]:
    """A line for each measure, rounded once to a tenth, with its error and the norms."""
    for found in told:
        unit = UNITS[found.measure.unit]
        error = "" if found.sd is None else f" ± {fixed(found.sd, 1)}"
        plane = f" ({found.plane})" if found.plane else ""
        norms = "; ".join(f"{analysis.label} {_norm(norm)}" for analysis, norm in norms_of(found.measure.key))
        value = f"{fixed(found.value, 1)}{unit}{error}"
        yield f"{found.measure.key:18} {value:>16}  {found.measure.label}{plane}" + (
            f"; norm {norms}" if norms else ""
        )
    for refusal in refused:
        yield f"{refusal.measure.key:18} {'refused':>16}  {refusal.why}"


def _norm(norm: Norm) -> str:
    value = f"{norm.value} ± {norm.sd}" if norm.value and norm.sd else norm.value
    limits = f"{norm.low} to {norm.high}" if norm.low else ""
    told = f"{value} ({limits})" if value and limits else value or limits
    aged = f" at {norm.age_years} y, {norm.per_year} a year" if norm.age_years is not None else ""
    group = f", {norm.group}" if norm.group else ""
    return f"{told}{aged}{group} [{norm.certainty}]"


def change_lines(found: Sequence[Change]) -> Iterator[str]:
    """A line for each measure that both tracings tell, with the noise it is held against."""
    for change in found:
        if change.change is None:
            yield f"{change.measure.key:18} {'not compared':>16}  {change.why_not}"
            continue
        noise = ""
        if change.noise is not None:
            inside = "inside" if change.inside_noise else "beyond"
            noise = f"{inside} the noise of one observer, {fixed(change.noise, 1)}"
        yield f"{change.measure.key:18} {fixed(change.change, 1) + UNITS[change.measure.unit]:>16}  {noise}"


def over_lines(over: Superimposition) -> Iterator[str]:
    """A line for each point of a superimposition."""
    if over.rms_mm is not None:
        yield f"fit of the marks: {fixed(over.rms_mm)} mm (root mean square)"
    for name, moved in over.displacements.items():
        yield (
            f"{name:18} {fixed(moved.x, 1)} mm forward, {fixed(moved.y, 1)} mm up "
            f"(± {fixed(moved.sd_x, 1)}, {fixed(moved.sd_y, 1)}); along S-N {fixed(moved.along_sn, 1)}, "
            f"square to it {fixed(moved.square_to_sn, 1)}"
            + (", inside the noise of one observer" if moved.inside_noise else "")
        )
    for name, why in over.refused.items():
        yield f"{name:18} refused: {why}"
