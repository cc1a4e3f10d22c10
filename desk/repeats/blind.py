"""The page of a repeat: the fields of the measuring page in an order of its own, and nothing that was measured before.

It is made from the repeat's own sheet alone, so the first one cannot show through.  Scores, hints and values worked
out from others are left away, for they tell how much is still missing.
"""

import hashlib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from uuid import UUID

from desk.measuring.layout import ASKED_GROUPS
from desk.measuring.mouth import Mouth
from desk.measuring.page import Changes, FieldState, Measured, make_changes, make_page
from desk.measuring.rows import FieldBlock, Row
from portfolio.repeating.pairs import is_repeated

ASKED: frozenset[str] = frozenset(
    plan.quantity for group in ASKED_GROUPS for plan in group.plans if is_repeated(plan.quantity)
)


@dataclass(frozen=True, slots=True)
class BlindPage:
    """Rows and states of teeth in the order of this repeat."""

    rows: tuple[Row, ...]
    mouth: Mouth
    tooth_fields: Mapping[str, FieldState]


def blind_page(measured: Measured, repeat: UUID) -> BlindPage:
    """The page of a repeat's own sheet; the same repeat has the same order at every load."""
    page = make_page(measured)
    states = sorted(page.mouth.states, key=lambda state: place_in(repeat, state.key))
    rows = _blind((row for group in page.groups for row in group.rows), repeat)
    return BlindPage(rows, replace(page.mouth, states=tuple(states)), page.tooth_fields)


def blind_changes(
    measured: Measured, repeat: UUID, layouts: Mapping[str, str], fresh: Collection[tuple[str, str]]
) -> Changes:
    """What the page must show after a save, without score and hints."""
    changes = make_changes(measured, layouts, fresh)
    return replace(changes, rows=_blind(changes.rows, repeat), lives=(), hints=())


def place_in(repeat: UUID, *names: str) -> str:
    """Where something stands in the order of a repeat: a digest, so that what comes later moves nothing else."""
    return hashlib.sha256("/".join((str(repeat), *names)).encode()).hexdigest()


def _blind(rows: Iterable[Row], repeat: UUID) -> tuple[Row, ...]:
    kept = (_shuffled(row, repeat) for row in rows if row.key in ASKED)
    return tuple(sorted(kept, key=lambda row: place_in(repeat, row.key)))


def _shuffled(row: Row, repeat: UUID) -> Row:
    blocks = sorted(row.blocks, key=lambda block: place_in(repeat, row.key, "block", block.region))
    return replace(row, blocks=tuple(_block(row.key, one, repeat) for one in blocks), offers=())


def _block(quantity: str, block: FieldBlock, repeat: UUID) -> FieldBlock:
    fields = tuple(sorted(block.fields, key=lambda f: place_in(repeat, quantity, f.site, str(f.nth))))
    return replace(block, fields=fields, halves=(fields,))
