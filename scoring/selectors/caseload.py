"""Reading the standing scores of a whole caseload: thousands of sheets in a few queries, stale copies left out."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import QuerySet

from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from scoring import registry
from scoring.digests import frame_digest
from scoring.models import StandingScore
from scoring.selectors.choices import Ways, ways_of
from scoring.selectors.standing import HUNDRED, Standing


@dataclass(frozen=True, slots=True)
class SheetFrame:
    """A sheet without its findings: whose it is, what it was taken on, and the number of its last change."""

    pk: int
    public_id: UUID
    version: int
    medium: str
    purpose: str
    record_set: int
    of_record: int | None
    """Primary key of the record set's sheet of record, if one is chosen."""
    stage: str
    ordinal: int
    dentition: str
    teeth: str
    case: int
    case_id: UUID
    case_code: str
    case_state: str
    portfolio: int

    @property
    def reading(self) -> SheetReading:
        return SheetReading(self.stage, self.dentition, teeth=tuple(self.teeth.split()))


_COLUMNS = (
    "pk",
    "public_id",
    "version",
    "medium",
    "purpose",
    "record_set",
    "record_set__sheet_of_record",
    "record_set__stage",
    "record_set__ordinal",
    "record_set__dentition",
    "record_set__teeth",
    "record_set__case",
    "record_set__case__public_id",
    "record_set__case__code",
    "record_set__case__state",
    "record_set__case__patient__portfolio",
)


def sheet_frames(sheets: QuerySet[Sheet]) -> list[SheetFrame]:
    """Every sheet of a query without its findings; one query."""
    rows = sheets.order_by("record_set__case__code", "record_set__ordinal", "pk").values_list(*_COLUMNS)
    return [SheetFrame(*row) for row in rows.iterator(chunk_size=2000)]


@dataclass(frozen=True, slots=True)
class Caseload:
    """Standing scores by sheet and index; `stale` are those that have to be worked out anew first."""

    standing: dict[tuple[int, str], Standing]
    ways: dict[int, Ways]
    """Portfolio → how it reads its records."""
    stale: tuple[tuple[int, str], ...]

    def edition(self, portfolio: int, index_key: str) -> str:
        """The edition in force in a portfolio."""
        return registry.index(index_key).edition(self.ways[portfolio].chosen[index_key].edition)

    def measured_for(self, frame: SheetFrame, index_key: str) -> bool:
        """Whether records such as a sheet's are measured for an index."""
        return index_key in self.ways[frame.portfolio].indices(frame.reading)


def caseload(sheets: QuerySet[Sheet], frames: Sequence[SheetFrame], keys: Collection[str]) -> Caseload:
    """What is stored and still holds for the frames of a query, by the indices that have a meaning for each."""
    ways = ways_of({frame.portfolio for frame in frames}, keys)
    digests = {(pk, key): found.chosen[key].digest for pk, found in ways.items() for key in keys}
    rules = {key: registry.rules_digest(key) for key in keys}
    by_pk = {frame.pk: frame for frame in frames}
    seen: dict[str, str] = {}
    standing: dict[tuple[int, str], Standing] = {}
    rows = StandingScore.objects.filter(sheet__in=sheets.order_by().values("pk"), index__in=keys).values_list(
        "sheet",
        "index",
        "sheet_version",
        "choices_digest",
        "rules_digest",
        "frame_digest",
        "total_hundredths",
        "complete",
        "categories",
    )
    for pk, key, version, choices, rule, frame_of, hundredths, complete, categories in rows.iterator(
        chunk_size=2000
    ):
        frame = by_pk.get(pk)
        if frame is None:
            continue
        here = f"{frame.stage} {frame.dentition} {frame.teeth}"
        if here not in seen:
            seen[here] = frame_digest(frame.reading)
        if (version, choices, rule, frame_of) != (
            frame.version,
            digests[frame.portfolio, key],
            rules[key],
            seen[here],
        ):
            continue
        total = None if hundredths is None else Decimal(hundredths) / HUNDRED
        standing[pk, key] = Standing(total, complete, (), categories)
    meant = _meant(frames, keys)
    stale = tuple(
        (f.pk, key) for f in frames for key in meant[f.stage, f.dentition] if (f.pk, key) not in standing
    )
    return Caseload(standing, ways, stale)


def _meant(frames: Sequence[SheetFrame], keys: Collection[str]) -> dict[tuple[str, str], tuple[str, ...]]:
    """Stage and dentition → indices of the keys that have a meaning for them."""
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for frame in frames:
        if (place := (frame.stage, frame.dentition)) not in found:
            meant = registry.meant_for(SheetReading(*place))
            found[place] = tuple(key for key in keys if key in meant)
    return found
