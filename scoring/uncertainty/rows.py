"""What each row of a form is to uncertainty: its parts.  A new kind of row is registered here by its class.  Pure."""

from collections.abc import Callable, Iterable
from decimal import Decimal
from functools import singledispatch
from typing import Any

from portfolio.finding_sheet import Finding, Sheet
from scoring.components import (
    EachTooth,
    Marked,
    SingleCode,
    SingleNumber,
    WorstSite,
    WorstTooth,
    standing_teeth,
)
from scoring.front_and_sides import Interdigitation, OverbitePart
from scoring.hits import Hit
from scoring.measured_shapes import Bands, Limbs, PerUnit
from scoring.shapes import ZERO, Choice, Rule, Value
from scoring.uncertainty.book import Book
from scoring.uncertainty.model import CannotBeTold, Place
from scoring.uncertainty.parts import (
    CutsIn,
    Part,
    by_rule,
    greatest,
    keyed,
    limits_of,
    points_key,
    rule_key,
    single,
    standing,
)


@singledispatch
def parts_of(row: Any, sheet: Sheet, book: Book) -> list[Part]:
    """The parts of a row; CannotBeTold for a kind of row that nobody has described."""
    raise CannotBeTold(f"how errors act on the row {type(row).__name__} has not been described")


def by_hit(category: str, hit: Hit, book: Book) -> Part:
    """A row's hit on one finding: the points of what was recorded, and by the rule of anything else it may be."""
    reading = book.of(hit.findings[0])
    recorded, rule = reading.recorded, hit.rule

    def points(value: Value) -> Decimal:
        return hit.raw if value == recorded else _points(rule, value)

    return single(
        category, reading.place, points, limits_of(rule), ("hit", rule_key(rule), recorded, hit.raw)
    )


def _points(rule: Rule, value: Value) -> Decimal:
    """Points of a value; a code that the rule does not know gives none."""
    if isinstance(rule, Choice) and value not in dict(rule.table):
        return ZERO
    if isinstance(value, str) and isinstance(rule, Bands | PerUnit | Limbs):
        return ZERO
    return rule.points(value)


def by_statement(category: str, hit: Hit, book: Book) -> Part:
    """A region stated free of a state: the fewest points of the rule where one was overlooked."""
    rule = hit.rule
    least = (
        min((p for _, p in rule.table if p), default=ZERO)
        if isinstance(rule, Choice)
        else getattr(rule, "each", ZERO)
    )
    reading = book.overlooked(hit.findings[0], "there")
    return single(
        category, reading.place, lambda value: least if value == "there" else ZERO, key=("there", least)
    )


def constant(category: str, points: Decimal) -> Part:
    """Points that no error touches."""
    return Part(
        category,
        (),
        points,
        lambda state, position, value: state,
        lambda state: state,
        (),
        ("constant", points),
    )


def at_sites(category: str, quantity: str, places: Iterable[str], rule: Rule, book: Book) -> list[Part]:
    """Points of every place that is recorded or stated free, each for itself."""
    found = (book.at(quantity, place) for place in places)
    return [by_rule(category, reading.place, rule) for reading in found if reading is not None]


def scored_places(row: EachTooth | WorstTooth, sheet: Sheet) -> list[str]:
    """Teeth of a row that it does not leave out."""
    return [
        t for t in standing_teeth(sheet, row.places) if not any(e.holds(sheet, t) for e in row.leaves_out)
    ]


def recorded_places(quantity: str, places: Iterable[str], sheet: Sheet, book: Book) -> list[Place]:
    """Places with a finding of their own; the readings are made on the way."""
    found = sheet.by_quantity.get(quantity, {})
    return [book.of(found[place]).place for place in places if place in found]


@parts_of.register
def _each_tooth(row: EachTooth, sheet: Sheet, book: Book) -> list[Part]:
    places = scored_places(row, sheet)
    if row.free is None:
        return [
            by_rule(row.category, place, row.rule)
            for place in recorded_places(row.quantity, places, sheet, book)
        ]
    return at_sites(row.category, row.quantity, places, row.rule, book)


