"""Errors of measurement of a portfolio: all of them with their sources, and one to be set."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from portfolio.access import visible_portfolios
from portfolio.error_figures import selectors, services
from portfolio.error_figures.forms import ErrorFigureForm
from portfolio.models import Portfolio
from portfolio.repeating.selectors import own_errors
from portfolio.services.saving import ChangedMeanwhile
from portfolio.views.saving import form_page, own, save_form

CHANGED_WORDS = "Not done: this error was changed in another window meanwhile. Here it is as it stands now."


@signed_in
@require_safe
def error_figures(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Every error by group of quantities: the default, what stands in its place, and which counts."""
    row = own(visible_portfolios(request.user), portfolio)
    tables = selectors.error_tables(request.user, row)
    return render(request, "portfolio/error_figures.html", {"portfolio": row, "tables": tables})


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def error_figure(request: HttpRequest, portfolio: UUID, figure: str) -> HttpResponse:
    """One error: set a figure of the portfolio in place of the default; its history."""
    row, key = own(visible_portfolios(request.user), portfolio), _key_or_404(figure)
    history = selectors.figures_of(row, *key)
    context: dict[str, Any] = {
        "portfolio": row,
        "line": selectors.error_line(key, history, own_errors(request.user)),
        "history": history,
    }
    names = {"quantity": key[0], "method": key[1]}
    if request.method != "POST":
        form = ErrorFigureForm(initial=_stored(row, key), **names)
        return form_page(request, "portfolio/error_figure.html", form, **context)
    form = ErrorFigureForm(request.POST, **names)

    def save() -> HttpResponse:
        given = form.cleaned_data
        by, at = signed_in_person(request), timezone.now()
        services.set_figure(by, row, *key, given["sd"], given["source"], form.seen_version, at)
        messages.success(request, f"Your error of {context['line'].label.lower()} is kept.")
        return _to_list(row, figure)

    answer, status = save_form(form, save, lambda: _stored(row, key))
    return answer or form_page(request, "portfolio/error_figure.html", form, status, **context)


@signed_in
@require_POST
def error_turn(request: HttpRequest, portfolio: UUID, figure: str, turn: str) -> HttpResponse:
    """Let the default count again, or the own figure that was set aside."""
    row, key = own(visible_portfolios(request.user), portfolio), _key_or_404(figure)
    text = request.POST.get("version", "")
    seen = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
    by, at = signed_in_person(request), timezone.now()
    change = services.back_to_default if turn == "default" else services.own_again
    try:
        change(by, row, *key, seen, at)
    except ChangedMeanwhile:
        messages.warning(request, CHANGED_WORDS)
    else:
        words = (
            "The default counts again; yours is set aside."
            if turn == "default"
            else "Your figure counts again."
        )
        messages.success(request, words)
    return _to_list(row, figure)


def _stored(row: Portfolio, key: selectors.Key) -> dict[str, Any]:
    """The newest own figure, whether it counts or not, with the number of the newest statement."""
    history = selectors.figures_of(row, *key)
    last = next((one for one in history if one.sd), None)
    return {
        "sd": last.sd if last else "",
        "source": last.source if last else "",
        "version": history[0].number if history else 0,
    }


def _to_list(row: Portfolio, figure: str) -> HttpResponse:
    answer = redirect("portfolio:error_figures", row.public_id)
    answer.headers["Location"] += f"#{figure}"
    return answer


def _key_or_404(figure: str) -> selectors.Key:
    key = selectors.read_key(figure)
    if key is None:
        raise Http404
    return key
