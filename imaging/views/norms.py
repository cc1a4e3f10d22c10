"""The norms of a portfolio: all of them by analysis, and one to be put in the place of a published one."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from imaging.cephalometry.registry import ANALYSES, MEASURES
from imaging.norms import selectors, services
from imaging.norms.forms import NormForm
from imaging.norms.places import Place, every_place, published_at
from portfolio.access import visible_portfolios
from portfolio.models import Portfolio
from portfolio.services.saving import ChangedMeanwhile
from portfolio.views.saving import form_page, own, save_form

CHANGED_WORDS = "Not done: this norm was changed in another window meanwhile. Here it is as it stands now."


@signed_in
@require_safe
def norms(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Every norm by analysis, and where the portfolio has its own."""
    row = own(visible_portfolios(request.user), portfolio)
    return render(request, "imaging/norms.html", {"portfolio": row, "tables": selectors.norm_tables(row)})


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def norm(request: HttpRequest, portfolio: UUID, norm: str) -> HttpResponse:
    """One norm: put the portfolio's own figures in its place."""
    row, place = own(visible_portfolios(request.user), portfolio), _place_or_404(norm)
    context: dict[str, Any] = {
        "portfolio": row,
        "analysis": ANALYSES[place.analysis],
        "measure": MEASURES[place.measure],
        "line": selectors.norm_line(row, place),
    }
    if request.method != "POST":
        form = NormForm(initial=_initial(row, place), place=place)
        return form_page(request, "imaging/norm.html", form, **context)
    form = NormForm(request.POST, place=place)

    def save() -> HttpResponse:
        services.keep(
            signed_in_person(request), row, place, form.figures(), form.seen_version, timezone.now()
        )
        messages.success(request, f"Your norm for {MEASURES[place.measure].label} is in force.")
        return _to_list(row, place)

    answer, status = save_form(form, save, lambda: _initial(row, place))
    return answer or form_page(request, "imaging/norm.html", form, status, **context)


@signed_in
@require_POST
def take_published(request: HttpRequest, portfolio: UUID, norm: str) -> HttpResponse:
    """Let the published norm count again; the own figures are set aside."""
    return _switch(
        request,
        portfolio,
        norm,
        own_counts=False,
        words="The published norm counts again; yours is set aside.",
    )


@signed_in
@require_POST
def take_own(request: HttpRequest, portfolio: UUID, norm: str) -> HttpResponse:
    """Put own figures that were set aside in force again."""
    return _switch(request, portfolio, norm, own_counts=True, words="Your norm is in force again.")


def _switch(
    request: HttpRequest, portfolio: UUID, norm: str, *, own_counts: bool, words: str
) -> HttpResponse:
    row, place = own(visible_portfolios(request.user), portfolio), _place_or_404(norm)
    text = request.POST.get("version", "")
    seen = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
    by, at = signed_in_person(request), timezone.now()
    _attempt(request, lambda: services.set_in_force(by, row, place, seen, at, own=own_counts), words)
    return _to_list(row, place)


def _attempt(request: HttpRequest, change: Callable[[], None], done: str) -> None:
    try:
        change()
    except ChangedMeanwhile:
        messages.warning(request, CHANGED_WORDS)
    else:
        messages.success(request, done)


def _to_list(row: Portfolio, place: Place) -> HttpResponse:
    answer = redirect("imaging:norms", row.public_id)
    answer.headers["Location"] += f"#{place.analysis}"
    return answer


def _place_or_404(key: str) -> Place:
    place = every_place().get(key)
    if place is None:
        raise Http404
    return place


def _initial(row: Portfolio, place: Place) -> dict[str, Any]:
    """What is stored, else the published figures to begin from; the source of own figures is always one's own."""
    found = selectors.stored_figures(row, place)
    if found is not None:
        figures, version = found
        return asdict(figures) | {"version": version}
    published = published_at(place)
    given = (
        {name: getattr(published, name) for name in selectors.FIGURES if name != "source"}
        if published
        else {}
    )
    return given | {"version": 0}
