"""Reading a sheet scored now, kept scores and typed tallies."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from portfolio.selectors import reading
from scoring import registry
from scoring.digests import frame_digest
from scoring.frozen import thaw, thaw_findings
from scoring.index import Index
from scoring.models import ScoreRun, TypedTally
from scoring.moved import Now, Then, what_moved
from scoring.result import Score
from scoring.selectors.choices import Chosen, chosen


@dataclass(frozen=True, slots=True)
class Scored:
    """A sheet scored now, with what its score is made from."""

    score: Score
    reading: SheetReading
    chosen: Chosen
    index: Index
    sheet_version: int
    notation: str

    @property
    def frame_digest(self) -> str:
        """Tells whether stage, dentition or teeth have moved."""
        return frame_digest(self.reading)

    @property
    def now(self) -> Now:
        """The present side of a comparison with a kept score."""
        return Now(
            self.score,
            self.reading.findings,
            self.index,
            registry.rules_digest(self.index.key),
            self.frame_digest,
        )


def scored(sheet: Sheet, index_key: str) -> Scored:
    """The full score of a sheet that comes with record set, case, patient and portfolio loaded."""
    portfolio = sheet.record_set.case.patient.portfolio
    in_force = chosen(portfolio, index_key)
    found = reading(sheet)
    return Scored(
        registry.score(index_key, found, in_force.edition, in_force.values),
        found,
        in_force,
        registry.index(index_key),
        sheet.version,
        portfolio.notation,
    )


@dataclass(frozen=True, slots=True)
class KeptRow:
    """A kept score in a list; `moved` says in words what differs today, nothing when it still holds."""

    public_id: UUID
    total: str
    kept_at: datetime
    kept_by: str
    moved: tuple[str, ...]
    total_now: str


def kept_rows(sheet: Sheet, now: Scored) -> tuple[KeptRow, ...]:
    """Kept scores of a sheet, newest first, each held against the score as it stands."""
    rows = ScoreRun.objects.filter(sheet=sheet, index=now.index.key).select_related("kept_by")
    listed = []
    for run in rows.order_by("-kept_at", "-pk"):
        moved = what_moved(then(run), now.now, now.notation)
        listed.append(
            KeptRow(
                run.public_id,
                moved.total_before,
                run.kept_at,
                str(run.kept_by),
                moved.words,
                moved.total_after,
            )
        )
    return tuple(listed)


def then(run: ScoreRun) -> Then:
    """A kept score with what it was made from, read back from its row."""
    return Then(
        thaw(run.result),
        thaw_findings(run.findings),
        run.result["choices_in_words"],
        run.rules_digest,
        run.frame_digest,
    )


def typed_tallies(sheet: Sheet, index_key: str) -> list[TypedTally]:
    """Tallies typed from paper for a sheet, newest first."""
    rows = TypedTally.objects.filter(sheet=sheet, index=index_key).select_related("by")
    return list(rows.order_by("-at", "-pk"))
