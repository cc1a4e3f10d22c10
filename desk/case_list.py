"""The list of a person's cases: searched, narrowed, sorted, with the standing discrepancy score of each."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode
from uuid import UUID

from django.core.paginator import Page, Paginator
from django.db.models import F, Max, Min, QuerySet

from desk.forms.case_list import CaseFilter
from desk.repeats.shut import SHUT_WORDS, is_repeated_now
from desk.standing_words import LISTED, NO_RECORDS, NOT_CHOSEN, StandingWords, has_a_meaning, standing_words
from portfolio.access import Asker, visible_cases, visible_portfolios, visible_sheets
from portfolio.ages import age_text, in_order
from portfolio.finding_sheet import Sheet as Frame
from portfolio.models import Case, RecordSet, Sheet, SheetPurpose
from portfolio.selectors import stage_label
from scoring.selectors import Ways, standing_scores, ways_of

ON_A_PAGE = 50
COLUMNS = (
    ("code", "Case"),
    ("patient", "Patient"),
    ("state", "State"),
    ("age", "Age at first records"),
    ("stages", "Records"),
    ("score", "Discrepancy index"),
    ("changed", "Last change"),
)
_ORDER = {
    "code": "code",
    "patient": "patient__code",
    "state": "state",
    "age": "youngest",
    "changed": "changed",
}
NUMBERS = frozenset(("age", "score"))
NOT_SORTED = frozenset(("stages",))


@dataclass(frozen=True, slots=True)
class StageOfCase:
    """One record set of a case in the list."""

    stage: str
    ordinal: int
    label: str


@dataclass(frozen=True, slots=True)
class CaseLine:
    """One case of the list."""

    public_id: UUID
    code: str
    patient: UUID
    patient_code: str
    state: str
    age: str
    stages: tuple[StageOfCase, ...]
    score: StandingWords
    sheet: UUID | None
    """The sheet the score stands on."""
    changed: datetime | None


@dataclass(frozen=True, slots=True)
class Heading:
    """A column: its label, the address that sorts by it, and how it is sorted now."""

    key: str
    label: str
    url: str
    sorted: str
    """`ascending`, `descending`, `none`; empty where one cannot sort."""
    number: bool


@dataclass(frozen=True, slots=True)
class SortOption:
    """One way to sort, for screens too narrow for headings."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class PortfolioLine:
    """One of the person's portfolios."""

    public_id: UUID
    name: str


@dataclass(frozen=True, slots=True)
class CaseList:
    """One page of the list."""

    lines: tuple[CaseLine, ...]
    headings: tuple[Heading, ...]
    sorts: tuple[SortOption, ...]
    portfolios: tuple[PortfolioLine, ...]
    found: int
    first: int
    last: int
    previous_url: str
    next_url: str
    narrowed: bool
    any_case: bool


def case_list(user: Asker, narrowed: CaseFilter, asked: Mapping[str, str]) -> CaseList:
    """The page asked for; the number of queries does not depend on the number of cases.

    `asked` holds sort and page beside what narrows the list.  Sorting by score works out every case found.
    """
    sort = asked.get("sort", "")
    cases = _ordered(narrowed.qs, sort).select_related("patient__portfolio")
    lines, page = _page_by_score(user, cases, sort, asked) or _page(user, cases, asked)
    portfolios = visible_portfolios(user).order_by("name", "pk")
    keep = {key: value for key, value in asked.items() if value and key != "page"}
    looked_for = {key: value for key, value in keep.items() if key != "sort"}
    return CaseList(
        lines=tuple(lines),
        headings=tuple(_heading(key, label, sort, looked_for) for key, label in COLUMNS),
        sorts=_sorts(sort),
        portfolios=tuple(PortfolioLine(one.public_id, one.name) for one in portfolios),
        found=page.paginator.count,
        first=page.start_index(),
        last=page.end_index(),
        previous_url=_url(keep, page=page.previous_page_number()) if page.has_previous() else "",
        next_url=_url(keep, page=page.next_page_number()) if page.has_next() else "",
        narrowed=bool(looked_for),
        any_case=bool(lines) or visible_cases(user).exists(),
    )


def _page(user: Asker, cases: QuerySet[Case], asked: Mapping[str, str]) -> tuple[list[CaseLine], Page[Case]]:
    """One page of rows sorted by the database; a list that fits on the first page is not counted."""
    number = asked.get("page", "1")
    first = list(cases[: ON_A_PAGE + 1]) if number == "1" else []
    page = Paginator(first if 0 < len(first) <= ON_A_PAGE else cases, ON_A_PAGE).get_page(number)
    return _lines(user, first[:ON_A_PAGE] or list(page.object_list)), page


