"""Marks on a picture as the page sees them: what each measures, how sure, and what may become a finding."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from accounts.models import User
from imaging.calibrating.selectors import newest, pixel_shape, scale_by
from imaging.calibration import Plane, Scale, Size
from imaging.marking.access import visible_markings
from imaging.marking.in_plane import Taking, refusals, site_fault, taking, takings
from imaging.marking.measures import KINDS, Allowance, Place, Result, allowance, measured
from imaging.marking.recorded import as_recorded
from imaging.marking.services import Mark, history_of
from imaging.models import Marking
from imaging.tracing.pictures import picture_of
from portfolio import sites
from portfolio.access import visible_sheets
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import RecordItem, Sheet, SheetPurpose
from portfolio.photographs import BY_KEY, RADIOGRAPHS
from portfolio.readings import Finding
from portfolio.selectors import evidence_of, reading
from portfolio.selectors.standing import standing
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import site_words, value_words

UNITS = {"mm": "mm", "deg": "°"}
NO_SCALE = "No length: the picture has no scale. Give it one, then every distance has its millimetres."
COINCIDE = "No number: the places coincide."


@dataclass(frozen=True, slots=True)
class Told:
    """What one mark measures: the result, or None with `why` in words (both empty for marks without a number)."""

    key: str
    mark: Mark
    result: Result | None
    why: str


@dataclass(frozen=True, slots=True)
class Looked:
    """How a picture is read: its scale, what is allowed for its view, and how finely it is shown."""

    scale: Scale | None
    allowed: Allowance
    share: float
    aspect: float = 1.0
    """How many times wider than high a pixel is."""


def marking_on(user: User, item: RecordItem) -> Marking | None:
    """The person's own marks on a picture."""
    return visible_markings(user).filter(item=item, reader=user).first()


def looked(item: RecordItem) -> Looked:
    """How marks on this picture are read."""
    row, shown = newest(item), picture_of(item)
    scale = scale_by(row, item)
    share = math.sqrt(abs(shown.xx * shown.yy - shown.xy * shown.yx))
    width, height = pixel_shape(item, scale)
    # a ruler that was stated while the picture counted as a radiograph allows nothing for camera and depth
    doubted = row is None or row.given.get("plane", Plane.MEASURED) == Plane.MEASURED
    allowed = allowance(scale, projected=is_radiograph(item), doubted=doubted)
    return Looked(scale, allowed, min(share, 1.0), width / height)


def is_radiograph(item: RecordItem) -> bool:
    return item.view in BY_KEY and BY_KEY[item.view].band == RADIOGRAPHS


def told(marks: Mapping[str, Mark], how: Looked) -> Iterator[Told]:
    """What each mark measures, in the order of their keys' making."""
    for key, mark in marks.items():
        places = [Place(**place) for place in mark["places"]]
        result = measured(mark["kind"], places, how.scale, how.allowed, how.share, how.aspect)
        unit = KINDS[mark["kind"]].unit
        why = "" if result or not unit else NO_SCALE if unit == "mm" and how.scale is None else COINCIDE
        yield Told(key, mark, result, why)


def state(user: User, item: RecordItem) -> dict[str, Any]:
    """All that changes on the page, as JSON takes it."""
    marking, how = marking_on(user, item), looked(item)
    steps = history_of(marking) if marking else None
    return {
        "version": marking.version if marking else 0,
        "marks": marking.marks if marking else {},
        "results": {one.key: _result(one, how.scale) for one in told(marking.marks if marking else {}, how)},
        "undo": steps.undo if steps else 0,
        "redo": steps.redo if steps else 0,
        "scale": scale_data(how.scale),
        "allowed": how.allowed.words,
        "found": found(user, item),
        "rests": rests(user, item, marking, how) if marking else {},
    }


def _result(one: Told, scale: Scale | None) -> dict[str, Any]:
    if one.result is None:
        return {"value": "", "sd": "", "parts": "", "why": one.why}
    unit = scale.unit if scale and one.result.unit == "mm" else UNITS[one.result.unit]
    joined = "" if unit == "°" else " "
    names = {"click": "clicks", "scale": "scale", "view": "view"}
    parts = [f"{names[name]} {size:.2f}" for name, size in one.result.parts if size >= 0.005]
    return {
        "value": f"{one.result.value:.1f}{joined}{unit}",
        "sd": f"± {one.result.sd:.2f}",
        "parts": ", ".join(parts),
        "why": "",
    }


def scale_data(scale: Scale | None) -> dict[str, Any]:
    """A scale as JSON, empty for none; evidence freezes it."""
    if scale is None:
        return {}
    return {
        "across": scale.across,
        "down": scale.down,
        "sd_percent": round(scale.sd_percent, 4),
        "origin": scale.origin.value,
        "size": scale.size.value,
        "words": scale.words,
    }


def natural(scale: Scale | None) -> bool:
    """Whether lengths by this scale are those of the patient or the casts."""
    return scale is not None and scale.size == Size.NATURAL


def own_sheet(user: User, item: RecordItem) -> Sheet | None:
    """The person's working sheet of the records that the picture belongs to."""
    rows = visible_sheets(user).filter(record_set=item.record_set, reader=user, purpose=SheetPurpose.WORKING)
    return rows.select_related("record_set").first()


