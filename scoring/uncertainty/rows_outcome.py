"""Parts of the rows that only the outcome evaluation has.  Pure."""

from collections.abc import Iterable
from decimal import Decimal

from portfolio.finding_sheet import Sheet
from scoring.indices.outcome.conditions import EachSite, FunctionalCusps, Gaps, Relation, Roots, in_order
from scoring.indices.outcome.places import SITES, kept_gaps, scored_teeth
from scoring.shapes import ZERO, Value
from scoring.uncertainty.book import Book
from scoring.uncertainty.parts import Part, limits_of
from scoring.uncertainty.rows import at_sites, parts_of


@parts_of.register
def _each_site(row: EachSite, sheet: Sheet, book: Book) -> list[Part]:
    return at_sites(row.category, row.quantity, SITES[row.of](sheet), row.rule, book)


@parts_of.register
def _cusps(row: FunctionalCusps, sheet: Sheet, book: Book) -> list[Part]:
    asked = SITES[row.row.of](sheet)
    scored = frozenset(scored_teeth(sheet))
    others = (f for f in sheet.singles(row.row.quantity) if f.site not in asked)
    wanted = (*asked, *(f.site for f in in_order(others) if f.site[:2] in scored))
    by_tooth: dict[str, list[str]] = {}
    for site in wanted:
        by_tooth.setdefault(site[:2], []).append(site)
    return [part for sites in by_tooth.values() for part in _tooth(row, sites, book)]


def _tooth(row: FunctionalCusps, sites: Iterable[str], book: Book) -> list[Part]:
    """The cusps of one tooth: together at most so many points."""
    readings = [r for site in sites if (r := book.at(row.row.quantity, site)) is not None]

    def step(state: Decimal, position: int, value: Value) -> Decimal:
        return min(state + row.row.rule.points(value), row.most)

    if not readings:
        return []
    cuts = tuple(limits_of(row.row.rule) for _ in readings)
    return [Part(row.category, tuple(r.place for r in readings), ZERO, step, lambda state: state, cuts)]


@parts_of.register
def _relation(row: Relation, sheet: Sheet, book: Book) -> list[Part]:
    return parts_of(row.row, sheet, book)


@parts_of.register
def _gaps(row: Gaps, sheet: Sheet, book: Book) -> list[Part]:
    kept = frozenset(kept_gaps(sheet))
    contacts = (c for c in SITES[row.row.of](sheet) if c not in kept)
    return at_sites(row.category, row.row.quantity, contacts, row.row.rule, book)


@parts_of.register
def _roots(row: Roots, sheet: Sheet, book: Book) -> list[Part]:
    return at_sites(row.category, "root_angulation", SITES[row.of](sheet), row.rule, book)
