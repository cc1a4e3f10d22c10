"""One-time codes as their pages show them."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from accounts.models import User
from imaging.models import PhoneCode
from imaging.phone.access import visible_phone_codes
from portfolio.access import visible_sheets
from portfolio.models import RecordSet, Sheet, SheetPurpose
from portfolio.photographs import BY_KEY
from portfolio.selectors import reading
from portfolio.wording import quantity_words, site_words, value_words

HINTS = {
    "witness": "The instrument on the cast or in the mouth, near and sharp, with its reading in sight.",
}


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a code is: waiting, arrived, expired or cancelled."""

    public_id: UUID
    record_set: UUID
    state: str
    wanted: str
    finding: str
    minutes_left: int
    picture: UUID | None


@dataclass(frozen=True, slots=True)
class Choice:
    """One finding of the sheet that a picture may witness."""

    key: str
    words: str


def wanted_words(row: PhoneCode) -> str:
    """The kind of picture asked for."""
    return BY_KEY[row.view].label if row.view in BY_KEY else "Picture"


def finding_words(row: PhoneCode, notation: str) -> str:
    """The quantity and site to be shown, without any value; empty where none was asked for."""
    if not row.quantity:
        return ""
    where = "" if row.site == "mouth" else f", {site_words(row.site, notation)}"
    return f"{quantity_words(row.quantity)}{where}"


def hint(row: PhoneCode) -> str:
    return HINTS.get(row.view, "")


def standing(user: User, public_id: UUID, notation: str, at: datetime) -> Standing | None:
    """How far one of the person's codes is."""
    row = visible_phone_codes(user).filter(public_id=public_id).select_related("record_set", "item").first()
    if row is None:
        return None
    left = row.expires_at - at
    state = (
        "arrived"
        if row.used_at
        else "cancelled"
        if row.cancelled_at
        else "waiting"
        if left.total_seconds() > 0
        else "expired"
    )
    return Standing(
        row.public_id,
        row.record_set.public_id,
        state,
        wanted_words(row),
        finding_words(row, notation),
        max(1, -(-int(left.total_seconds()) // 60)),
        row.item.public_id if row.item else None,
    )


def own_sheet(user: User, record_set: RecordSet) -> Sheet | None:
    rows = visible_sheets(user).filter(record_set=record_set, reader=user, purpose=SheetPurpose.WORKING)
    return rows.select_related("record_set").first()


def choices(sheet: Sheet | None, notation: str) -> tuple[Choice, ...]:
    """Findings recorded on a sheet, round the casts; keys are `quantity.site.nth`."""
    if sheet is None:
        return ()
    return tuple(
        Choice(
            f"{one.quantity}/{one.site}/{one.nth}",
            f"{quantity_words(one.quantity)}{'' if one.site == 'mouth' else ', ' + site_words(one.site, notation)}: "
            f"{value_words(one.quantity, one.value)}",
        )
        for one in reading(sheet).findings
    )
