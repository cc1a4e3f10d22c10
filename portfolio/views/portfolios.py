"""Pages of portfolios: start one, change it, print its key list."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from accounts.admission import signed_in, signed_in_person
from portfolio import selectors, services
from portfolio.access import visible_portfolios
from portfolio.forms.portfolios import PortfolioForm, stored_portfolio
from portfolio.views.saving import form_page, own, save_form


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def portfolio_new(request: HttpRequest) -> HttpResponse:
    """Start a portfolio; only its name is needed."""
    by = signed_in_person(request)
    first = not visible_portfolios(by).exists()
    if request.method != "POST":
        return form_page(request, "portfolio/portfolio_new.html", PortfolioForm(), first=first)
    form = PortfolioForm(request.POST)

    def save() -> HttpResponse:
        made = services.create_portfolio(by, form.details(), form.row_key)
        messages.success(request, f"The portfolio {made.name} is started.")
        return redirect("desk:home")

    answer, status = save_form(form, save)
    return answer or form_page(request, "portfolio/portfolio_new.html", form, status, first=first)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def portfolio_edit(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """Change a portfolio's name and habits."""
    row = own(visible_portfolios(request.user), portfolio)
    context: dict[str, Any] = {"portfolio_id": row.public_id, "portfolio_name": row.name}
    if request.method != "POST":
        form = PortfolioForm(initial=stored_portfolio(row))
        return form_page(request, "portfolio/portfolio_edit.html", form, **context)
    form = PortfolioForm(request.POST)

    def save() -> HttpResponse:
        services.edit_portfolio(row, form.details(), form.seen_version)
        messages.success(request, "The portfolio is saved.")
        return redirect("desk:home")

    answer, status = save_form(
        form, save, lambda: stored_portfolio(own(visible_portfolios(request.user), portfolio))
    )
    return answer or form_page(request, "portfolio/portfolio_edit.html", form, status, **context)


@signed_in
@require_safe
def key_list(request: HttpRequest, portfolio: UUID) -> HttpResponse:
    """The key list to print: codes, locators, and a column for names to be filled in by pen."""
    row = own(visible_portfolios(request.user), portfolio)
    lines = selectors.key_list(request.user, row)
    context = {"portfolio_id": row.public_id, "portfolio_name": row.name, "lines": lines, "paper": row.paper}
    return render(request, "portfolio/key_list.html", context)
