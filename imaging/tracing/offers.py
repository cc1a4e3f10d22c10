"""What a tracing offers to a sheet: measures beside the findings that stand, and findings that it has left behind.

Nothing here writes.  A finding that was taken over names its tracing and revision as evidence; when a point, the
plane or the scale has changed since, the offer says so with the old value and the new one, and a person takes it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from accounts.models import User
from imaging.calibration import Size
from imaging.cephalometry.errors import SCALE
from imaging.cephalometry.measuring import Measured, Refused
from imaging.cephalometry.trace_print import fixed
from imaging.models import Tracing
from portfolio.access import visible_sheets
from portfolio.models import RecordItem, Sheet, SheetPurpose
from portfolio.readings import Finding
from portfolio.selectors import evidence_of
from portfolio.selectors.standing import standing
from portfolio.typed import TypedRefused, rounded_to_step, typed
from portfolio.vocabulary import QUANTITIES

MAIN = ("anb", "sn_mp", "impa")
"""What the discrepancy index reads; offered first."""
METHOD, MEDIUM, MOUTH_SITE = "tracing", "radiograph", "mouth"
USUAL_STEP = "0.1"
FILM_NOTE = "as on the film, not corrected for enlargement"
PART_PLACES = 4


@dataclass(frozen=True, slots=True)
class Offer:
    """A measure that may be taken over as a finding; `value` is as the sheet will hold it, `sd` empty without scale.

    `now` is what the sheet says already, with the change number the page must have seen.  `from_here`: that finding
    was taken from this tracing.  `note` is None to leave the finding's note as it is.
    """

    key: str
    label: str
    unit: str
    value: str
    sd: str
    plane: str
    note: str | None = None
    parts: Mapping[str, str] = field(default_factory=dict)
    now: str = ""
    now_sd: str = ""
    now_method: str = ""
    now_plane: str = ""
    seen: int = 0
    from_here: bool = False

    @property
    def same(self) -> bool:
        """Whether the sheet holds this very value, error and plane from this tracing."""
        return self.from_here and not self._differs

    @property
    def changed(self) -> bool:
        """Whether the sheet holds what this tracing said before something in it changed."""
        return self.from_here and self._differs

    @property
    def _differs(self) -> bool:
        same = _number(self.now) == _number(self.value) and _number(self.now_sd) == _number(self.sd)
        return not same or self.now_plane != self.plane


def _number(text: str) -> Decimal | str:
    """4 and 4.0 are one number."""
    try:
        return Decimal(text)
    except InvalidOperation:
        return text


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A finding that was taken from this tracing, whose measure the tracing cannot tell any more, and why."""

    key: str
    label: str
    now: str
    why: str


@dataclass(frozen=True, slots=True)
class OnSheet:
    """The findings of the person's own sheet at the mouth, and which of them rest on this tracing."""

    step: str
    held: Mapping[str, Finding]
    seen: Mapping[str, int]
    from_here: frozenset[str]


def source_of(tracing: Tracing) -> str:
    """How evidence names the present state of a tracing."""
    return f"{_source(tracing.public_id)}{tracing.version}"


def _source(public_id: UUID) -> str:
    return f"imaging.tracing/{public_id}@"


def own_sheet(user: User, item: RecordItem) -> Sheet | None:
    """The person's working sheet of the records that the picture belongs to."""
    rows = visible_sheets(user).filter(record_set=item.record_set, reader=user, purpose=SheetPurpose.WORKING)
    return rows.select_related("record_set").first()


def on_sheet(user: User, tracing: Tracing) -> OnSheet:
    """What the person's sheet holds beside a tracing; nothing when there is no sheet yet."""
    sheet = own_sheet(user, tracing.item)
    if sheet is None:
        return OnSheet(USUAL_STEP, {}, {}, frozenset())
    stands, begins = standing(sheet), _source(tracing.public_id)
    return OnSheet(
        sheet.step,
        {one.quantity: one for one in stands.sheet.findings if one.site == MOUTH_SITE},
        {quantity: number for (quantity, site, _), number in stands.changed_in.items() if site == MOUTH_SITE},
        frozenset(
            quantity
            for (quantity, site, _), pieces in evidence_of(sheet).items()
            if site == MOUTH_SITE and any(piece.source.startswith(begins) for piece in pieces)
        ),
    )


