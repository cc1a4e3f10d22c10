"""The page of a case log: rows found, sorted and cut into pages."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet

from desk.case_log.rows import Column, LogRow, Option, Reading, columns, floor_key, log_rows, reading_of
from desk.repeats.shut import open_cases
from portfolio.access import Asker, visible_cases
from portfolio.case_log.answers import read_answers
from portfolio.case_log.rows import STATES
from portfolio.case_log.selectors import Undoable, imports, next_undo
from portfolio.models import Case, Portfolio
from portfolio.searching import folded
from scoring.indices.discrepancy.estimate import floor

ON_A_PAGE = 50
SORTS = {
    "": "newest first",
    "oldest": "oldest first",
    "code": "code",
    "-floor": "at least, from the top",
    "floor": "at least, from below",
    "state": "state",
}
_ORDERS = {
    "": ("-pk",),
    "oldest": ("pk",),
    "code": ("code",),
    "state": ("state", "-pk"),
}


@dataclass(frozen=True, slots=True)
class LogPage:
    """One page of the log."""

    portfolio: UUID
    portfolio_name: str
    columns: tuple[Column, ...]
    rows: tuple[LogRow, ...]
    states: tuple[Option, ...]
    sorts: tuple[Option, ...]
    found: int
    first: int
    last: int
    previous_url: str
    next_url: str
    narrowed: bool
    any_case: bool
    undo: Undoable | None
    imports: int


def log_page(user: Asker, portfolio: Portfolio, asked: Mapping[str, str], words: str) -> LogPage:
    """The page asked for by `state`, `sort`, `page` and the key of a search whose words are given."""
    reading = reading_of(portfolio)
    every = visible_cases(user).filter(patient__portfolio=portfolio)
    cases = narrowed(every, asked.get("state", ""), words)
    sort = asked.get("sort", "")
    numbers = _sorted(cases, sort if sort in SORTS else "", reading)
    page = Paginator(numbers, ON_A_PAGE).get_page(asked.get("page", "1"))
    wanted = list(page.object_list)
    by_pk = every.select_related("patient").in_bulk(wanted)
    rows = log_rows(user, [by_pk[pk] for pk in wanted if pk in by_pk], reading)
    keep = {key: value for key, value in asked.items() if value and key != "page"}
    looked_for = {key for key in keep if key != "sort"}
    return LogPage(
        portfolio=portfolio.public_id,
        portfolio_name=portfolio.name,
        columns=columns(reading),
        rows=rows,
        states=_options({"": "any", **STATES}, asked.get("state", "")),
        sorts=_options(SORTS, sort),
        found=page.paginator.count,
        first=page.start_index(),
        last=page.end_index(),
        previous_url=_url(keep, page.previous_page_number()) if page.has_previous() else "",
        next_url=_url(keep, page.next_page_number()) if page.has_next() else "",
        narrowed=bool(looked_for),
        any_case=bool(rows) or every.exists(),
        undo=undoable(user, portfolio),
        imports=len(imports(user, portfolio)),
    )


def undoable(user: Asker, portfolio: Portfolio) -> Undoable | None:
    """What can be taken back next; of a case that is being measured again only that it is shut."""
    return next_undo(user, portfolio, but=open_cases(user))


def narrowed(cases: QuerySet[Case], state: str, words: str) -> QuerySet[Case]:
    """Cases of a state whose code, note, patient code or locator holds every word."""
    if state in STATES:
        cases = cases.filter(state=state)
    for word in folded(words).split():
        cases = cases.filter(Q(searchable__contains=word) | Q(patient__searchable__contains=word))
    return cases


def _sorted(cases: QuerySet[Case], sort: str, reading: Reading) -> list[int]:
    """Primary keys in the order asked for; by the least total every row found is worked out, kept by its answers."""
    if sort in _ORDERS:
        return list(cases.order_by(*_ORDERS[sort]).values_list("pk", flat=True))
    rows = cases.order_by("-pk").values_list("pk", "estimate")
    known = [(floor_key(floor(read_answers(stored)[0], reading.choices)), pk) for pk, stored in rows]
    known.sort(key=lambda one: one[0], reverse=sort.startswith("-"))
    return [pk for _, pk in known]


def _options(words: Mapping[str, str], chosen: str) -> tuple[Option, ...]:
    return tuple(Option(value, label, value == chosen) for value, label in words.items())


def _url(keep: Mapping[str, str], page: int) -> str:
    return "?" + urlencode({**keep, "page": page})
