"""Rows of the measuring page: which places of a quantity are asked on a sheet, and what stands there."""

import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from desk.measuring.fields import Field, Option, Place, Shown, Stored, make_field, shown
from desk.measuring.layout import SENSES, Plan
from portfolio import readings, sites, teeth
from portfolio.quantity import UNIT_WORDS, Quantity
from portfolio.vocabulary import METHODS, QUANTITIES
from portfolio.wording import site_words, value_words

Asked = Mapping[str, tuple[str, ...]]
"""Quantity → sites that an index asks for; a quantity that is not asked is not in it."""
UNREAD = "recorded, read by none of the indices chosen"
CUSP_ORDER = ("b", "mb", "db", "dc", "l", "ml", "dl")


@dataclass(frozen=True, slots=True)
class Statement:
    """That a region, or its rest, was looked at and is free."""

    quantity: str
    site: str
    words: str
    seen: int


@dataclass(frozen=True, slots=True)
class Offer:
    """A value that was worked out from other findings and can be taken over into a field."""

    field: str
    text: str
    direction: str
    words: str


@dataclass(frozen=True, slots=True)
class FieldBlock:
    """Fields of one region; `free_words` names the key that states the rest of it free, empty for none."""

    region: str
    label: str
    fields: tuple[Field, ...]
    free_words: str
    halves: tuple[tuple[Field, ...], ...] = ()
    """The fields again, those of one side together: a line breaks between the sides before it breaks in one."""


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity on the page. `layout` changes when other fields belong into the row."""

    key: str
    label: str
    unit: str
    definition: str
    how: str
    sign: str
    drawing: str
    """Path of its drawing, empty where there is none."""
    blocks: tuple[FieldBlock, ...]
    statements: tuple[Statement, ...]
    methods: tuple[Option, ...]
    method: str
    senses: tuple[Option, ...]
    folded: bool
    away: bool
    reason: str
    wide: bool
    offers: tuple[Offer, ...]
    layout: str

    @property
    def fields(self) -> tuple[Field, ...]:
        return tuple(f for block in self.blocks for f in block.fields)


@dataclass(frozen=True, slots=True)
class OnSheet:
    """What the rows are made from: the sheet, its stored findings by place, what is asked, the notation."""

    sheet: readings.Sheet
    stored: Mapping[Place, Stored]
    asked: Asked
    """What is needed now."""
    notation: str
    plane: str = "go_me"
    offered: Asked = field(default_factory=dict)
    """What a chosen index also reads, only if there is something."""
    offers: Mapping[str, tuple[Offer, ...]] = field(default_factory=dict)
    """Quantity → values that were worked out and can be taken over."""

    def reads(self, quantity: str) -> bool:
        """Whether any chosen index reads a quantity."""
        return quantity in self.asked or quantity in self.offered

    def sites_of(self, quantity: str) -> tuple[str, ...]:
        """Sites at which a quantity is asked or offered."""
        return tuple(dict.fromkeys((*self.asked.get(quantity, ()), *self.offered.get(quantity, ()))))

    def at(self, quantity: Quantity, site: str, nth: int = 1) -> Shown:
        """What the field at a place holds."""
        stored = self.stored.get((quantity.key, site, nth))
        covered = None if stored else self.sheet.statement_over(quantity.key, site)
        return shown(quantity, stored, covered)


def make_row(plan: Plan, on: OnSheet) -> Row:
    """The row of a quantity as it is asked on this sheet now."""
    quantity = QUANTITIES[plan.quantity]
    recorded = any(place[0] == quantity.key for place in on.stored)
    unread = not on.reads(quantity.key)
    unasked = quantity.key not in on.asked and not recorded
    away = unasked and (unread or plan.unasked == "away")
    blocks = () if away else tuple(_block(plan, quantity, region, label, on) for region, label in plan.blocks)
    blocks = tuple(block for block in blocks if block.fields)
    if blocks and quantity.mouth_codes:
        blocks = (_whole_mouth(quantity, on), *blocks)
    ids = ",".join(f.id for block in blocks for f in block.fields)
    offers = on.offers.get(quantity.key, ())
    worked_out = "".join(one.words for one in offers)
    return Row(
        key=quantity.key,
        label=quantity.label,
        unit=UNIT_WORDS[quantity.unit],
        definition=quantity.definition,
        how=quantity.how,
        sign=quantity.sign,
        drawing=f"drawings/{quantity.key}.svg" if plan.drawn else "",
        blocks=blocks,
        statements=statements(quantity, on),
        methods=tuple(Option(m, m) for m in METHODS),
        method=_method(quantity, on),
        senses=tuple(Option(key, SENSES[key]) for key in quantity.senses),
        folded=not away and (unread or (unasked and plan.unasked == "folded")),
        away=away,
        reason=UNREAD if unread else plan.reason,
        wide=plan.wide,
        offers=offers,
        layout=f"{zlib.crc32(f'{unasked} {unread} {ids} {worked_out}'.encode()):08x}",
    )


def statements(quantity: Quantity, on: OnSheet) -> tuple[Statement, ...]:
    """Statements recorded for a quantity at sites that are no fields of their own."""
    found = []
    for (key, site, nth), stored in on.stored.items():
        if key != quantity.key or nth != 1 or not stored.finding.is_statement or quantity.site.takes(site):
            continue
        words = f"{site_words(site, on.notation)}: {value_words(key, stored.finding.value)}"
        found.append(Statement(key, site, words, stored.changed_in))
    return tuple(sorted(found, key=lambda s: s.site))


def _method(quantity: Quantity, on: OnSheet) -> str:
    """The method last used on this sheet for the quantity, else the one offered first."""
    used = [
        (stored.changed_in, stored.finding.method)
        for place, stored in on.stored.items()
        if place[0] == quantity.key and stored.finding.method
    ]
    return max(used)[1] if used else quantity.method


def _block(plan: Plan, quantity: Quantity, region: str, label: str, on: OnSheet) -> FieldBlock:
    if plan.kind == "entries":
        fields = tuple(_entries(quantity, on))
    else:
        fields = tuple(_one(quantity, site, on) for site in _sites(plan, quantity, region, on))
    halves = _halves(fields) if plan.wide and region in sites.ARCHES else (fields,)
    return FieldBlock(region, label, fields, free_words(quantity, region), halves)


def _halves(fields: tuple[Field, ...]) -> tuple[tuple[Field, ...], ...]:
    """Fields of an arch by the patient's side; the contact between the sides goes with the right."""
    left = tuple(f for f in fields if sites.inside("left", f.site))
    return tuple(half for half in (tuple(f for f in fields if f not in left), left) if half)


