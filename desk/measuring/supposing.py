"""What if: a sheet with other values put in, for scoring only. Nothing here is ever stored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from desk.measuring.fields import Place, Stored
from portfolio import readings, sites
from portfolio.readings import Fault
from portfolio.typed import TypedRefused, typed
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import screen_naming


@dataclass(frozen=True, slots=True)
class Supposed:
    """One value put in; empty text takes the finding out. `free` states the region free instead."""

    quantity: str
    site: str
    nth: int = 1
    typed: str = ""
    plane: str | None = None
    note: str | None = None
    free: bool = False


@dataclass(frozen=True, slots=True)
class Supposition:
    """The sheet as supposed, its findings by place, the faults, and the places whose text was rounded."""

    sheet: readings.Sheet
    stored: Mapping[Place, Stored]
    faults: tuple[Fault, ...]
    rounded: Mapping[Place, str]


def suppose(
    sheet: readings.Sheet,
    stored: Mapping[Place, Stored],
    wanted: Sequence[Supposed],
    step: str,
    notation: str = "iso3950",
) -> Supposition:
    """The sheet with the wanted values in place of the stored ones.

    A value that cannot be read or that contradicts the sheet is a fault and leaves its place as stored.
    """
    places = dict(stored)
    faults: list[Fault] = []
    rounded: dict[Place, str] = {}
    naming = screen_naming(notation)
    known = {(f.quantity, f.site, f.message) for f in readings.check(sheet, naming=naming)}
    for one in wanted:
        if one.quantity not in QUANTITIES:
            faults.append(Fault(one.quantity, "This quantity is not known.", one.quantity, one.site, one.nth))
            continue
        tried = dict(places)
        note = ""
        try:
            note = _free(tried, one) if one.free else _value(tried, one, step)
        except TypedRefused as refusal:
            faults.append(Fault("", str(refusal), one.quantity, one.site, one.nth))
            continue
        after = replace(sheet, findings=tuple(s.finding for s in tried.values()))
        told = readings.check(after, naming=naming)
        new = [f for f in told if (f.quantity, f.site, f.message) not in known]
        if new:
            faults += [replace(f, quantity=one.quantity, site=one.site, nth=one.nth) for f in new]
            continue
        places = tried
        if note:
            rounded[(one.quantity, one.site, one.nth)] = note
    supposed = replace(sheet, findings=tuple(s.finding for s in places.values()))
    return Supposition(supposed, places, tuple(faults), rounded)


def _value(places: dict[Place, Stored], one: Supposed, step: str) -> str:
    """Put a typed value in; gives words when it was rounded."""
    place = (one.quantity, one.site, one.nth)
    text = one.typed.strip()
    if not text:
        places.pop(place, None)
        return ""
    meant = typed(one.quantity, one.site, text, step)
    before = places.get(place)
    base = before.finding if before else readings.Finding(one.quantity, one.site, meant.value, one.nth)
    details = {name: given for name in ("plane", "note") if (given := getattr(one, name)) is not None}
    finding = replace(base, value=meant.value, **details)
    places[place] = Stored(finding, before.changed_in if before else 0)
    _loosen(places, finding)
    return f"{text} taken as {meant.value.replace('-', '−')}" if meant.was_rounded else ""


def _free(places: dict[Place, Stored], one: Supposed) -> str:
    """State a region free: none where no value stands in it, else rest none."""
    quantity = QUANTITIES[one.quantity]
    place = (one.quantity, one.site, 1)
    if place in places:
        return ""
    values = [s.finding for s in places.values() if s.finding.quantity == one.quantity]
    occupied = any(sites.inside(one.site, f.site) and not f.is_statement for f in values)
    for value in ("rest_none",) if occupied else ("none", "rest_none"):
        if quantity.takes_region(one.site, value) or (value == "none" and "none" in quantity.codes):
            places[place] = Stored(readings.Finding(one.quantity, one.site, value), 0)
            return ""
    raise TypedRefused("This cannot be stated as free here.")


def _loosen(places: dict[Place, Stored], single: readings.Finding) -> None:
    """Turn a "none" around a new value into "rest none", as saving would."""
    if single.is_statement or readings.says_nothing_there(single):
        return
    for place, stored in list(places.items()):
        statement = stored.finding
        if (
            statement.quantity == single.quantity
            and statement.is_statement
            and statement.value == "none"
            and sites.inside(statement.site, single.site)
        ):
            if QUANTITIES[single.quantity].takes_rest_none:
                places[place] = replace(stored, finding=replace(statement, value="rest_none"))
            else:
                del places[place]
