"""What a worked case must make fire: every band, code or limb of every rule that an index holds."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from decimal import Decimal

from scoring.hits import Tallies
from scoring.index import Index
from scoring.measured_shapes import Bands, Limbs, PerUnit
from scoring.shapes import Choice, Count, Rule, Said

SHAPES = (Bands, Choice, Count, Limbs, PerUnit, Said)


def rules_in(thing: object) -> Iterator[Rule]:
    """Rules held by a row of a form: in its fields, in tuples and in the rows and exclusions it is made of."""
    if isinstance(thing, SHAPES):
        yield thing
    elif isinstance(thing, tuple | list):
        for inner in thing:
            yield from rules_in(inner)
    elif is_dataclass(thing) and not isinstance(thing, type):
        for held in fields(thing):
            yield from rules_in(getattr(thing, held.name))


def cells(rule: Rule) -> set[str]:
    """The bands, codes or limbs of a rule, each of which must fire somewhere."""
    match rule:
        case Bands():
            return {f"{rule.label} {b.words('')}" for b in rule.bands}
        case Choice():
            return {f"{rule.label} {code}" for code, _ in rule.table}
        case Limbs():
            return {f"{rule.high.label} high", f"{rule.high.label} low", f"{rule.high.label} between"}
        case PerUnit():
            return {f"{rule.label} {rule.rounding} scored", f"{rule.label} {rule.rounding} not scored"}
        case Count():
            return {rule.label}
        case Said():
            return {rule.text}
    raise AssertionError(rule)


def fired_cell(rule: Rule, value: object) -> str:
    match rule:
        case Bands():
            assert isinstance(value, Decimal)
            return next(f"{rule.label} {b.words('')}" for b in rule.bands if b.holds(value))
        case Choice():
            return f"{rule.label} {value}"
        case Limbs():
            assert isinstance(value, Decimal)
            limb = "high" if rule.high.points(value) else "low" if rule.low.points(value) else "between"
            return f"{rule.high.label} {limb}"
        case PerUnit():
            assert isinstance(value, Decimal)
            return f"{rule.label} {rule.rounding} {'scored' if rule.points(value) else 'not scored'}"
        case Count():
            return rule.label
        case Said():
            return rule.text
    raise AssertionError(rule)


def held_cells(index: Index, edition: str, choices: dict[str, str]) -> set[str]:
    """All cells of an index under an edition and choices."""
    terms = index.terms(edition, choices)
    rows = index.components(tuple(sorted(terms.choices.items())), terms.edition)
    return {cell for row in rows for rule in rules_in(row) for cell in cells(rule)}


def fired_cells(found: Tallies) -> set[str]:
    """The cells that the hits of a sheet have used."""
    return {
        fired_cell(hit.rule, hit.value)
        for _, tally in found
        for hit in tally.hits
        if hit.value is not None or isinstance(hit.rule, Said | Count)
    }
