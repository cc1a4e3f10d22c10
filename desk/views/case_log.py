"""The case log: its page, and the saves of its rows."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from accounts import kept_searches
from accounts.admission import signed_in, signed_in_person
from desk.case_log.answers import changed_answer, rows_answer, saved_answer, undone_answer
from desk.case_log.page import log_page
from desk.case_log.rows import reading_of
from desk.forms.case_log import read_add, read_delete, read_fields, read_undo
from desk.repeats.shut import SHUT_WORDS, open_cases
from portfolio.access import visible_cases, visible_portfolios
from portfolio.case_log import services
from portfolio.case_log.selectors import touches
from portfolio.models import Case, Portfolio
from portfolio.views.answering import CONFLICT, REFUSED, answers_in_json

GONE = "This row was deleted meanwhile; nothing can be saved in it."
saves_a_row = answers_in_json(Case.DoesNotExist, GONE)
saves_the_log = answers_in_json(Portfolio.DoesNotExist, "This portfolio is gone; nothing was saved.")


@signed_in
@require_safe
def case_log(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The possible cases of a portfolio in a table that is filled in place."""
    row = portfolio_or_404(request, portfolio)
    key, words = kept_searches.searched(request)
    asked = {name: request.GET.get(name, "") for name in ("state", "sort")} | {"search": key}
    asked["page"] = request.GET.get("page", "1")
    page = log_page(request.user, row, asked, words)
    return render(request, "desk/case_log/page.html", {"page": page, "asked": asked, "words": words})


@saves_the_log
def add(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Add a possible case, by its code or a drawn one, and answer with its row."""
    row = portfolio_or_404(request, portfolio)
    body = read_add(request.body)
    by = signed_in_person(request)
    answer = services.add_row(by, row, body.key, body.code, body.request_key, timezone.now())
    if isinstance(answer, services.Refused):
        return JsonResponse({"faults": answer.faults}, status=REFUSED)
    return JsonResponse(rows_answer(by, row, [answer.case], text=f"Case {answer.case.code} is in the log."))


@saves_a_row
def save_row(request: HttpRequest, case: UUID) -> HttpResponse:
    """Save fields of one row and answer with what stands now."""
    row = _case_or_404(request, case)
    body = read_fields(request.body)
    by, portfolio = signed_in_person(request), row.patient.portfolio
    plane = reading_of(portfolio).plane
    answer = services.save_fields(by, row, body.entries, plane, body.request_key, timezone.now())
    if isinstance(answer, services.Refused):
        return JsonResponse({"faults": answer.faults}, status=REFUSED)
    if isinstance(answer, services.Changed):
        return JsonResponse(changed_answer(answer), status=CONFLICT)
    return JsonResponse(saved_answer(by, portfolio, answer.case, answer.said))


@saves_a_row
def delete_row(request: HttpRequest, case: UUID) -> HttpResponse:
    """Put a row's case among the deleted ones; the log's undo brings it back."""
    row = _case_or_404(request, case)
    by, portfolio = signed_in_person(request), row.patient.portfolio
    services.delete_row(by, row, read_delete(request.body), timezone.now())
    words = f"Case {row.code} is among the deleted cases."
    return JsonResponse(rows_answer(by, portfolio, [], [str(row.public_id)], words))


@saves_the_log
def undo(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Take one step of the log back and answer with the rows that stand again."""
    row = portfolio_or_404(request, portfolio)
    body = read_undo(request.body)
    by = signed_in_person(request)
    if touches(by, row, body.number, open_cases(by)):
        return JsonResponse({"faults": {"": f"A case of this step is {SHUT_WORDS}."}}, status=REFUSED)
    answer = services.undo(by, row, body.number, body.request_key, timezone.now())
    if isinstance(answer, services.Refused):
        return JsonResponse({"faults": answer.faults}, status=REFUSED)
    return JsonResponse(undone_answer(by, row, answer))


def portfolio_or_404(request: HttpRequest, portfolio: UUID) -> Portfolio:
    return get_object_or_404(visible_portfolios(request.user), public_id=portfolio)


def _case_or_404(request: HttpRequest, case: UUID) -> Case:
    rows = visible_cases(request.user).select_related("patient__portfolio")
    return get_object_or_404(rows, public_id=case)
