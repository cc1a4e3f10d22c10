"""The measures, landmarks, lines and norms of tracings as plain data, for the page's script and its test."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from imaging.cephalometry.landmarks import CHIN, DEFAULT_POINT_SD_MM, GROUPS, LANDMARKS, Landmark
from imaging.cephalometry.measure import Measure, Norm
from imaging.cephalometry.outlines import DISTAL_SHARE, INCISORS, MOLAR_WIDTHS_MM, MOLARS, STRUCTURES
from imaging.cephalometry.planes import CONSTRUCTED, MANDIBULAR_PLANES, MP_BACK, MP_FRONT
from imaging.cephalometry.registry import ANALYSES, MEASURES
from imaging.cephalometry.shapes import Across, Ahead, Along, Length, Ratio, Shape, Sum, Turn
from imaging.cephalometry.sketch import TYPICAL
from imaging.norms.places import Figures, InForce, Place, age_words, in_force, norm_words, places_of, value_at
from imaging.tracing.outlines import INCISOR_LENGTHS_MM
from portfolio.sources import SOURCES

UNCERTAIN_POINT_SD_MM = 1.0
"""Standard deviation of each coordinate of a point marked uncertain: twice the usual one (choice, no source)."""
LINES = (
    ("S-N", "S", "N"),
    ("FH", "Po", "Or"),
    ("palatal", "PNS", "ANS"),
    ("mandibular", MP_BACK, MP_FRONT),
    ("occlusal", "OPm", "OPi"),
    ("facial", "N", "Pog"),
    ("upper incisor", "U1A", "U1"),
    ("lower incisor", "L1A", "L1"),
    ("E-line", "Prn", "Pog'"),
)
"""Lines drawn on a tracing when both ends can be had: label, start, end."""


def shape_data(shape: Shape) -> dict[str, Any]:
    """A formula as data; TypeError for a shape the page does not know."""
    match shape:
        case Turn(start, end, clockwise, middle, plus):
            return {
                "kind": "turn",
                "start": start,
                "end": end,
                "clockwise": clockwise,
                "middle": middle,
                "plus": plus,
            }
        case Ahead(point, line):
            return {"kind": "across", "step": (line[0], point), "line": line}
        case Across(step, line):
            return {"kind": "across", "step": step, "line": line}
        case Along(step, line):
            return {"kind": "along", "step": step, "line": line}
        case Length(line):
            return {"kind": "length", "line": line}
        case Sum(parts, less):
            return {"kind": "sum", "parts": [*map(shape_data, parts)], "less": [*map(shape_data, less)]}
        case Ratio(top, bottom, times):
            return {
                "kind": "ratio",
                "top": shape_data(top),
                "bottom": shape_data(bottom),
                "times": times,
                "words": str(bottom),
            }
    raise TypeError(f"{type(shape).__name__} is not known to the page")


def formulas() -> dict[str, Any]:
    """What computing needs: measures, points made of others, mandibular planes, the chin, deviations of points in mm."""
    return {
        "measures": [_measure(measure) for measure in MEASURES.values()],
        "constructed": {
            name: {"ways": known.ways, "asks": known.asks} for name, known in CONSTRUCTED.items()
        },
        "planes": dict(MANDIBULAR_PLANES),
        "chin": CHIN,
        "order": [landmark.key for landmark in LANDMARKS],
        "point_sd": DEFAULT_POINT_SD_MM,
        "uncertain_sd": UNCERTAIN_POINT_SD_MM,
    }


def _measure(measure: Measure) -> dict[str, Any]:
    return {
        "key": measure.key,
        "label": measure.label,
        "unit": measure.unit,
        "larger": measure.larger,
        "formula": measure.formula,
        "takes_plane": measure.takes_plane,
        "names": measure.shape.names(),
        "shape": shape_data(measure.shape),
    }


def page_data(age_months: int | None, own: Mapping[Place, Figures]) -> dict[str, Any]:
    """Formulas with all that the page tells about them; norms that move with age are told for this age.

    `own` are the norms of the portfolio in the place of published ones (`imaging.norms.selectors.own_norms`): such a
    norm says `own`, carries the portfolio's source line, and tells in `published` what it replaces.

    `structures` are the outlines to be traced (key, label, follows, anchors in their order, closed), `tooth_shapes`
    what `imaging.cephalometry.outlines.incisor` and `molar` draw teeth with.
    """
    return {
        **formulas(),
        "lines": LINES,
        "structures": [asdict(one) for one in STRUCTURES],
        "tooth_shapes": {
            "incisors": INCISORS,
            "molars": MOLARS,
            "distal_share": DISTAL_SHARE,
            "molar_widths_mm": MOLAR_WIDTHS_MM,
            "incisor_lengths_mm": INCISOR_LENGTHS_MM,
        },
        "landmarks": [_landmark(one, group) for group, ones in GROUPS for one in ones],
        "sketch": {key: [x, -y] for key, (x, y) in TYPICAL.items()},
        "analyses": [
            {
                "key": analysis.key,
                "label": analysis.label,
                "source": _source(analysis.source),
                "rows": _rows(analysis.key, own, age_months),
            }
            for analysis in ANALYSES.values()
        ],
    }


def _landmark(one: Landmark, group: str) -> dict[str, Any]:
    return {
        "key": one.key,
        "name": one.name,
        "group": group,
        "definition": one.definition,
        "kind": one.kind,
        "worst": one.worst,
        "source": _source(one.source),
        "certainty": one.certainty,
    }


def _rows(analysis: str, own: Mapping[Place, Figures], age_months: int | None) -> list[dict[str, Any]]:
    rows: dict[str, list[dict[str, Any]]] = {}
    for place in places_of(analysis):
        told = rows.setdefault(place.measure, [])
        found = in_force(place, own)
        if found.norm is not None:
            told.append(_norm(found, found.norm, age_months))
    return [{"measure": key, "norms": norms} for key, norms in rows.items()]


def _norm(found: InForce, norm: Norm, age_months: int | None) -> dict[str, Any]:
    return {
        "value": value_at(norm, age_months),
        "sd": norm.sd,
        "low": norm.low,
        "high": norm.high,
        "group": norm.group,
        "age": age_words(norm),
        "certainty": norm.certainty,
        "sd_certainty": norm.sd_certainty,
        "source": found.source,
        "note": norm.note,
        "own": found.own,
        "published": norm_words(found.published) if found.own else "",
    }


def _source(key: str) -> str:
    return str(SOURCES[key])