def _whole_mouth(quantity: Quantity, on: OnSheet) -> FieldBlock:
    """The field of codes that speak of the whole mouth, such as a radiograph that was not taken.

    A statement that stands there is shown as such; a code chosen in the field takes its place.
    """
    stored = on.stored.get((quantity.key, "mouth", 1))
    stated = stored is not None and stored.finding.is_statement
    at = (
        Shown(seen=stored.changed_in, covered="none")
        if stored is not None and stated
        else on.at(quantity, "mouth")
    )
    options = tuple(Option(code, quantity.code_labels.get(code, code)) for code in quantity.mouth_codes)
    field_ = make_field(quantity, "mouth", at, on.notation, options=options)
    return FieldBlock("mouth", "Whole mouth", (field_,), "", ((field_,),))


def free_words(quantity: Quantity, region: str) -> str:
    """What the key of a region says: `Rest none`, `None` where a rest is not taken, empty where neither is."""
    if quantity.takes_region(region, "rest_none"):
        return "Rest none"
    own_field = quantity.site.takes(region)
    return "None" if quantity.takes_region(region, "none") and not own_field else ""


def _sites(plan: Plan, quantity: Quantity, region: str, on: OnSheet) -> Iterable[str]:
    """Sites of one block in the order round the arch: those asked for and those recorded."""
    recorded = {
        place[1]
        for place, stored in on.stored.items()
        if place[0] == quantity.key and _single(quantity, stored)
    }
    if plan.kind == "mouth":
        return ("mouth",)
    if plan.kind == "sides":
        wanted = sites.SIDES if plan.unasked == "shown" else on.asked.get(quantity.key, ())
        return tuple(s for s in sites.SIDES if s in wanted or s in recorded)
    if plan.kind == "arches":
        return sites.ARCHES
    asked = on.sites_of(quantity.key)
    if plan.kind == "segments":
        every = (s for s in sites.SEGMENTS if quantity.site.takes(s) and sites.inside(region, s))
        return tuple(s for s in every if not asked or s in asked or s in recorded)
    if plan.kind == "contacts":
        standing = tuple(c for c in on.sheet.contacts[region] if not asked or c in asked)
        gone = sorted(s for s in recorded if sites.inside(region, s) and s not in standing)
        return (*standing, *gone)
    places = set(asked) or _standing(quantity, on.sheet)
    places = {t for t in places | recorded if quantity.site.takes(t) and sites.inside(region, t)}
    if plan.kind == "cusps":
        return sorted(places, key=lambda cusp: (teeth.order(cusp[:2]), CUSP_ORDER.index(cusp[3:])))
    return teeth.in_order(places)


def _single(quantity: Quantity, stored: Stored) -> bool:
    return quantity.site.takes(stored.finding.site)


def _standing(quantity: Quantity, sheet: readings.Sheet) -> set[str]:
    holders = {sheet.holder(teeth.place(t)) for t in teeth.ALL_TEETH if quantity.site.takes(t)}
    return {t for t in holders if t is not None}


def _one(quantity: Quantity, site: str, on: OnSheet) -> Field:
    at = on.at(quantity, site)
    if quantity.takes_plane and not at.plane:
        at = replace(at, plane=on.plane)
    options = tooth_options(site, on) if quantity.kind == "tooth" else ()
    return make_field(
        quantity,
        site,
        at,
        on.notation,
        options=options,
        wants_note=quantity.needs_note,
    )


def tooth_options(side: str, on: OnSheet) -> tuple[Option, ...]:
    """Teeth of one side behind the canine that can be read in place of a first molar."""
    found = teeth.in_order(t for t in on.sheet.standing if teeth.side(t) == side and teeth.is_posterior(t))
    return tuple(Option(t, teeth.shown(t, on.notation)) for t in found)


def _entries(quantity: Quantity, on: OnSheet) -> Iterable[Field]:
    """One field for each entry of a repeating quantity and an empty one after the last."""
    numbers = sorted(place[2] for place in on.stored if place[0] == quantity.key)
    for nth in (*numbers, max(numbers, default=0) + 1):
        yield make_field(quantity, "mouth", on.at(quantity, "mouth", nth), on.notation, nth=nth)