def _page_by_score(
    user: Asker, cases: QuerySet[Case], sort: str, asked: Mapping[str, str]
) -> tuple[list[CaseLine], Page[CaseLine]] | None:
    """One page of rows sorted by score, for which every case found is worked out."""
    if sort.removeprefix("-") != "score":
        return None
    every = _lines(user, list(cases))
    every.sort(key=lambda line: line.score.sort_key, reverse=sort.startswith("-"))
    page = Paginator(every, ON_A_PAGE).get_page(asked.get("page", "1"))
    return list(page.object_list), page


def _ordered(cases: QuerySet[Case], sort: str) -> QuerySet[Case]:
    cases = cases.annotate(
        changed=Max("record_sets__sheets__changes__at"), youngest=Min("record_sets__age_months")
    )
    name = _ORDER.get(sort.removeprefix("-"))
    if name is None:
        return cases.order_by(F("changed").desc(nulls_last=True), "-pk")
    column = F(name)
    order = column.desc(nulls_last=True) if sort.startswith("-") else column.asc(nulls_last=True)
    return cases.order_by(order, "code")


def _heading(key: str, label: str, sort: str, looked_for: Mapping[str, str]) -> Heading:
    if key in NOT_SORTED:
        return Heading(key, label, "", "", key in NUMBERS)
    now = "ascending" if sort == key else "descending" if sort == f"-{key}" else "none"
    # Scores and changes are most often wanted from the top.
    downwards_first = key in ("score", "changed")
    turned = f"-{key}" if now == "ascending" or (now == "none" and downwards_first) else key
    return Heading(key, label, _url(looked_for, sort=turned), now, key in NUMBERS)


def _sorts(sort: str) -> tuple[SortOption, ...]:
    listed = [("", "newest change")]
    for key, label in COLUMNS:
        if key not in NOT_SORTED:
            listed += [(key, label), (f"-{key}", f"{label}, downwards")]
    return tuple(SortOption(value, label, value == sort) for value, label in listed)


def _url(keep: Mapping[str, str], **more: object) -> str:
    return "?" + urlencode({**keep, **more})


def _lines(user: Asker, cases: Sequence[Case]) -> list[CaseLine]:
    """Cases with their record sets and scores, in a handful of queries for all."""
    rows = visible_sheets(user).filter(record_set__case__in=cases)
    rows = rows.select_related("record_set__case__patient")
    rows = rows.annotate(is_repeated_now=is_repeated_now(user, "record_set__case"))
    # Every record set comes with a sheet, so the sheets name them all.
    sets: defaultdict[int, dict[int, RecordSet]] = defaultdict(dict)
    for sheet in rows:
        sets[sheet.record_set.case_id][sheet.record_set_id] = sheet.record_set
    ways = ways_of({case.patient.portfolio_id for case in cases})
    working = [sheet for sheet in rows if sheet.purpose == SheetPurpose.WORKING]
    with_records = _scored_sheets(working)
    sheets = _scored_sheets([sheet for sheet in working if _is_measured_for_it(sheet, ways)])
    shut = {sheet.record_set.case_id for sheet in rows if sheet.is_repeated_now}
    scores = standing_scores([one for case, one in sheets.items() if case not in shut], LISTED)
    return [
        _line(
            case,
            list(sets[case.pk].values()),
            sheets.get(case.pk),
            standing_words(
                scores.get(sheets[case.pk].pk) if case.pk in sheets else None,
                SHUT_WORDS if case.pk in shut else NOT_CHOSEN if case.pk in with_records else NO_RECORDS,
            ),
        )
        for case in cases
    ]


def _is_measured_for_it(sheet: Sheet, ways: Mapping[int, Ways]) -> bool:
    """Whether the sheet's portfolio measures such records for the index of the list."""
    here = sheet.record_set
    return LISTED in ways[here.case.patient.portfolio_id].indices(Frame(here.stage, here.dentition))


def _scored_sheets(rows: Sequence[Sheet]) -> dict[int, Sheet]:
    """Case → working sheet of its first records for which the index has a meaning."""
    found: dict[int, Sheet] = {}
    meant = [s for s in rows if has_a_meaning(s.record_set)]
    for sheet in sorted(meant, key=lambda s: (s.record_set.stage != "initial", s.record_set.ordinal, s.pk)):
        found.setdefault(sheet.record_set.case_id, sheet)
    return found


def _line(case: Case, sets: Sequence[RecordSet], sheet: Sheet | None, score: StandingWords) -> CaseLine:
    ages = [one.age_months for one in sets if one.age_months is not None]
    return CaseLine(
        public_id=case.public_id,
        code=case.code,
        patient=case.patient.public_id,
        patient_code=case.patient.code,
        state=case.get_state_display(),
        age=age_text(min(ages)) if ages else "",
        stages=tuple(
            StageOfCase(one.stage, one.ordinal, stage_label(one.stage, one.ordinal).capitalize())
            for one in in_order(sets)
        ),
        score=score,
        sheet=sheet.public_id if sheet else None,
        changed=getattr(case, "changed"),  # noqa: B009
    )
