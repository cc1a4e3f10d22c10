"""Reading standing scores: copies that hold only while everything they were made from is the same."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import IntegrityError, OperationalError

from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from portfolio.selectors import readings_of
from scoring import registry
from scoring.digests import frame_digest
from scoring.models import StandingScore
from scoring.result import Json, Score
from scoring.selectors.choices import Chosen, chosen_of

HUNDRED = Decimal(100)


@dataclass(frozen=True, slots=True)
class Standing:
    """The score of a sheet as it stands; `total` is a floor while `complete` is false."""

    total: Decimal | None
    complete: bool
    missing: tuple[str, ...]
    """Quantities that nobody recorded, in the order of the form."""
    categories: Mapping[str, str | None]
    outside: str = ""
    extra: Mapping[str, Json] = field(default_factory=dict)
    """What only this index says, such as a grade."""

    @property
    def grade(self) -> str:
        """The grade where one stands for the total; empty otherwise."""
        found = self.extra.get("grade")
        return found if isinstance(found, str) else ""


def standing_scores(sheets: Sequence[Sheet], index_key: str) -> dict[int, Standing]:
    """Primary key of each sheet → its standing score; at most three queries and one write, whatever the number of sheets.

    Sheets come with record set, case, patient loaded. What the copy holds of another state is worked out
    anew and stored again; a database that is too busy to store it, or a sheet removed meanwhile, only makes
    the next page work again.
    """
    by_portfolio = chosen_of({portfolio_pk(sheet) for sheet in sheets}, index_key)
    index = registry.index(index_key)
    stored = {row.sheet_id: row for row in StandingScore.objects.filter(sheet__in=sheets, index=index_key)}
    found: dict[int, Standing] = {}
    stale: list[Sheet] = []
    for sheet in sheets:
        row = stored.get(sheet.pk)
        if row is not None and still_holds(row, sheet, by_portfolio[portfolio_pk(sheet)]):
            found[sheet.pk] = from_row(row, index.outside(frame_of(sheet)))
        else:
            stale.append(sheet)
    if stale:
        rows = []
        for sheet, read in _read(stale):
            in_force = by_portfolio[portfolio_pk(sheet)]
            found[sheet.pk] = standing_now(read, in_force, index_key)
            rows.append(copy_of(sheet, read, in_force, found[sheet.pk], index_key))
        store(rows)
    return found


def standing_now(found: SheetReading, in_force: Chosen, index_key: str) -> Standing:
    """The standing score of a sheet that has been read, without the stored copy."""
    score = registry.score(index_key, found, in_force.edition, in_force.values, detail="totals")
    return Standing(
        score.total,
        score.complete,
        _lacking(score),
        {key: None if value is None else str(value) for key, value in score.categories.items()},
        score.outside,
        score.extra,
    )


def _lacking(score: Score) -> tuple[str, ...]:
    return tuple(dict.fromkeys(m.quantity for m in score.missing))


def _read(sheets: Sequence[Sheet]) -> list[tuple[Sheet, SheetReading]]:
    read = readings_of(sheets)
    return [(sheet, read[sheet.pk]) for sheet in sheets]


def still_holds(row: StandingScore, sheet: Sheet, in_force: Chosen) -> bool:
    """Whether sheet, teeth and stage, rule choices and rules are those that a stored score was made from."""
    return (row.sheet_version, row.choices_digest, row.rules_digest, row.frame_digest) == (
        sheet.version,
        in_force.digest,
        registry.rules_digest(row.index),
        frame_digest(frame_of(sheet)),
    )


def frame_of(sheet: Sheet) -> SheetReading:
    """The sheet without its findings."""
    here = sheet.record_set
    return SheetReading(here.stage, here.dentition, teeth=tuple(here.teeth.split()))


def portfolio_pk(sheet: Sheet) -> int:
    """The portfolio whose choices a sheet is read by; its record set, case and patient are loaded."""
    return sheet.record_set.case.patient.portfolio_id


def copy_of(
    sheet: Sheet, found: SheetReading, in_force: Chosen, standing: Standing, index_key: str
) -> StandingScore:
    """A row to store, not stored yet; chances and totals under other choices are not in it."""
    return StandingScore(
        sheet=sheet,
        index=index_key,
        choices_digest=in_force.digest,
        rules_digest=registry.rules_digest(index_key),
        sheet_version=sheet.version,
        frame_digest=frame_digest(found),
        total_hundredths=None if standing.total is None else int(standing.total * HUNDRED),
        complete=standing.complete,
        missing=list(standing.missing),
        categories=dict(standing.categories),
        extra=dict(standing.extra),
    )


def from_row(row: StandingScore, outside: str) -> Standing:
    """What a stored row says."""
    total = None if row.total_hundredths is None else Decimal(row.total_hundredths) / HUNDRED
    return Standing(total, row.complete, tuple(row.missing), row.categories, outside, row.extra)


def store(rows: Sequence[StandingScore]) -> None:
    """Rows in place of those they replace; a database that is too busy leaves them to the next page."""
    fields = [
        "choices_digest",
        "rules_digest",
        "sheet_version",
        "frame_digest",
        "total_hundredths",
        "complete",
        "missing",
        "categories",
        "extra",
        "spread",
        "under",
    ]
    with suppress(OperationalError, IntegrityError):
        StandingScore.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["sheet", "index"], update_fields=fields
        )
