"""Measured numbers held against limits: state, distance, and chance by the error of the number.  Pure."""

from collections.abc import Sequence
from decimal import Decimal

from plans.answers import Answer, not_told
from plans.requirements.lacks import measured_lack
from plans.requirements.limits import Limits
from plans.requirements.seen import ZERO, Seen, front_and_behind
from plans.requirements.words import with_unit
from portfolio import teeth
from portfolio.finding_sheet import Sheet


def held_number(seen: Seen, limits: Limits, quantity: str, stage: str, unit: str) -> Answer:
    """One measured number held against limits, with its distance and its chance by its error."""
    number = seen.number
    if number is None:
        return not_told(measured_lack(quantity, stage))
    return held(number, seen.sd, limits, unit)


def held_greatest(
    sheet: Sheet,
    quantity: str,
    places: Sequence[str],
    limits: Limits,
    stage: str,
    notation: str,
    sign: int = 1,
) -> Answer:
    """The greatest of several teeth held against limits; as long as teeth are not recorded it is a floor.

    A statement about the rest says that none exceeds the greatest listed.  `sign` −1 turns reverse into plus.
    """
    seen = front_and_behind(sheet, quantity, places)
    listed = [(sign * one.number, one) for one in seen if one.number is not None and not one.rest]
    unseen = [one.site for one in seen if one.number is None]
    lack = measured_lack(quantity, stage, unseen, notation)
    if not listed:
        return not_told(lack) if unseen or not seen else held(ZERO, 0.0, limits, "mm")
    greatest, one = max(listed, key=lambda pair: pair[0])
    greatest = max(greatest, ZERO) if sign < 0 else greatest
    if not unseen:
        return held(greatest, one.sd, limits, "mm", teeth.shown(one.site, notation))
    state = limits.state(greatest, floor=True)
    says = f"{with_unit(greatest, 'mm')} at {teeth.shown(one.site, notation)}"
    if state == "unknown":
        return Answer("unknown", says, unit="mm", lacks=(lack,))
    return held(greatest, one.sd, limits, "mm", teeth.shown(one.site, notation))


def held(number: Decimal, sd: float, limits: Limits, unit: str, at: str = "") -> Answer:
    margin = limits.margin(number)
    return Answer(
        limits.state(number),
        with_unit(number, unit) + (f" at {at}" if at else ""),
        margin,
        unit,
        float(margin) / sd if sd else None,
        limits.chance_by_sd(number, sd),
    )


def held_months(months: int, least: int | None, most: int | None, says: str) -> Answer:
    """Whole months held against limits; they are taken as recorded, so the chance is 1 or 0."""
    limits = Limits(
        None if least is None else Decimal(least),
        None if most is None else Decimal(most),
    )
    state = limits.state(Decimal(months))
    chance = 1.0 if state == "met" else 0.0
    return Answer(state, says, limits.margin(Decimal(months)), "months", chance=chance)
