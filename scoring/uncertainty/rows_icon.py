"""Parts of the rows that only ICON has.  Pure."""

from decimal import ROUND_HALF_EVEN, Decimal

from portfolio import teeth
from portfolio.finding_sheet import Sheet
from scoring.components import standing_teeth
from scoring.indices.icon.rows import AnyCrossbite, Look, UpperSpace
from scoring.shapes import Value, plain
from scoring.uncertainty.book import Book
from scoring.uncertainty.parts import Part, at, greatest, limits_of, single
from scoring.uncertainty.rows import parts_of, recorded_places

BEST, POOREST = Decimal(1), Decimal(10)
HALVES = tuple(Decimal(grade) + Decimal("0.5") for grade in range(1, 10))


@parts_of.register
def _look(row: Look, sheet: Sheet, book: Book) -> list[Part]:
    finding = sheet.at("aesthetic_component", "mouth")
    if finding is None:
        return []

    def points(value: Value) -> Decimal:
        grade = min(max(Decimal(value).to_integral_value(ROUND_HALF_EVEN), BEST), POOREST)
        return row.grades.points(plain(grade))

    return [single(row.category, book.of(finding).place, points, at(*HALVES))]


@parts_of.register
def _space(row: UpperSpace, sheet: Sheet, book: Book) -> list[Part]:
    reads = []
    for hit in book.tally(row).hits:
        if hit.value is None or hit.value == "none":
            continue
        finding = hit.findings[0]
        reading = book.at("crowding", "upper") if finding.quantity == "crowding" else book.of(finding)
        assert reading is not None
        reads.append((reading.place, hit.rule.points, limits_of(hit.rule)))
    return [greatest(row.category, reads)] if reads else []


@parts_of.register
def _crossbite(row: AnyCrossbite, sheet: Sheet, book: Book) -> list[Part]:
    reads = []
    for tooth in standing_teeth(sheet, teeth.UPPER_BUCCAL):
        reading = book.at("crossbite", tooth)
        if reading is not None:
            reads.append((reading.place, row.behind.points, limits_of(row.behind)))
    front = standing_teeth(sheet, teeth.UPPER_FRONT)
    reads += [
        (place, row.front.points, limits_of(row.front))
        for place in recorded_places("overjet", front, sheet, book)
    ]
    return [greatest(row.category, reads)] if reads else []
