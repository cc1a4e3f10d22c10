"""The transfer sheet: totals by row in the order of each published form, to copy onto the board's own form."""

from dataclasses import dataclass
from uuid import UUID

from desk.score_page import Head, head
from portfolio.models import Sheet
from portfolio.selectors import reading
from scoring import registry
from scoring.present import ShownScore, show, show_choices
from scoring.selectors import ways_of


@dataclass(frozen=True, slots=True)
class TransferPart:
    """One index: its rows with points, what it says beside, by which edition and choices."""

    key: str
    score: ShownScore
    edition: str
    in_force: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class TransferSheet:
    """All indices that the records are measured for."""

    head: Head
    sheet: UUID
    parts: tuple[TransferPart, ...]


def transfer_sheet(row: Sheet) -> TransferSheet:
    """The sheet of a row that comes with record set, case, patient and portfolio loaded."""
    portfolio = row.record_set.case.patient.portfolio
    ways = ways_of([portfolio.pk])[portfolio.pk]
    found = reading(row)
    parts = []
    for key in ways.indices(found):
        index, chosen = registry.index(key), ways.chosen[key]
        score = registry.score(key, found, chosen.edition, chosen.values, detail="lines")
        choices = show_choices(index, score)
        parts.append(
            TransferPart(
                key,
                show(score, index, portfolio.notation),
                index.edition_words(score.edition),
                tuple((c.label, next(o.words for o in c.options if o.in_force)) for c in choices),
            )
        )
    return TransferSheet(head(row, "", "Transfer sheet"), row.public_id, tuple(parts))