def worst(
    category: str,
    reads: list[Place],
    rule: Bands,
    rivals: Iterable[tuple[Place, Callable[[Value], Decimal], CutsIn]] = (),
    size: Callable[[Decimal], Decimal] = lambda value: value,
) -> Part:
    """Points of the greatest of several values, or of a rival that scores more."""
    piece, cuts, count = standing(rule), limits_of(rule), len(reads)
    listed = tuple(rivals)
    points = tuple(one for _, one, _ in listed)

    def step(
        state: tuple[Decimal | None, Decimal], position: int, value: Value
    ) -> tuple[Decimal | None, Decimal]:
        greatest_value, rival = state
        if position >= count:
            return greatest_value, max(rival, points[position - count](value))
        here = piece(value)
        if greatest_value is None or size(here) > size(greatest_value):
            greatest_value = here
        return greatest_value, rival

    def end(state: tuple[Decimal | None, Decimal]) -> Decimal:
        return state[1] if state[0] is None else max(state[1], rule.points(state[0]))

    places = (*reads, *(place for place, _, _ in listed))
    limits = (*(cuts for _ in reads), *(c for *_, c in listed))
    key = keyed("worst", rule_key(rule), count, size is abs, *(points_key(one) for one in points))
    return Part(category, places, (None, ZERO), step, end, limits, key)


@parts_of.register
def _worst_tooth(row: WorstTooth, sheet: Sheet, book: Book) -> list[Part]:
    assert isinstance(row.rule, Bands)
    rivals = []
    for quantity, rule in row.rivals:
        finding = sheet.at(quantity, "mouth")
        if finding is not None and finding.value != "unknown":
            rivals.append((book.of(finding).place, rule.points, limits_of(rule)))
    reads = recorded_places(row.quantity, scored_places(row, sheet), sheet, book)
    return [worst(row.category, reads, row.rule, rivals)] if reads or rivals else []


@parts_of.register
def _worst_site(row: WorstSite, sheet: Sheet, book: Book) -> list[Part]:
    assert isinstance(row.rule, Bands)
    found = [reading.place for q, s in row.readings if (reading := book.at(q, s)) is not None]
    return (
        [worst(row.category, found, row.rule, size=abs if row.by_absolute else lambda v: v)] if found else []
    )


@parts_of.register
def _single_number(row: SingleNumber, sheet: Sheet, book: Book) -> list[Part]:
    return [by_rule(row.category, book.of(hit.findings[0]).place, row.rule) for hit in book.tally(row).hits]


@parts_of.register
def _single_code(row: SingleCode, sheet: Sheet, book: Book) -> list[Part]:
    return [by_hit(row.category, hit, book) for hit in book.tally(row).hits if hit.counts]


def marks(category: str, hits: Iterable[Hit], book: Book) -> list[Part]:
    """Hits of marked teeth, and of the statement that there are none."""
    found = []
    for hit in hits:
        if hit.value is None:
            continue
        finding: Finding = hit.findings[0]
        found.append((by_statement if finding.is_statement else by_hit)(category, hit, book))
    return found


@parts_of.register
def _marked(row: Marked, sheet: Sheet, book: Book) -> list[Part]:
    return marks(row.category, book.tally(row).hits, book)


@parts_of.register
def _overbite_part(row: OverbitePart, sheet: Sheet, book: Book) -> list[Part]:
    reads = []
    for hit in book.tally(row).hits:
        if hit.value is not None:
            rule = row.cover if hit.findings[0].quantity == "overbite_cover" else row.opening
            reads.append((book.of(hit.findings[0]).place, rule.points, limits_of(rule)))
    return [greatest(row.category, reads)] if reads else []


@parts_of.register
def _interdigitation(row: Interdigitation, sheet: Sheet, book: Book) -> list[Part]:
    return [by_hit(row.category, hit, book) for hit in book.tally(row).hits]
