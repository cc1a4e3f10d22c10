"""Taking measures of a tracing over as findings of the person's own sheet."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from accounts.models import User
from imaging.cephalometry.measuring import Measured, measure_face
from imaging.models import Tracing
from imaging.tracing.offers import (
    MEDIUM,
    METHOD,
    MOUTH_SITE,
    USUAL_STEP,
    Offer,
    offers,
    on_sheet,
    source_of,
    taking_fault,
)
from imaging.tracing.selectors import Reading, read
from portfolio.readings import Fault
from portfolio.services.answers import Answer, Entry, EvidencePiece, Refused
from portfolio.services.findings import record_findings
from portfolio.services.record_sets import working_sheet


def take_over(
    by: User, tracing: Tracing, wanted: Mapping[str, int], request_key: str, at: datetime
) -> Answer:
    """Record measures as findings with plane, method, medium, error, its named parts and the frozen points.

    `wanted` holds keys of measures against the change numbers of the findings the page had seen.  All are taken or
    none: a measure that cannot be told, or that a sheet does not take, refuses the whole with the reason.
    """
    reading = read(tracing)
    told, refused = measure_face(reading.face) if reading.face else ((), ())
    beside = on_sheet(by, tracing)
    size = reading.scale.size if reading.scale else None
    known = {one.key: one for one in offers(tracing, beside, told, size)}
    why = {one.measure.key: one.why for one in refused}
    why |= {one.measure.key: taking_fault(one, beside.step or USUAL_STEP) for one in told}
    faults = [
        Fault(key, f"{key[:40]}: {why.get(key) or reading.why or 'not a measure'}.", key, MOUTH_SITE)
        for key in wanted
        if key not in known
    ]
    if faults:
        return Refused(tuple(faults))
    measured = {one.measure.key: one for one in told}
    entries = [_entry(tracing, reading, known[key], measured[key], seen) for key, seen in wanted.items()]
    return record_findings(by, working_sheet(by, tracing.item.record_set), entries, request_key, at)


def _entry(tracing: Tracing, reading: Reading, offer: Offer, measured: Measured, seen: int) -> Entry:
    return Entry(
        quantity=offer.key,
        site=MOUTH_SITE,
        typed=offer.value,
        seen=seen,
        method=METHOD,
        medium=MEDIUM,
        plane=offer.plane,
        note=offer.note,
        sd=offer.sd,
        error_parts=offer.parts,
        evidence=(_evidence(tracing, reading, measured),),
    )


def _evidence(tracing: Tracing, reading: Reading, measured: Measured) -> EvidencePiece:
    """The points that a measure was read from, frozen, with the scale and how the picture lay."""
    item, face = tracing.item, reading.face
    names = measured.measure.shape.names()
    used = dict.fromkeys(part for name in names for part in (face.made_of(name) if face else ()))
    scale: dict[str, Any] = asdict(reading.scale) if reading.scale else {}
    return EvidencePiece(
        kind=METHOD,
        item=item.public_id,
        source=source_of(tracing),
        marks={"points": {name: tracing.points[name] for name in used}, "forward": tracing.forward}
        | ({"mandibular_plane": measured.plane} if measured.plane else {}),
        scale=scale,
        view={"original": [item.width, item.height], "operations": item.operations},
    )
