"""Submissions: frozen, looked at again, answered, and the next session begun from one."""

import csv
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core import signing
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from plans.access import visible_versions
from plans.forms.submissions import FreezeForm, ResultForm
from plans.selectors.held import held_portfolio
from plans.services.placing import take_back
from plans.slots.in_hand import InHand, in_hand
from plans.submitting import services
from plans.submitting.access import visible_submissions, visible_submitted
from plans.submitting.models import SubmissionResultState
from plans.submitting.preparing import Preparation, head, parts, preparation
from plans.submitting.selectors import CaseThen, SubmissionPage, submission_list, submission_page
from plans.views.sent import public_id
from plans.views.slots import TAKEN_BACK, told_when_stopped
from portfolio.access import visible_cases, visible_portfolios
from portfolio.models import CaseState, Portfolio
from portfolio.views.saving import CHANGED, REFUSED, latest_day, own
from scoring.services import SheetMoved

MOVED = "Not frozen: cases, scores or the plan have changed since this page was shown. Look again at what stands here now."


@signed_in
@require_safe
def submissions(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The submissions of a portfolio."""
    row = own(visible_portfolios(request.user), portfolio)
    shown = {"portfolio": row, "lines": submission_list(request.user, row)}
    return render(request, "plans/submissions/list.html", shown)


@told_when_stopped
@sensitive_post_parameters("submitted_on", "reason")
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def submission_new(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """What would be frozen now; sent, it is frozen with the scores kept."""
    found = held_portfolio(request.user, portfolio)
    if found is None:
        row = own(visible_portfolios(request.user), portfolio)
        shown = {"portfolio": row, "heading": "Freeze a submission"}
        return render(request, "plans/slots/no_plan.html", shown)
    row, held = found
    hand = in_hand(request.user, row, held, latest_day())
    prepared = preparation(hand)
    form = _freeze_form(request, prepared)
    if request.method != "POST":
        return _new_page(request, row, hand, prepared, form)
    key = public_id(request, "key")
    if key and (done := visible_submissions(request.user).filter(public_id=key).first()):
        return redirect("plans:submission", done.public_id)
    if not form.is_valid() or not prepared.cases:
        return _new_page(request, row, hand, prepared, form, REFUSED)
    if form.cleaned_data["state"] != prepared.state:
        return _moved(request, row, hand, prepared, form)
    try:
        made = _freeze(request, row, hand, prepared, form)
    except SheetMoved:
        return _moved(request, row, hand, prepared, form)
    messages.success(
        request, f"{made.session} is frozen with {made.parts} case{'' if made.parts == 1 else 's'}."
    )
    return redirect("plans:submission", made.public_id)


def _freeze(
    request: HttpRequest, row: Portfolio, hand: InHand, prepared: Preparation, form: FreezeForm
) -> Any:
    by, now = signed_in_person(request), timezone.now()
    version = own(visible_versions(request.user), hand.held.version_id)
    with transaction.atomic():
        return services.freeze(
            by,
            row,
            version,
            form.cleaned_data["session"],
            form.cleaned_data["submitted_on"],
            head(hand, prepared, form.cleaned_data.get("reason", "")),
            parts(by, hand, prepared, now),
            form.row_key,
            now,
        )


@signed_in
@require_safe
def submission(request: HttpRequest, submission: UUID) -> HttpResponse:
    """A frozen submission: what it holds, what moved since, what came back."""
    row = _submission(request, submission)
    shown = {"portfolio": row.portfolio, "submission": submission_page(request.user, row)}
    return render(request, "plans/submissions/submission.html", shown)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def submission_result(request: HttpRequest, submitted: UUID) -> HttpResponse:
    """Type what came back for one case."""
    one = own(visible_submitted(request.user).select_related("submission"), submitted)
    row = _submission(request, one.submission.public_id)
    page = submission_page(request.user, row)
    case = next(case for case in page.cases if case.public_id == one.public_id)
    if request.method != "POST":
        first = {"state": case.state, "note": case.note}
        return _result_page(request, page, case, ResultForm(initial=first, scores=case.scores))
    form = ResultForm(request.POST, scores=case.scores)
    if not form.is_valid():
        return _result_page(request, page, case, form, REFUSED)
    by, typed = signed_in_person(request), form.cleaned_data
    services.type_result(by, one, typed["state"], typed["note"].strip(), form.points(), timezone.now())
    messages.success(request, f"The answer for case {case.code} is kept.")
    return redirect("plans:submission", page.public_id)


@signed_in
@require_safe
def submission_table(request: HttpRequest, submission: UUID) -> HttpResponse:
    """The results as CSV: our points and the board's, by case and category."""
    row = _submission(request, submission)
    page = submission_page(request.user, row)
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="submission-results.csv"'
    table = csv.writer(answer)
    table.writerow(["case", "slot", "answer", "index", "stage", "category", "ours", "board", "difference"])
    for case in page.cases:
        told = [case.code, case.label, case.state_words]
        lines = [
            [
                *told,
                score.index,
                score.stage,
                line.category,
                line.ours,
                line.theirs,
                line.difference.replace("−", "-"),
            ]
            for score in case.scores
            for line in score.rows
        ]
        table.writerows(lines or [[*told, "", "", "", "", "", ""]])
    return answer


@signed_in
@require_POST
def submission_next(request: HttpRequest, submission: UUID) -> HttpResponse:
    """Begin the next session: accepted cases are done, the others stand as possible; it can be taken back."""
    row = _submission(request, submission)
    page = submission_page(request.user, row)
    wanted = {
        case.code: CaseState.DONE if case.state == SubmissionResultState.ACCEPTED else CaseState.POSSIBLE
        for case in page.cases
    }
    rows = visible_cases(request.user).filter(patient__portfolio=row.portfolio, code__in=wanted)
    before = {code: state for code, state in rows.values_list("code", "state") if state != wanted[code]}
    take_back(signed_in_person(request), row.portfolio, wanted)
    if before:
        kept = {"portfolio": str(row.portfolio.public_id), "states": before}
        request.session[TAKEN_BACK] = signing.dumps(kept)
    messages.success(request, "Accepted cases are done; the others may be chosen again.")
    return redirect("plans:choice", row.portfolio.public_id)


def _submission(request: HttpRequest, submission: UUID) -> Any:
    rows = visible_submissions(request.user).select_related("portfolio", "plan_version__plan")
    return own(rows, submission)


def _freeze_form(request: HttpRequest, prepared: Preparation) -> FreezeForm:
    options: dict[str, Any] = {"latest": latest_day(), "open_things": bool(prepared.warnings)}
    if request.method == "POST":
        return FreezeForm(request.POST, **options)
    first = {"state": prepared.state, "submitted_on": timezone.now().date()}
    return FreezeForm(initial=first, **options)


def _moved(
    request: HttpRequest, row: Portfolio, hand: InHand, prepared: Preparation, form: FreezeForm
) -> HttpResponse:
    data = request.POST.copy()
    data["state"] = prepared.state
    form.data = data
    form.add_error(None, MOVED)
    return _new_page(request, row, hand, prepared, form, CHANGED)


def _new_page(
    request: HttpRequest,
    row: Portfolio,
    hand: InHand,
    prepared: Preparation,
    form: FreezeForm,
    status: int = 200,
) -> HttpResponse:
    shown = {"portfolio": row, "held": hand.held, "prepared": prepared, "form": form}
    return render(request, "plans/submissions/new.html", shown, status=status)


def _result_page(
    request: HttpRequest, page: SubmissionPage, case: CaseThen, form: ResultForm, status: int = 200
) -> HttpResponse:
    shown = {"submission": page, "case": case, "form": form, "scores": form.rows(case.scores)}
    return render(request, "plans/submissions/result.html", shown, status=status)
