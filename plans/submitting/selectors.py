"""Reading: submissions of a portfolio, whether they are whole, what has moved since, what came back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from plans.submitting.access import visible_submissions, visible_submitted
from plans.submitting.frozen import digest, whole_digest
from plans.submitting.models import Submission, SubmissionResult, SubmissionResultState, SubmittedCase
from portfolio.access import Asker
from portfolio.models import Portfolio
from scoring import registry
from scoring.access import visible_runs
from scoring.present import number_words
from scoring.selectors import kept_rows, scored

NO_RESULT = "nothing told yet"


@dataclass(frozen=True, slots=True)
class SubmissionLine:
    """One submission in the list."""

    public_id: UUID
    session: str
    submitted_on: date
    plan: str
    cases: int
    accepted: int
    not_accepted: int
    more_asked: int
    whole: bool


def newest_state() -> Subquery:
    """Annotation of a submitted case: the state of its newest result."""
    rows = SubmissionResult.objects.filter(submitted=OuterRef("pk")).order_by("-at", "-pk")
    return Subquery(rows.values("state")[:1])


def accepted_in(case: str) -> Subquery:
    """Annotation of whatever has a case at `case`: the session in which the case was accepted; null for none."""
    rows = SubmittedCase.objects.filter(case=OuterRef(case)).annotate(result=newest_state())
    return Subquery(
        rows.filter(result=SubmissionResultState.ACCEPTED).order_by("-pk").values("submission__session")[:1]
    )


def submitted_rows(case: str) -> QuerySet[SubmittedCase]:
    """Submitted cases of the case at `case` of an outer query."""
    return SubmittedCase.objects.filter(case=OuterRef(case))


def submission_list(user: Asker, portfolio: Portfolio) -> tuple[SubmissionLine, ...]:
    """Submissions of a portfolio, the newest first; two queries."""
    rows = visible_submissions(user).filter(portfolio=portfolio).select_related("plan_version__plan")
    states: dict[int, list[str | None]] = {}
    of = visible_submitted(user).filter(submission__portfolio=portfolio).annotate(result=newest_state())
    for number, state in of.values_list("submission", "result"):
        states.setdefault(number, []).append(state)
    return tuple(
        SubmissionLine(
            row.public_id,
            row.session,
            row.submitted_on,
            f"{row.plan_version.plan.name}, version {row.plan_version.number}",
            row.parts,
            states.get(row.pk, []).count(SubmissionResultState.ACCEPTED),
            states.get(row.pk, []).count(SubmissionResultState.NOT_ACCEPTED),
            states.get(row.pk, []).count(SubmissionResultState.MORE_ASKED),
            len(states.get(row.pk, [])) == row.parts,
        )
        for row in rows.order_by("-submitted_on", "-pk")
    )


@dataclass(frozen=True, slots=True)
class PointRow:
    """The board's points of a category beside ours; the difference is the board's less ours, empty where one is missing."""

    category: str
    label: str
    ours: str
    theirs: str
    difference: str


@dataclass(frozen=True, slots=True)
class ScoreThen:
    """A kept score of a submitted case, what moved since, and the board's points."""

    index: str
    label: str
    stage: str
    total: str
    run: UUID | None
    moved: tuple[str, ...]
    rows: tuple[PointRow, ...]


@dataclass(frozen=True, slots=True)
class CaseThen:
    """A submitted case as it stood."""

    public_id: UUID
    case_id: UUID
    code: str
    slot: str
    label: str
    clauses: tuple[Mapping[str, str], ...]
    records: tuple[Mapping[str, str], ...]
    scores: tuple[ScoreThen, ...]
    intact: bool
    state: str
    state_words: str
    note: str
    typed_at: datetime | None
    history: int


@dataclass(frozen=True, slots=True)
class SubmissionPage:
    """One submission; `faults` say in what it is not whole any more."""

    public_id: UUID
    session: str
    submitted_on: date
    made_at: datetime
    plan_version: UUID
    plan: str
    digest: str
    reason: str
    empty_slots: tuple[str, ...]
    cases: tuple[CaseThen, ...]
    faults: tuple[str, ...]
    any_accepted: bool


