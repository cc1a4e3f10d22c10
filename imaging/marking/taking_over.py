"""Taking one mark over as a finding of the person's own sheet, with the marks as its evidence."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from accounts.models import User
from imaging.marking.in_plane import Taking, refusal, site_fault, taking
from imaging.marking.measures import KINDS, Result
from imaging.marking.recorded import as_recorded, sign_of
from imaging.marking.selectors import (
    NO_SCALE,
    Looked,
    Told,
    looked,
    marking_on,
    natural,
    scale_data,
    source_of,
    told,
)
from imaging.models import Marking
from portfolio.models import EvidenceKind, RecordItem, Sheet
from portfolio.readings import Fault
from portfolio.selectors import evidence_of
from portfolio.services.answers import Answer, Entry, EvidencePiece, Place, Refused
from portfolio.services.findings import record_findings
from portfolio.services.record_sets import working_sheet
from portfolio.vocabulary import QUANTITIES

METHOD, MEDIUM = "picture", "photograph"
NOT_NATURAL = (
    "The scale of this picture gives sizes on the film, or nobody can tell which; a finding needs natural size. "
    "State the magnification on the page of the scale."
)


@dataclass(frozen=True, slots=True)
class Asked:
    """Which mark is to become which finding; `sense` is + or − where asked, `code` what the eye says."""

    mark: str
    quantity: str
    site: str
    sense: str = ""
    code: str = ""
    seen: int = 0


def take_over(by: User, item: RecordItem, asked: Asked, request_key: str, at: datetime) -> Answer:
    """Record one finding from one mark with its error, its parts and the frozen marks, or refuse with the reason."""
    marking, how = marking_on(by, item), looked(item)
    one = next((x for x in told(marking.marks, how) if x.key == asked.mark), None) if marking else None
    words = _refused(item, asked, one, how)
    if words or marking is None or one is None:
        return Refused((Fault(f"{asked.quantity} {asked.site}", words, asked.quantity, asked.site),))
    way = taking(item.view, asked.quantity)
    assert way is not None, "refused otherwise"
    sheet = working_sheet(by, item.record_set)
    beside = _witnesses(sheet, (asked.quantity, asked.site, 1))
    entry = _entry(item, marking, asked, one, way, how, Decimal(sheet.step), beside)
    return record_findings(by, sheet, [entry], request_key, at)


def _refused(item: RecordItem, asked: Asked, one: Told | None, how: Looked) -> str:
    """Why this mark cannot become this finding, in words; empty when it can."""
    if one is None:
        return "This mark has been taken away. Look at the page as it stands now."
    if asked.quantity not in QUANTITIES:
        return "This quantity is not known."
    if words := refusal(item.view, asked.quantity):
        return words
    way = taking(item.view, asked.quantity)
    assert way is not None, "not refused"
    kind = one.mark["kind"]
    if kind not in way.kinds:
        allowed = " or ".join(KINDS[name].label.lower() for name in way.kinds)
        return f"{QUANTITIES[asked.quantity].label} is read from a {allowed}, not from a {KINDS[kind].label.lower()}."
    if words := site_fault(item.view, asked.site):
        return words
    if way.by_eye:
        return "" if asked.code in QUANTITIES[asked.quantity].codes else "Choose what you see in the picture."
    if one.result is None:
        return one.why or NO_SCALE
    if one.result.unit == "mm" and not natural(how.scale):
        return NOT_NATURAL
    if way.senses and asked.sense not in {sign for sign, _ in way.senses}:
        return f"Choose the direction: {' or '.join(words for _, words in way.senses)}."
    return ""


def _witnesses(sheet: Sheet, place: Place) -> tuple[EvidencePiece, ...]:
    """Witness pictures that the finding has already; they stay beside the new marks."""
    pieces = evidence_of(sheet).get(place, ())
    return tuple(piece for piece in pieces if piece.kind == EvidenceKind.WITNESS)


def _entry(
    item: RecordItem,
    marking: Marking,
    asked: Asked,
    one: Told,
    way: Taking,
    how: Looked,
    step: Decimal,
    beside: tuple[EvidencePiece, ...],
) -> Entry:
    piece = EvidencePiece(
        EvidenceKind.MARKS.value,
        item.public_id,
        f"{source_of(marking)}{marking.version}",
        marks={asked.mark: dict(one.mark)},
        scale=scale_data(how.scale),
        view={"view": item.view, "operations": list(item.operations), "size": [item.width, item.height]},
    )
    if way.by_eye or one.result is None:
        typed, sd, parts = asked.code, "", dict[str, str]()
    else:
        typed, sd = as_recorded(one.result, asked.sense, step)
        parts = _parts(item, marking, asked.mark, one.result, sign_of(asked.sense))
    return Entry(
        quantity=asked.quantity,
        site=asked.site,
        typed=typed,
        seen=asked.seen,
        method=METHOD,
        medium=MEDIUM,
        sd=sd,
        error_parts=parts,
        evidence=(*beside, piece),
    )


def _parts(item: RecordItem, marking: Marking, mark: str, result: Result, sign: int) -> dict[str, str]:
    """What the deviation is made of; scale and view of one picture are one cause in all that is read from it.

    Each part is the change of the value with its sign: too long a scale makes an open bite more negative.
    """
    names = {
        "click": f"marks/{marking.public_id}/{mark}",
        "scale": f"scale/{item.public_id}",
        "view": f"view/{item.public_id}",
    }
    return {names[name]: f"{sign * size:.6f}" for name, size in result.parts if size > 0}