def found(user: User, item: RecordItem) -> dict[str, dict[str, Any]]:
    """What the sheet says at the places this view may give: "quantity site" → value in words, change number."""
    sheet = own_sheet(user, item)
    wanted = {one.quantity for one in takings(item.view)}
    if sheet is None or not wanted:
        return {}
    stands = standing(sheet)
    return {
        f"{one.quantity} {one.site}": {
            "words": value_words(one.quantity, one.value),
            "seen": stands.changed_in.get((one.quantity, one.site, one.nth), 0),
        }
        for one in stands.sheet.findings
        if one.quantity in wanted
    }


def source_of(marking: Marking) -> str:
    """How evidence names a person's marks on a picture; the number of their revision comes behind it."""
    return f"imaging.marking/{marking.public_id}@"


def rests(user: User, item: RecordItem, marking: Marking, how: Looked) -> dict[str, list[dict[str, Any]]]:
    """Findings that were taken from a mark and stand still, by the mark: what to ask for to take them anew.

    `changed` says that the mark would give another value or error now, or lies elsewhere where the eye chose a code;
    `reads` is what it gives now in words.
    """
    sheet = own_sheet(user, item)
    if sheet is None:
        return {}
    now, stands, backing = (
        {one.key: one for one in told(marking.marks, how)},
        standing(sheet),
        evidence_of(sheet),
    )
    notation = item.record_set.case.patient.portfolio.notation
    found: dict[str, list[dict[str, Any]]] = {}
    for finding in stands.sheet.findings:
        place = (finding.quantity, finding.site, finding.nth)
        way = taking(item.view, finding.quantity)
        for piece in backing.get(place, ()) if way else ():
            key = next(iter(piece.marks), "")
            if way and key in now and piece.source.startswith(source_of(marking)):
                one = _taken(finding, way, now[key], piece.marks[key], Decimal(sheet.step))
                where = site_words(finding.site, notation)
                words = f"{QUANTITIES[finding.quantity].label}, {where}"
                found.setdefault(key, []).append(
                    {**one, "what": words, "seen": stands.changed_in.get(place, 0)}
                )
    return found


def _taken(finding: Finding, way: Taking, one: Told, frozen: Mark, step: Decimal) -> dict[str, Any]:
    sense = ("-" if finding.value.startswith("-") else "+") if way.senses else ""
    asked = {"quantity": finding.quantity, "site": finding.site, "sense": sense, "code": ""}
    held = value_words(finding.quantity, finding.value)
    if way.by_eye:
        moved = frozen["places"] != one.mark["places"]
        return {**asked, "code": finding.value, "held": held, "reads": held, "changed": moved}
    if one.result is None:
        return {**asked, "held": held, "reads": "", "changed": False}
    value, sd = as_recorded(one.result, sense, step)
    same = Decimal(value) == Decimal(finding.value) and sd == finding.sd
    reads = f"{value_words(finding.quantity, value)} ± {sd}"
    return {**asked, "held": f"{held} ± {finding.sd}", "reads": reads, "changed": not same}


def page_data(user: User, item: RecordItem, notation: str) -> dict[str, Any]:
    """What stays the same while the page is open: kinds of marks, and what the view gives and where."""
    sheet = own_sheet(user, item)
    plain = reading(sheet) if sheet else _bare(item)
    return {
        "kinds": [
            {"key": one.key, "label": one.label, "places": one.places, "unit": one.unit, "help": one.help}
            for one in KINDS.values()
        ],
        "takings": [_taking(one, item.view, plain, notation) for one in takings(item.view)],
    }


def refused_here(item: RecordItem) -> tuple[tuple[str, str], ...]:
    """Labels and reasons of what this view does not give."""
    return refusals(item.view)


def _bare(item: RecordItem) -> SheetReading:
    here = item.record_set
    return SheetReading(
        stage=here.stage, dentition=here.dentition, findings=(), teeth=tuple(here.teeth.split())
    )


def _taking(one: Taking, view: str, sheet: SheetReading, notation: str) -> dict[str, Any]:
    known = QUANTITIES[one.quantity]
    return {
        "quantity": one.quantity,
        "label": known.label,
        "kinds": one.kinds,
        "how": one.how,
        "senses": one.senses,
        "codes": [(code, known.code_labels.get(code, code)) for code in known.codes] if one.by_eye else [],
        "sites": [(site, site_words(site, notation)) for site in places(one.quantity, view, sheet)],
    }


def places(quantity: str, view: str, sheet: SheetReading) -> list[str]:
    """Sites of a quantity that can be seen in a view, teeth as they stand, from the patient's right to left."""
    known = QUANTITIES[quantity].site
    pool: list[str] = []
    if known.kind == "tooth":
        pool = [one for arch in ("upper", "lower") for one in sheet.rounds[arch]]
    elif known.kind == "contact":
        pool = [one for arch in ("upper", "lower") for one in sheet.contacts[arch]]
    else:
        pool = [*sites.ARCHES, *sites.SIDES, *sites.SEGMENTS]
    return [site for site in pool if known.takes(site) and not site_fault(view, site)]
