"""Parts of the rows that only the discrepancy index has.  Pure."""

from decimal import Decimal

from portfolio.finding_sheet import Sheet
from scoring.indices.discrepancy.conditions import (
    CENTRAL_CONTACT,
    SPACED_FROM,
    AddedComplexity,
    BlockedCanines,
    Gaps,
    MissingTeeth,
    MolarRelation,
    contacts_to_second_molars,
)
from scoring.shapes import Value
from scoring.uncertainty.book import Book
from scoring.uncertainty.model import Place
from scoring.uncertainty.parts import Part, at, by_rule, limits_of, no_cuts, rule_key, single
from scoring.uncertainty.rows import constant, marks, parts_of

OPEN_FROM = at(SPACED_FROM)


@parts_of.register
def _molars(row: MolarRelation, sheet: Sheet, book: Book) -> list[Part]:
    found = []
    for side in ("right", "left"):
        relation, past = sheet.at("molar_relation", side), sheet.at("molar_beyond", side)
        if relation is None:
            continue
        place = book.of(relation).place
        if past is None or not relation.value.startswith("beyond"):
            found.append(
                single(row.category, place, row.relation.points, key=("rule", rule_key(row.relation)))
            )
        else:
            found.append(_beyond(row, place, book.of(past).place))
    return found


def _beyond(row: MolarRelation, relation: Place, past: Place) -> Part:
    """Millimetres past a full step count only where the relation is past it."""

    def step(state: Decimal | str, position: int, value: Value) -> Decimal | str:
        if position == 0:
            code = str(value)
            return code if code.startswith("beyond") else row.relation.points(code)
        return row.beyond.points(value) if isinstance(state, str) else state

    def end(state: Decimal) -> Decimal:
        return state

    key = ("beyond", rule_key(row.relation), rule_key(row.beyond))
    return Part(row.category, (relation, past), "", step, end, (no_cuts, limits_of(row.beyond)), key)


@parts_of.register
def _missing(row: MissingTeeth, sheet: Sheet, book: Book) -> list[Part]:
    return marks(row.category, book.tally(row).hits, book)


@parts_of.register
def _blocked(row: BlockedCanines, sheet: Sheet, book: Book) -> list[Part]:
    return [constant(row.category, hit.raw) for hit in book.tally(row).hits]


@parts_of.register
def _added(row: AddedComplexity, sheet: Sheet, book: Book) -> list[Part]:
    return [constant(row.category, hit.raw) for hit in book.tally(row).hits]


@parts_of.register
def _gaps(row: Gaps, sheet: Sheet, book: Book) -> list[Part]:
    found: list[Part] = []
    central = None
    for arch in ("upper", "lower"):
        contacts = contacts_to_second_molars(sheet, arch)
        readings = [book.at("gap", contact) for contact in contacts]
        if CENTRAL_CONTACT in contacts:
            central = book.at("gap", CENTRAL_CONTACT)
        told = [(index, r.place) for index, r in enumerate(readings) if r is not None]
        # four spaced teeth need three open contacts at least
        if sum(1 for r in readings if r is not None) >= 3:
            found.append(_spacing(row, told, len(contacts)))
    if central is not None:
        found.append(by_rule(row.category, central.place, row.central))
    return found


def _spacing(row: Gaps, told: list[tuple[int, Place]], contacts: int) -> Part:
    """Counts spaced teeth along an arch: the last contact that was looked at, whether it was open, teeth so far."""
    indices = [index for index, _ in told]
    enough = int(row.spacing.bands[-1].low or 0)

    def step(state: tuple[bool, bool, int], position: int, value: Value) -> tuple[bool, bool, int]:
        before_open, _, count = state
        here = Decimal(value) >= SPACED_FROM
        follows = position > 0 and indices[position - 1] == indices[position] - 1
        if row.both_sides:
            count += here and follows and before_open
        elif here:
            count += 1 if follows and before_open else 2
        return here, True, min(count, enough)

    def end(state: tuple[bool, bool, int]) -> Decimal:
        return row.spacing.points(Decimal(state[2]))

    cuts = (OPEN_FROM,) * len(told)
    key = ("spacing", rule_key(row.spacing), row.both_sides, tuple(indices))
    return Part(row.category, tuple(place for _, place in told), (False, False, 0), step, end, cuts, key)