def offers(
    tracing: Tracing, beside: OnSheet, told: Iterable[Measured], size: Size | None
) -> tuple[Offer, ...]:
    """Every measure that the vocabulary knows, beside what the sheet says; the main three first."""
    made = [_offer(tracing, beside, one, size) for one in told if not taking_fault(one, beside.step)]
    return tuple(sorted(made, key=lambda one: one.key not in MAIN))


def left_behind(beside: OnSheet, refused: Iterable[Refused], why: str) -> tuple[LeftBehind, ...]:
    """Findings from this tracing that it cannot tell any more; `why` is the reason when it cannot be read at all."""
    reasons = {one.measure.key: one.why for one in refused}
    return tuple(
        LeftBehind(key, QUANTITIES[key].label, beside.held[key].value, why or reasons[key])
        for key in sorted(beside.from_here)
        if key in beside.held and (why or key in reasons)
    )


def taking_fault(one: Measured, step: str) -> str:
    """Why a sheet does not take a measure; empty when it does."""
    if one.measure.key not in QUANTITIES:
        return "not a measure that a sheet takes"
    try:
        typed(one.measure.key, MOUTH_SITE, _at_step(one.value, step), step)
    except TypedRefused as refusal:
        return str(refusal)
    return ""


def _at_step(value: float, step: str) -> str:
    """The value rounded once, from all its digits, to the sheet's step."""
    rounded = rounded_to_step(Decimal(f"{value:.9f}"), Decimal(step))
    return format(rounded or abs(rounded), "f")


def _offer(tracing: Tracing, beside: OnSheet, one: Measured, size: Size | None) -> Offer:
    key = one.measure.key
    value = typed(key, MOUTH_SITE, _at_step(one.value, beside.step), beside.step).value
    now = beside.held.get(key)
    of_film = one.measure.is_length and size not in (None, Size.NATURAL)
    stale_note = now is not None and now.note == FILM_NOTE
    return Offer(
        key=key,
        label=QUANTITIES[key].label if key in MAIN else one.measure.label,
        unit=one.measure.unit,
        value=value,
        sd="" if one.sd is None else fixed(one.sd),
        plane=one.plane or "",
        note=FILM_NOTE if of_film else "" if stale_note else None,
        parts=_parts(tracing, one),
        now=now.value if now else "",
        now_sd=now.sd if now else "",
        now_method=now.method if now else "",
        now_plane=now.plane if now else "",
        seen=beside.seen.get(key, 0),
        from_here=key in beside.from_here,
    )


def _parts(tracing: Tracing, one: Measured) -> dict[str, str]:
    """Parts of the error under names that are one cause wherever they stand; the scale is that of the picture."""
    named = {}
    for cause, part in (one.parts or {}).items():
        text = fixed(part, PART_PLACES)
        if text.strip("-0."):
            name = (
                f"scale/{tracing.item.public_id}"
                if cause == SCALE
                else f"tracing/{tracing.public_id}/{cause}"
            )
            named[name] = text
    return named


def offer_data(one: Offer) -> dict[str, Any]:
    """An offer as the page takes it."""
    return {
        "key": one.key,
        "label": one.label,
        "unit": one.unit,
        "value": one.value,
        "sd": one.sd,
        "plane": one.plane,
        "now": one.now,
        "now_sd": one.now_sd,
        "now_plane": one.now_plane,
        "method": one.now_method,
        "seen": one.seen,
        "from_here": one.from_here,
        "same": one.same,
        "changed": one.changed,
        "main": one.key in MAIN,
    }