def submission_page(user: Asker, row: Submission) -> SubmissionPage:
    """A submission with its cases in the order it was handed in; the row comes with portfolio and plan version."""
    rows = list(
        visible_submitted(user)
        .filter(submission=row)
        .select_related("case__patient__portfolio")
        .order_by("place")
    )
    results: dict[int, list[SubmissionResult]] = {}
    for result in SubmissionResult.objects.filter(submitted__in=rows).order_by("at", "pk"):
        results.setdefault(result.submitted_id, []).append(result)
    labels = {slot["key"]: slot["label"] for slot in row.head["slots"]}
    runs = _moved(user, rows)
    cases = tuple(_case(one, labels.get(one.slot, one.slot), runs, results.get(one.pk, [])) for one in rows)
    filled = {one.slot for one in rows} | set(row.head["order"])
    return SubmissionPage(
        row.public_id,
        row.session,
        row.submitted_on,
        row.made_at,
        row.plan_version.public_id,
        f"{row.head['plan']['name']}, version {row.head['plan']['version']}",
        row.digest,
        row.head["reason"],
        tuple(label for key, label in labels.items() if key not in filled),
        cases,
        _faults(row, rows),
        any(case.state == SubmissionResultState.ACCEPTED for case in cases),
    )


def _faults(row: Submission, rows: Sequence[SubmittedCase]) -> tuple[str, ...]:
    gone = row.parts - len(rows)
    if gone:
        many = f"{gone} case is" if gone == 1 else f"{gone} cases are"
        return (
            f"{many} deleted, erased or handed over since; the digest of the whole cannot be checked any more.",
        )
    parts = [digest(one.frozen) for one in rows]
    if parts != [one.digest for one in rows] or whole_digest(row.head, parts) != row.digest:
        return ("What is stored is not what was frozen: the digests do not agree.",)
    return ()


def _moved(user: Asker, rows: Sequence[SubmittedCase]) -> dict[str, tuple[str, ...]]:
    """Public id of each kept score → what moved since; a score that is gone is not among them."""
    wanted = [score["run"] for one in rows for score in one.frozen["scores"]]
    found = visible_runs(user).filter(public_id__in=wanted)
    moved: dict[str, tuple[str, ...]] = {}
    for run in found.select_related("sheet__record_set__case__patient__portfolio", "kept_by"):
        now = scored(run.sheet, run.index)
        kept = next(one for one in kept_rows(run.sheet, now) if one.public_id == run.public_id)
        moved[str(run.public_id)] = kept.moved
    return moved


def _case(
    one: SubmittedCase,
    label: str,
    runs: Mapping[str, tuple[str, ...]],
    results: Sequence[SubmissionResult],
) -> CaseThen:
    newest = results[-1] if results else None
    points = newest.points if newest else {}
    return CaseThen(
        one.public_id,
        one.case.public_id,
        one.frozen["case"],
        one.slot,
        label,
        tuple(one.frozen["clauses"]),
        tuple(one.frozen["records"]),
        tuple(_score(score, runs, points.get(place_of(score), {})) for score in one.frozen["scores"]),
        digest(one.frozen) == one.digest,
        newest.state if newest else "",
        str(SubmissionResultState(newest.state).label) if newest else NO_RESULT,
        newest.note if newest else "",
        newest.at if newest else None,
        len(results),
    )


def place_of(score: Mapping[str, Any]) -> str:
    """Under which key the board's points of a score stand: `discrepancy initial`."""
    return f"{score['index']} {score['stage']}"


def _score(
    score: Mapping[str, Any], runs: Mapping[str, tuple[str, ...]], theirs: Mapping[str, str]
) -> ScoreThen:
    index = registry.index(score["index"])
    known = score["run"] in runs
    ours = {**score["categories"], "total": score["total"]}
    return ScoreThen(
        score["index"],
        index.label,
        score["stage"],
        score["total"] if score["complete"] else f"at least {score['total']}",
        UUID(score["run"]) if known else None,
        runs.get(score["run"], ("the kept score is gone",)),
        tuple(
            _row(key, index.labels.get(key, "Total" if key == "total" else key), value, theirs.get(key, ""))
            for key, value in ours.items()
        ),
    )


def _row(key: str, label: str, ours: str | None, theirs: str) -> PointRow:
    return PointRow(key, label, ours or "", theirs, difference(ours or "", theirs))


def difference(ours: str, theirs: str) -> str:
    """The board's points less ours with its sign; empty where one of them is no number."""
    try:
        size = Decimal(theirs) - Decimal(ours)
    except InvalidOperation:
        return ""
    return f"+{number_words(size)}" if size > 0 else number_words(size)
