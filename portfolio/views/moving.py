"""Pages on which a coded patient is handed over and taken."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from portfolio.access import visible_patients, visible_portfolios
from portfolio.forms.moving import HandOverForm, TakeOverForm
from portfolio.moving import services
from portfolio.moving.access import asked_by, offered_to
from portfolio.moving.selectors import moves, open_request
from portfolio.views.saving import REFUSED, form_page, own


@signed_in
@require_safe
def handing_over(request: HttpRequest) -> HttpResponse:
    """What is offered to the person, what the person has asked, what is over."""
    return _page(request)


@sensitive_post_parameters("email", "note")
@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def hand_over(request: HttpRequest, patient: UUID) -> HttpResponse:
    """Ask a colleague to take the patient over."""
    row = own(visible_patients(request.user).select_related("portfolio"), patient)
    context: dict[str, Any] = {
        "patient_id": row.public_id,
        "patient_code": row.code,
        "portfolio_id": row.portfolio.public_id,
        "open": open_request(request.user, row.pk),
    }
    template = "portfolio/moving/hand_over.html"
    if request.method != "POST":
        return form_page(request, template, HandOverForm(), **context)
    form = HandOverForm(request.POST)
    if not form.is_valid():
        return form_page(request, template, form, REFUSED, **context)
    typed = form.cleaned_data
    try:
        made = services.ask(
            signed_in_person(request),
            row,
            typed["email"],
            typed["note"],
            private_along=typed["private_along"],
            public_id=form.row_key,
            at=timezone.now(),
        )
    except services.CannotMove as refused:
        form.add_error("email" if "address" in str(refused) else None, str(refused))
        return form_page(request, template, form, REFUSED, **context)
    messages.success(
        request, f"{made.asked_to} is asked to take {row.code} over. Until then nothing changes."
    )
    return redirect("portfolio:handing_over")


@signed_in
@require_POST
def take_over(request: HttpRequest, move: UUID) -> HttpResponse:
    """Take an offered patient into a portfolio."""
    row = own(offered_to(request.user), move)
    form = TakeOverForm(request.POST, portfolios=visible_portfolios(request.user))
    if not form.is_valid():
        messages.error(request, " ".join(str(text) for texts in form.errors.values() for text in texts))
        return _page(request, REFUSED)
    try:
        patient = services.accept(signed_in_person(request), row, form.cleaned_data["into"], timezone.now())
    except services.CannotMove as refused:
        messages.warning(request, f"Not done. {refused}")
        return redirect("portfolio:handing_over")
    messages.success(
        request, f"{patient.code} is yours now. Look at the consents: what they allow was signed for others."
    )
    return redirect("portfolio:patient", patient.public_id)


@signed_in
@require_POST
def decline_move(request: HttpRequest, move: UUID) -> HttpResponse:
    """Leave an offered patient where it is."""
    return _answered(request, own(offered_to(request.user), move), services.decline, "declined")


@signed_in
@require_POST
def withdraw_move(request: HttpRequest, move: UUID) -> HttpResponse:
    """Take one's own request back."""
    return _answered(request, own(asked_by(request.user), move), services.withdraw, "withdrawn")


def _answered(request: HttpRequest, row: Any, answer: Any, words: str) -> HttpResponse:
    try:
        answer(row, timezone.now())
    except services.CannotMove as refused:
        messages.warning(request, f"Not done. {refused}")
    else:
        messages.success(request, f"The request is {words}; the patient stays where it is.")
    return redirect("portfolio:handing_over")


def _page(request: HttpRequest, status: int = 200) -> HttpResponse:
    portfolios = visible_portfolios(request.user).order_by("name", "pk")
    shown = {
        "moves": moves(request.user),
        "form": TakeOverForm(portfolios=portfolios),
        "any_portfolio": portfolios.exists(),
    }
    return render(request, "portfolio/moving/handing_over.html", shown, status=status)
