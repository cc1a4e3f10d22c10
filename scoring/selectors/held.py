"""Reading many standing scores at once with their totals under every rule choice, as plans ask for them."""

from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal

from django.db import OperationalError

from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from scoring import kernel, registry
from scoring.kernel import ChoiceTotal
from scoring.models import StandingScore
from scoring.selectors.choices import Chosen, ways_of
from scoring.selectors.standing import (
    Standing,
    copy_of,
    frame_of,
    from_row,
    portfolio_pk,
    standing_now,
    still_holds,
    store,
)

Place = tuple[int, str]
"""Primary key of a sheet, key of an index."""


@dataclass(frozen=True, slots=True)
class HeldScore:
    """The score of a sheet as it stands, by which choices, and its totals under the others where they were asked for."""

    standing: Standing
    chosen: Chosen
    under: Mapping[str, ChoiceTotal] | None
    row: StandingScore
    """The stored copy, or the one that was just made; without a primary key where it could not be stored."""

    def edition(self, index_key: str) -> str:
        """The edition in force."""
        return registry.index(index_key).edition(self.chosen.edition)


def held_scores(
    sheets: Sequence[Sheet],
    read: Mapping[int, SheetReading],
    keys: Collection[str],
    under_for: Collection[str] = (),
) -> dict[Place, HeldScore]:
    """Sheet and index → score, for the indices that have a meaning there; `under_for` also under every rule choice.

    Two queries and at most two writes, whatever the number of sheets.  Sheets come with record set, case and patient
    loaded; `read` are the same sheets by primary key, as `portfolio.selectors.readings_of` gives them.
    """
    ways = ways_of({portfolio_pk(sheet) for sheet in sheets}, keys)
    stored = {
        (row.sheet_id, row.index): row
        for row in StandingScore.objects.filter(sheet__in=sheets, index__in=tuple(keys))
    }
    found: dict[Place, HeldScore] = {}
    anew: list[StandingScore] = []
    more: list[StandingScore] = []
    for sheet in sheets:
        for key in keys:
            if registry.index(key).outside(frame_of(sheet)):
                continue
            in_force = ways[portfolio_pk(sheet)].chosen[key]
            row = stored.get((sheet.pk, key))
            if row is None or not still_holds(row, sheet, in_force):
                standing = standing_now(read[sheet.pk], in_force, key)
                row = copy_of(sheet, read[sheet.pk], in_force, standing, key)
                anew.append(row)
            elif key in under_for and row.under is None:
                more.append(row)
            if key in under_for and row.under is None:
                row.under = _under(read[sheet.pk], in_force, key)
            found[sheet.pk, key] = HeldScore(from_row(row, ""), in_force, _read_back(row.under), row)
    _store(anew, more)
    return found


def _under(sheet: SheetReading, in_force: Chosen, key: str) -> dict[str, list[str | None]]:
    totals = kernel.totals_by_choice(registry.index(key), sheet, in_force.edition, in_force.values)
    return {
        choice: [None if one.total is None else str(one.total), *one.lacks] for choice, one in totals.items()
    }


def _read_back(under: Mapping[str, Sequence[str]] | None) -> dict[str, ChoiceTotal] | None:
    if under is None:
        return None
    return {
        choice: ChoiceTotal(None if total is None else Decimal(total), tuple(lacks))
        for choice, (total, *lacks) in under.items()
    }


def _store(anew: Sequence[StandingScore], more: Sequence[StandingScore]) -> None:
    if anew:
        store(anew)
    if more:
        with suppress(OperationalError):
            StandingScore.objects.bulk_update(more, ["under"])
