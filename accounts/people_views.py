"""The administrator's pages about people: list, add, correct, links, roles."""

import uuid
from typing import Any

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts import kept_searches, selectors, services
from accounts.admission import administrator_only, signed_in_person
from accounts.forms import PersonForm
from accounts.models import User
from accounts.services import IssuedLink, Refused


@administrator_only
@require_safe
def people(request: HttpRequest) -> HttpResponse:
    """Everybody, searched and sorted."""
    key, words = kept_searches.searched(request)
    found = selectors.people_page(
        signed_in_person(request),
        words,
        request.GET.get("sort", ""),
        request.GET.get("page", "1"),
        timezone.now(),
    )
    return render(request, "accounts/people.html", {"people": found, "search_key": key})


@administrator_only
@require_http_methods(["GET", "HEAD", "POST"])
def person_new(request: HttpRequest) -> HttpResponse:
    """Enter a person and show the one-time link for the first password."""
    if request.method != "POST":
        return render(request, "accounts/person_new.html", {"form": PersonForm()})
    form = PersonForm(request.POST)
    if form.is_valid():
        by = signed_in_person(request)
        added = services.add_person(by, form.cleaned_data["name"], form.cleaned_data["email"])
        if isinstance(added, User):
            return _show_link(request, added)
        form.add_error(added.field or None, added.message)
    return render(request, "accounts/person_new.html", {"form": form}, status=422)


@administrator_only
@require_http_methods(["GET", "HEAD", "POST"])
def person(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """One person: name, e-mail address, and what an administrator can do."""
    by = signed_in_person(request)
    stored = _stored(person)
    status = 200
    if request.method == "POST":
        form = PersonForm(request.POST)
        if form.is_valid():
            refused = services.correct_person(
                by, stored, form.cleaned_data["name"], form.cleaned_data["email"]
            )
            if refused is None:
                messages.success(request, "Saved.")
                return redirect("accounts:person", person=person)
            form.add_error(refused.field or None, refused.message)
        status = 422
    else:
        form = PersonForm(initial={"name": stored.name, "email": stored.email})
    context = {"form": form, "person": selectors.person_row(by, person, timezone.now())}
    return render(request, "accounts/person.html", context, status=status)


@administrator_only
@require_POST
def one_time_link(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """Make a one-time link and show it, once."""
    return _show_link(request, _stored(person))


@administrator_only
@require_http_methods(["GET", "HEAD", "POST"])
def deactivate(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """Ask, then shut a person out."""
    stored = _stored(person)
    if request.method != "POST":
        return _confirm(
            request,
            stored,
            question=f"Deactivate {stored}?",
            text="The person is signed out at once and cannot sign in any more. Nothing of theirs is deleted, "
            "and you can reactivate the account.",
            confirm_label="Deactivate",
            grave=True,
        )
    refused = services.deactivate(signed_in_person(request), stored, timezone.now())
    return _done(request, stored, refused, f"{stored} is deactivated.")


@administrator_only
@require_POST
def reactivate(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """Let a person in again."""
    stored = _stored(person)
    services.reactivate(signed_in_person(request), stored)
    return _done(
        request, stored, None, f"{stored} is active again and signs in with the password from before."
    )


@administrator_only
@require_http_methods(["GET", "HEAD", "POST"])
def make_administrator(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """Ask, then let a person manage accounts."""
    stored = _stored(person)
    if request.method != "POST":
        return _confirm(
            request,
            stored,
            question=f"Make {stored} an administrator?",
            text="An administrator adds and deactivates people, makes one-time links and removes second factors, "
            "yours too. It shows them nobody's records.",
            confirm_label="Make administrator",
        )
    refused = services.make_administrator(signed_in_person(request), stored)
    return _done(request, stored, refused, f"{stored} is an administrator now.")


@administrator_only
@require_http_methods(["GET", "HEAD", "POST"])
def unmake_administrator(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """Ask, then take the managing of accounts from a person."""
    stored = _stored(person)
    by = signed_in_person(request)
    if request.method != "POST":
        return _confirm(
            request,
            stored,
            question="Give up being an administrator?"
            if stored.pk == by.pk
            else f"{stored}: no longer administrator?",
            text="The account stays as it is, without the pages about people.",
            confirm_label="No longer administrator",
            grave=True,
        )
    refused = services.unmake_administrator(by, stored)
    if refused is None and stored.pk == by.pk:
        messages.success(request, "You are no longer an administrator.")
        return redirect("accounts:own_account")
    return _done(request, stored, refused, f"{stored} is no longer an administrator.")


@administrator_only
@require_http_methods(["GET", "HEAD", "POST"])
def remove_second_factor(request: HttpRequest, person: uuid.UUID) -> HttpResponseBase:
    """Ask, then remove a person's second factor, for a lost telephone."""
    stored = _stored(person)
    by = signed_in_person(request)
    if request.method != "POST":
        return _confirm(
            request,
            stored,
            question=f"Remove the second factor of {stored}?",
            text="Do this only when you are sure who is asking: speak with the person. They are signed out and "
            "sign in with the password alone until they set up a second factor again.",
            confirm_label="Remove second factor",
            grave=True,
        )
    services.remove_second_factor(by, stored)
    if stored.pk == by.pk:
        update_session_auth_hash(request, stored)
    return _done(request, stored, None, f"The second factor of {stored} is removed.")


def _stored(public_id: uuid.UUID) -> User:
    stored = selectors.person(public_id)
    if stored is None:
        raise Http404
    return stored


@sensitive_variables("issued", "address")
def _show_link(request: HttpRequest, person: User) -> HttpResponse:
    issued = services.issue_link(signed_in_person(request), person, timezone.now())
    if isinstance(issued, IssuedLink):
        address = request.build_absolute_uri(reverse("accounts:welcome", args=[issued.secret]))
        row = selectors.person_row(signed_in_person(request), person.public_id, timezone.now())
        context = {"person": row, "address": address, "issued": issued}
        return render(request, "accounts/one_time_link.html", context)
    return _done(request, person, issued, "")


def _confirm(request: HttpRequest, person: User, **words: Any) -> HttpResponse:
    row = selectors.person_row(signed_in_person(request), person.public_id, timezone.now())
    return render(request, "accounts/confirm.html", {"person": row, **words})


def _done(request: HttpRequest, person: User, refused: Refused | None, words: str) -> HttpResponse:
    if refused is None:
        messages.success(request, words)
    else:
        messages.error(request, refused.message)
    return redirect("accounts:person", person=person.public_id)
