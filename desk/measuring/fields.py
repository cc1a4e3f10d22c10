"""Fields of the measuring page: what a stored finding looks like on the screen, and back again."""

from dataclasses import dataclass

from desk.measuring.layout import DIRECTIONS, SENSES, SHORT_LABELS, TOOTH_WORDS
from portfolio import readings, sites
from portfolio.quantities.radiograph import PLANE_LABELS, PLANES
from portfolio.quantity import UNIT_WORDS, Quantity
from portfolio.wording import site_words

Place = tuple[str, str, int]
"""Quantity, site and number of the repeat."""


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a list: what is sent and what is read."""

    value: str
    label: str


@dataclass(frozen=True, slots=True)
class Shown:
    """What a field holds: the text to be typed again, what it means in words, and what the page has seen.

    `direction` is + or − where the direction stands in words beside the number. `covered` says that a
    statement about a wider region speaks for this empty field.
    """

    text: str = ""
    word: str = ""
    seen: int = 0
    direction: str = ""
    note: str = ""
    plane: str = ""
    method: str = ""
    covered: str = ""
    evidence: bool = False
    """Whether the finding has pictures or marks that it rests on."""


@dataclass(frozen=True, slots=True)
class Field:
    """One place on the sheet that can be filled in."""

    id: str
    quantity: str
    site: str
    nth: int
    kind: str
    label: str
    name: str
    shown: Shown
    options: tuple[Option, ...] = ()
    directions: tuple[Option, ...] = ()
    planes: tuple[Option, ...] = ()
    wants_note: bool = False


@dataclass(frozen=True, slots=True)
class Stored:
    """A finding as the page reads it, with the number of the change that wrote it."""

    finding: readings.Finding
    changed_in: int


def field_id(quantity: str, site: str, nth: int = 1) -> str:
    """Name of a field in the page: `overjet-11-1`; sites keep only letters, digits and dashes."""
    return f"{quantity}-{site.replace('.', '_')}-{nth}"


def make_field(
    quantity: Quantity,
    site: str,
    shown: Shown,
    notation: str,
    *,
    nth: int = 1,
    kind: str = "",
    options: tuple[Option, ...] = (),
    wants_note: bool = False,
) -> Field:
    """One field with its labels and choices."""
    kind = kind or {"number": "number", "words": "words"}.get(quantity.kind, "choice")
    unit = UNIT_WORDS[quantity.unit]
    words = site_words(site, notation)
    name = quantity.label if site == "mouth" else f"{quantity.label}, {words}"
    return Field(
        id=field_id(quantity.key, site, nth),
        quantity=quantity.key,
        site=site,
        nth=nth,
        kind=kind,
        label="" if site == "mouth" else words.capitalize() if sites.width(site) else words,
        name=f"{name}, {unit}" if unit and kind == "number" else name,
        shown=shown,
        options=options or code_options(quantity),
        directions=tuple(Option(*pair) for pair in DIRECTIONS.get(quantity.key, ())),
        planes=tuple(Option(p, PLANE_LABELS[p]) for p in PLANES) if quantity.takes_plane else (),
        wants_note=wants_note,
    )


def code_options(quantity: Quantity) -> tuple[Option, ...]:
    """The codes of a quantity with their words; none for numbers and free words."""
    if quantity.kind != "code":
        return ()
    short = SHORT_LABELS.get(quantity.key, {})
    codes = quantity.allowed_words()
    return tuple(Option(c, short.get(c, quantity.code_labels.get(c, c))) for c in codes)


def shown(quantity: Quantity, stored: Stored | None, covered: readings.Finding | None = None) -> Shown:
    """What the field of a finding holds; `covered` is the statement that speaks for an empty one."""
    if stored is None:
        words = {"none": "none", "rest_none": "none"}.get(covered.value, "") if covered else ""
        return Shown(covered=words)
    finding = stored.finding
    text, word, direction = _reading(quantity, finding.value)
    return Shown(
        text=text,
        word=word,
        seen=stored.changed_in,
        direction=direction,
        note=finding.note,
        plane=finding.plane,
        method=finding.method,
        evidence=finding.evidence_at > 0,
    )


def _reading(quantity: Quantity, value: str) -> tuple[str, str, str]:
    """Text, words and direction of a stored value."""
    if quantity.kind != "number":
        return value, "", ""
    if value in ("none", "unknown"):
        return value, "", ""
    negative, bare = value.startswith("-"), value.removeprefix("-")
    zero = not bare.strip("0.")
    if quantity.key in DIRECTIONS:
        return bare, _direction_words(quantity.key, bare, negative, zero), "-" if negative else "+"
    if zero and "e" in quantity.senses:
        return bare, "edge", ""
    for sense in quantity.senses:
        if negative and sense in ("o", "x"):
            return f"{sense} {bare}", SENSES[sense], ""
    return ("−" + bare if negative else bare), "", ""


def _direction_words(key: str, bare: str, negative: bool, zero: bool) -> str:
    if zero:
        return "fits" if key == "crowding" else "no offset"
    if key == "crowding":
        return f"{bare} mm to spare" if negative else f"short by {bare} mm"
    side = "right" if negative else "left"
    return f"{bare} mm to the patient's {side}"


def tooth_words(quantity_key: str, value: str) -> str:
    """The word of a tooth's state in the rows of teeth."""
    if quantity_key == "supernumerary":
        return f"+{value} extra"
    return TOOTH_WORDS.get((quantity_key, value), value.replace("_", " "))
