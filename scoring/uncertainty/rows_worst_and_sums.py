"""Parts of the letters of the need index, of which the worst counts, and of the irregularity index.  Pure."""

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

from portfolio.finding_sheet import Sheet
from portfolio.vocabulary import QUANTITIES
from scoring.front_contacts import front_contacts
from scoring.hits import Hit
from scoring.indices.iotn.letters import Asked, Letter
from scoring.indices.irregularity.rules import Displacements, absent
from scoring.measured_shapes import Bands
from scoring.shapes import HUNDREDTH, ZERO, Value
from scoring.uncertainty.book import COUNTED, Book
from scoring.uncertainty.parts import Part, at, by_rule, single
from scoring.uncertainty.reading import Cuts
from scoring.uncertainty.rows import by_hit, by_statement, parts_of

HALF = HUNDREDTH / 2


@parts_of.register
def _letter(row: Letter, sheet: Sheet, book: Book) -> list[Part]:
    """Every hit by itself; findings that go along with it (lips, function, shift) are taken as recorded."""
    found = []
    for hit in book.tally(row).hits:
        if hit.value is None:
            continue
        finding = hit.findings[0]
        if finding.is_statement:
            found.append(by_statement(row.category, hit, book))
        elif isinstance(hit.rule, Bands) and _reads(hit.value, finding.quantity, finding.value):
            found.append(by_rule(row.category, book.of(finding).place, hit.rule))
        elif QUANTITIES[finding.quantity].kind == "number" and finding.quantity not in COUNTED:
            found.append(_on_its_side(row.category, hit, book))
        else:
            found.append(by_hit(row.category, hit, book))
    return found


def _on_its_side(category: str, hit: Hit, book: Book) -> Part:
    """A front tooth in reverse whose grade comes from the shift: it counts as long as it is in reverse."""
    reading = book.of(hit.findings[0])
    reverse = hit.findings[0].number < 0

    def points(value: Value) -> Decimal:
        return hit.raw if (Decimal(value) < 0) == reverse else ZERO

    return single(category, reading.place, points, at(0))


def _reads(value: Value, quantity: str, recorded: str) -> bool:
    """Whether a hit's number is the finding's own and not one of a finding that goes along."""
    return isinstance(value, Decimal) and QUANTITIES[quantity].kind == "number" and value == Decimal(recorded)


@parts_of.register
def _asked(row: Asked, sheet: Sheet, book: Book) -> list[Part]:
    return []


@parts_of.register
def _displacements(row: Displacements, sheet: Sheet, book: Book) -> list[Part]:
    """Each contact in hundredths of a millimetre."""
    if absent(sheet):
        return []
    readings = (book.at("contact_offset", contact) for contact in front_contacts(sheet, "lower"))
    return [
        single(row.category, r.place, _hundredths, _halves, "hundredths") for r in readings if r is not None
    ]


def _hundredths(value: Value) -> Decimal:
    return max(Decimal(value), Decimal(0)).quantize(HUNDREDTH, ROUND_HALF_UP)


def _halves(low: float, high: float) -> Cuts:
    """Limits half way between hundredths, from 0 on."""
    first = max(Decimal(low).quantize(HUNDREDTH, ROUND_HALF_EVEN), Decimal(0)) + HALF
    last = Decimal(high).quantize(HUNDREDTH, ROUND_HALF_EVEN) + HALF
    return tuple(first + k * HUNDREDTH for k in range(max(int((last - first) / HUNDREDTH) + 1, 1)))
