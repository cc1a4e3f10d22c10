"""Parts of the rows that only PAR has.  Pure."""

from collections.abc import Callable
from decimal import Decimal

from portfolio import sites, teeth
from portfolio.finding_sheet import Sheet
from scoring.components import standing_teeth
from scoring.front_and_sides import each_side
from scoring.front_contacts import front_contacts
from scoring.hits import Hit
from scoring.indices.par.anterior_segment import (
    KEPT_SPACE_COUNTS_UNDER,
    AnteriorSegment,
    closing_over,
    plan_of,
)
from scoring.indices.par.buccal_and_overjet import (
    OPEN_BEHIND_OVER,
    AcrossBehind,
    Centreline,
    OpenBehind,
    OverjetPart,
)
from scoring.measured_shapes import Bands
from scoring.shapes import ZERO, Value
from scoring.uncertainty.book import Book
from scoring.uncertainty.derived import ShareOfWidth, Straight
from scoring.uncertainty.model import Place
from scoring.uncertainty.parts import CutsIn, Part, at, by_rule, limits_of, no_cuts, rule_key, single
from scoring.uncertainty.reading import Derived, Law, Reading
from scoring.uncertainty.rows import by_hit, parts_of, recorded_places, worst

Read = tuple[Place, Callable[[Value], Decimal], CutsIn]


def derive(book: Book, place: Place, recorded: Decimal, how: Derived, made_of: tuple[Reading, ...]) -> Place:
    """Put a worked-out reading into the book; one that is made of certain ones is certain too."""
    if all(reading.certain for reading in made_of):
        return book.derive(Reading(place, recorded, Law("certain", recorded)))
    return book.derive(Reading(place, recorded, Law("normal", recorded), made_of=made_of, derived=how))


@parts_of.register
def _segment(row: AnteriorSegment, sheet: Sheet, book: Book) -> list[Part]:
    signs: dict[str, list[Hit]] = {}
    for hit in book.tally(row).hits:
        if (
            hit.value is not None
            and hit.findings[0].quantity
            in (
                "impacted",
                "eruption_space",
                "support_zone",
            )
            and not hit.findings[0].is_statement
        ):
            signs.setdefault(hit.site, []).append(hit)
    over: dict[str, list[str]] = {}
    for tooth in signs:
        over.setdefault(closing_over(sheet, tooth), []).append(tooth)
    found = []
    for contact in front_contacts(sheet, row.arch):
        place = _displacement(row, sheet, book, contact)
        closing = over.pop(contact, [])
        if closing:
            found.append(_closed(row, place, [signs[t] for t in closing], book))
        elif place is not None:
            found.append(by_rule(row.category, place, row.displacement))
    return found + [_closed(row, None, [signs[t]], book) for teeth_ in over.values() for t in teeth_]


def _displacement(row: AnteriorSegment, sheet: Sheet, book: Book, contact: str) -> Place | None:
    """The reading of one contact; None where nothing is recorded or a primary tooth stands there."""
    aside, apart = book.at("contact_offset", contact), book.at("gap", contact)
    if any(teeth.is_primary(t) for t in sites.teeth_of(contact)) or (aside is None and apart is None):
        return None
    told = next((h for h in book.tally(row).hits if h.site == contact and isinstance(h.value, Decimal)), None)
    absent = Reading(("gap", contact), ZERO, Law("certain", ZERO))
    plan = plan_of(sheet, contact)
    kept = None if plan is not None and plan.value == "close" else KEPT_SPACE_COUNTS_UNDER
    how = Straight(limits_of(row.displacement)(0, 0), row.larger, kept)
    recorded = told.value if told is not None and isinstance(told.value, Decimal) else ZERO
    return derive(book, ("displacement", contact), recorded, how, (aside or absent, apart or absent))


def _closed(row: AnteriorSegment, contact: Place | None, teeth_: list[list[Hit]], book: Book) -> Part:
    """Impactions, each tooth once, and the contact that counts only where none of them scores."""
    reads: list[Read] = []
    tooth_of: list[int] = []
    for number, hits in enumerate(teeth_):
        for hit in hits:
            reads.append((book.of(hit.findings[0]).place, hit.rule.points, limits_of(hit.rule)))
            tooth_of.append(number)
    if contact is not None:
        reads.append((contact, row.displacement.points, limits_of(row.displacement)))
        tooth_of.append(len(teeth_))
    points = [one for _, one, _ in reads]

    def step(state: tuple[Decimal, ...], position: int, value: Value) -> tuple[Decimal, ...]:
        here = tooth_of[position]
        return (*state[:here], max(state[here], points[position](value)), *state[here + 1 :])

    def end(state: tuple[Decimal, ...]) -> Decimal:
        impacted = sum(state[:-1], ZERO)
        return impacted or state[-1]

    start = (ZERO,) * (len(teeth_) + 1)
    return Part(row.category, tuple(p for p, _, _ in reads), start, step, end, tuple(c for *_, c in reads))


