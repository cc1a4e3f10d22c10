"""Chances of reaching totals for many sheets, from store or worked out anew together."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal

from django.db import OperationalError

from accounts.models import User
from portfolio.error_figures.selectors import figures_in_force
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from portfolio.repeating.all_readings import repeats_of, together
from portfolio.repeating.selectors import own_errors
from portfolio.selectors import readings_of
from scoring import registry
from scoring.models import StandingScore
from scoring.selectors.choices import Chosen, ways_of
from scoring.selectors.held import HeldScore
from scoring.selectors.standing import (
    copy_of,
    frame_of,
    portfolio_pk,
    standing_now,
    still_holds,
    store,
)
from scoring.uncertainty import (
    CannotBeTold,
    Distribution,
    ErrorModel,
    Question,
    Tails,
    errors_digest,
    law_of,
    laws_of,
    read_tails,
    tails,
)

Place = tuple[int, str]
"""Primary key of a sheet, key of an index."""
Told = Tails | str
"""Chances of whole totals of the true score, or in words why there are none."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """One sheet by one index: choices and errors in force, and the stored row as far as it holds."""

    sheet: Sheet
    key: str
    in_force: Chosen
    errors: ErrorModel
    digest: str
    row: StandingScore | None

    @property
    def stored(self) -> Told | None:
        """What is stored and was worked out from the same sheet, teeth, rules, choices and errors."""
        spread = None if self.row is None else self.row.spread
        if not isinstance(spread, dict) or spread.get("of") != self.digest:
            return None
        return str(spread["refused"]) if "refused" in spread else read_tails(spread)


def tails_of(
    sheets: Sequence[Sheet],
    keys: Collection[str],
    read: Mapping[int, SheetReading] | None = None,
    held: Mapping[Place, HeldScore] | None = None,
) -> dict[Place, Told]:
    """Sheet and index → chances of every whole total, for indices that have a meaning there.

    Sheets come with reader, record set, case and patient loaded; `read` are their findings by primary key where they
    have been read, `held` their scores where they have been read too.  Errors are those of the page of chances: the reader's own, the step, all counted repeats.  A
    constant number of queries and a few for each reader; what was stale is stored again.
    """
    repeats = repeats_of(sheets)
    known = dict(read or {})
    known.update(readings_of([s for s in sheets if s.pk in repeats and s.pk not in known]))
    wanted = list(_wanted(sheets, keys, repeats, known, held))
    found: dict[Place, Told] = {}
    stale: list[_Wanted] = []
    for one in wanted:
        told = one.stored
        if told is None:
            stale.append(one)
        else:
            found[one.sheet.pk, one.key] = told
    if stale:
        lacking = {one.sheet.pk: one.sheet for one in stale if one.sheet.pk not in known}
        known.update(readings_of(list(lacking.values())))
        anew = dict(_worked_out(stale, known))
        _store(stale, anew, known)
        found.update(anew)
    return found


def _wanted(
    sheets: Sequence[Sheet],
    keys: Collection[str],
    repeats: Mapping[int, tuple[SheetReading, ...]],
    known: Mapping[int, SheetReading],
    held: Mapping[Place, HeldScore] | None,
) -> Iterable[_Wanted]:
    chosen, rows = _read(sheets, keys) if held is None else _from_held(held)
    readers: dict[int, User] = {sheet.reader_id: sheet.reader for sheet in sheets}
    own = {pk: own_errors(reader) for pk, reader in readers.items()}
    set_there = figures_in_force({portfolio_pk(sheet) for sheet in sheets})
    for sheet in sheets:
        again = repeats.get(sheet.pk, ())
        errors = ErrorModel(
            own=(*own[sheet.reader_id], *set_there.get(portfolio_pk(sheet), ())),
            readings=together(known[sheet.pk], again).by_place if again else {},
            step=Decimal(sheet.step),
        )
        of_errors = errors_digest(errors, Question.TRUE_SCORE)
        for key in keys:
            if registry.index(key).outside(frame_of(sheet)):
                continue
            in_force = chosen[sheet.pk, key]
            row = rows.get((sheet.pk, key))
            if row is not None and not still_holds(row, sheet, in_force):
                row = None
            # the version is in the digest too: two requests may store row and chances in either order
            digest = f"{sheet.version} {in_force.digest} {of_errors}"
            yield _Wanted(sheet, key, in_force, errors, digest, row)


def _read(
    sheets: Sequence[Sheet], keys: Collection[str]
) -> tuple[dict[Place, Chosen], dict[Place, StandingScore]]:
    """The choices in force and the stored rows, whether they hold or not."""
    ways = ways_of({portfolio_pk(sheet) for sheet in sheets}, keys)
    chosen = {(sheet.pk, key): ways[portfolio_pk(sheet)].chosen[key] for sheet in sheets for key in keys}
    rows = StandingScore.objects.filter(sheet__in=sheets, index__in=tuple(keys))
    return chosen, {(row.sheet_id, row.index): row for row in rows}


def _from_held(
    held: Mapping[Place, HeldScore],
) -> tuple[dict[Place, Chosen], dict[Place, StandingScore]]:
    """The same from scores that have been read; a row that could not be stored is none."""
    chosen = {place: one.chosen for place, one in held.items()}
    return chosen, {place: one.row for place, one in held.items() if one.row.pk is not None}


def _worked_out(stale: Sequence[_Wanted], known: Mapping[int, SheetReading]) -> Iterable[tuple[Place, Told]]:
    """All that share index, choices and errors at once; a sheet with repeats by itself."""
    alike: defaultdict[object, list[_Wanted]] = defaultdict(list)
    for one in stale:
        alone = one.sheet.pk if one.errors.readings else None
        alike[one.key, one.in_force.digest, one.errors.own, one.errors.step, alone].append(one)
    for group in alike.values():
        first = group[0]
        index = registry.index(first.key)
        terms = (first.errors, Question.TRUE_SCORE, first.in_force.edition, first.in_force.values)
        totals: Sequence[Distribution | CannotBeTold]
        if first.errors.readings:
            try:
                totals = (law_of(index, known[first.sheet.pk], *terms).total,)
            except CannotBeTold as refusal:
                totals = (refusal,)
        else:
            totals = laws_of(index, [known[one.sheet.pk] for one in group], *terms).totals
        for one, total in zip(group, totals, strict=True):
            told = tails(total) if isinstance(total, Distribution) else str(total)
            yield (one.sheet.pk, one.key), told


def _store(stale: Sequence[_Wanted], anew: Mapping[Place, Told], known: Mapping[int, SheetReading]) -> None:
    """Keep what was worked out; whatever cannot be stored is worked out again another time."""
    new: list[StandingScore] = []
    more: list[StandingScore] = []
    for one in stale:
        told = anew[one.sheet.pk, one.key]
        row = one.row
        if row is None:
            read = known[one.sheet.pk]
            standing = standing_now(read, one.in_force, one.key)
            row = copy_of(one.sheet, read, one.in_force, standing, one.key)
            new.append(row)
        else:
            more.append(row)
        row.spread = {"of": one.digest, **({"refused": told} if isinstance(told, str) else told.as_json())}
    if new:
        store(new)
    if more:
        with suppress(OperationalError):
            StandingScore.objects.bulk_update(more, ["spread"], batch_size=500)
