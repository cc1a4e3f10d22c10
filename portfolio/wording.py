"""Findings in words, as a page or the history says them: signs only in files, directions in words."""

from portfolio import teeth
from portfolio.contradictions import Naming
from portfolio.quantity import UNIT_WORDS
from portfolio.vocabulary import QUANTITIES

_DIRECTIONS: dict[str, tuple[str, str]] = {
    "overjet": ("", "reverse"),
    "overbite": ("", "open"),
    "crowding": ("short of space", "spaced"),
    "midline_offset": ("lower to the left", "lower to the right"),
    "upper_midline_face": ("to the left", "to the right"),
    "lower_midline_face": ("to the left", "to the right"),
}
"""Quantity → what its plus and its minus say in words."""

MEDIUM_WORDS = {
    "plaster": "plaster casts",
    "printed": "printed casts",
    "scan": "digital casts",
    "photograph": "photographs",
    "radiograph": "radiographs",
    "patient": "the patient",
    "notes": "clinical notes",
}
"""On what findings are taken, as a sentence goes on after "on"."""

_STATES = {"none": "none", "rest_none": "rest none", "unknown": "cannot be told"}


def quantity_words(key: str) -> str:
    """The label of a quantity, or its key where the vocabulary no longer knows it."""
    quantity = QUANTITIES.get(key)
    return quantity.label if quantity else key


def in_sentence(key: str) -> str:
    """The label of a quantity inside a sentence: `overjet`, `ANB`, `open bite behind the canines`."""
    label = quantity_words(key)
    return label if label[:2].isupper() else label[:1].lower() + label[1:]


def screen_naming(notation: str) -> Naming:
    """What a page calls quantities, sites and values where a sheet contradicts itself."""
    return Naming(quantity=in_sentence, site=lambda site: site_words(site, notation), value=value_words)


def medium_words(medium: str) -> str:
    """`plaster casts`, `digital casts`; the key where it is not known."""
    return MEDIUM_WORDS.get(medium, medium)


def site_words(site: str, notation: str) -> str:
    """A site in the reader's notation; `whole mouth` for the mouth."""
    return "whole mouth" if site == "mouth" else teeth.shown_site(site, notation)


def value_words(key: str, value: str) -> str:
    """A stored value with unit and direction: `3.5 mm reverse`, `rest none`, `end to end`; empty for none."""
    quantity = QUANTITIES.get(key)
    if not value or quantity is None:
        return value
    if value in _STATES and value not in quantity.code_labels:
        return _STATES[value]
    if quantity.kind == "code":
        return quantity.code_labels.get(value, value)
    if quantity.kind != "number":
        return value
    plus, minus = _DIRECTIONS.get(key, ("", ""))
    negative, nothing = value.startswith("-"), not value.strip("-0.")
    unit = UNIT_WORDS[quantity.unit]
    joined = "" if unit in ("°", "") else " "
    if minus:
        word = "" if nothing else f" {minus}" if negative else f" {plus}" if plus else ""
        return f"{value.removeprefix('-')}{joined}{unit}{word}"
    return f"{value.replace('-', '−')}{joined}{unit}"