@parts_of.register
def _open_behind(row: OpenBehind, sheet: Sheet, book: Book) -> list[Part]:
    def step(state: int, position: int, value: Value) -> int:
        return min(state + (Decimal(value) > OPEN_BEHIND_OVER), 2)

    def end(state: int) -> Decimal:
        return row.rule.points(Decimal(state))

    found = []
    for reads in _sides(row, sheet, book):
        cuts = tuple(at(OPEN_BEHIND_OVER) for _ in reads)
        found.append(Part(row.category, reads, 0, step, end, cuts, ("open behind", rule_key(row.rule))))
    return found


@parts_of.register
def _across(row: AcrossBehind, sheet: Sheet, book: Book) -> list[Part]:
    def step(state: tuple[int, int, bool], position: int, value: Value) -> tuple[int, int, bool]:
        inside, outside, edge = state
        return (
            min(inside + (value == "upper_inside"), 2),
            min(outside + (value == "upper_outside"), 2),
            edge or value == "edge",
        )

    def end(state: tuple[int, int, bool]) -> Decimal:
        inside, outside, edge = state
        codes = ["none"]
        codes += ["one_tooth_inside" if inside == 1 else "more_teeth_inside"] if inside else []
        codes += ["one_tooth_outside" if outside == 1 else "more_teeth_outside"] if outside else []
        codes += ["edge"] if edge else []
        return max(row.rule.points(code) for code in codes)

    return [
        Part(
            row.category,
            reads,
            (0, 0, False),
            step,
            end,
            tuple(no_cuts for _ in reads),
            ("across", rule_key(row.rule)),
        )
        for reads in _sides(row, sheet, book)
    ]


def _sides(row: OpenBehind | AcrossBehind, sheet: Sheet, book: Book) -> list[tuple[Place, ...]]:
    """Readings of each side, teeth that do not count left out."""
    found = []
    for _, places in each_side(teeth.UPPER_BUCCAL):
        standing = standing_teeth(sheet, places)
        wanted = [t for t in standing if t not in sheet.partly_erupted and sheet.at("submerged", t) is None]
        readings = (book.at(row.quantity, tooth) for tooth in wanted)
        reads = tuple(r.place for r in readings if r is not None)
        if reads:
            found.append(reads)
    return found


@parts_of.register
def _overjet(row: OverjetPart, sheet: Sheet, book: Book) -> list[Part]:
    incisors = recorded_places("overjet", standing_teeth(sheet, teeth.UPPER_INCISORS), sheet, book)
    front = recorded_places("overjet", standing_teeth(sheet, teeth.UPPER_FRONT), sheet, book)
    reverse = ("one_tooth_reverse", "two_teeth_reverse", "more_teeth_reverse")

    def step(state: tuple[int, bool], position: int, value: Value) -> tuple[int, bool]:
        number = Decimal(value)
        return min(state[0] + (number < 0), 3), state[1] or number == 0

    def end(state: tuple[int, bool]) -> Decimal:
        count, edge = state
        code = reverse[count - 1] if count else "edge_to_edge" if edge else "none"
        return row.crossbite.points(code)

    found = [worst(row.category, incisors, row.positive)] if incisors else []
    if front:
        found.append(
            Part(
                row.category,
                tuple(front),
                (0, False),
                step,
                end,
                tuple(at(0) for _ in front),
                ("reverse", rule_key(row.crossbite)),
            )
        )
    return found


@parts_of.register
def _centreline(row: Centreline, sheet: Sheet, book: Book) -> list[Part]:
    found = []
    for hit in book.tally(row).hits:
        if not isinstance(hit.value, Decimal):
            continue
        if len(hit.findings) == 1:
            # a share that was seen, or midlines recorded together, of which no width is needed
            if hit.findings[0].quantity == "midline_share":
                found.append(by_hit(row.category, hit, book))
            else:
                found.append(single(row.category, book.of(hit.findings[0]).place, lambda value: ZERO))
            continue
        assert isinstance(row.derived, Bands)
        how = ShareOfWidth(limits_of(row.derived)(0, 0))
        made_of = tuple(book.of(f) for f in hit.findings)
        place = derive(book, ("midline_share", "worked out"), hit.value, how, made_of)
        found.append(by_rule(row.category, place, row.derived))
    return found
