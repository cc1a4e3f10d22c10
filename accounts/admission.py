"""Who may open a page: the two decorators every room uses, and the one answer for signed-out requests.

Every address asks for sign-in by itself (`accounts.middleware.SignedInUnlessOpen`); a page that is open to
everybody carries Django's `login_not_required`. The decorators say it at the view once more and hold without
the middleware.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect

from accounts import selectors
from accounts.models import User

View = TypeVar("View", bound=Callable[..., HttpResponseBase])

SIGNED_OUT_WORDS = "You are signed out. Sign in on another page and send again; what you typed is still here."


def from_page_script(request: HttpRequest) -> bool:
    """Whether a script of a page asks (htmx, or fetch with `X-Requested-With: fetch`), not the browser itself."""
    return (
        request.headers.get("HX-Request") == "true"
        or request.headers.get("X-Requested-With", "").lower() == "fetch"
    )


def signed_in_person(request: HttpRequest) -> User:
    """The person behind a request that has passed `signed_in`."""
    return cast(User, request.user)


def answer_signed_out(request: HttpRequest) -> HttpResponseBase:
    """401 with words for a page's script, which keeps what was typed; a redirect for the browser itself.

    The redirect leads to the first run while nobody exists, else to sign-in and back to the page asked for.
    """
    if from_page_script(request):
        return HttpResponse(SIGNED_OUT_WORDS, status=401, content_type="text/plain; charset=utf-8")
    if selectors.nobody_yet():
        return redirect("accounts:first_run")
    if request.method in ("GET", "HEAD"):
        return redirect_to_login(request.get_full_path())
    return redirect("account_login")


def signed_in(view: View) -> View:
    """Let only signed-in people through; see `answer_signed_out` for the others."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return answer_signed_out(request)
        return view(request, *args, **kwargs)

    return cast(View, guarded)


def administrator_only(view: View) -> View:
    """Let only administrators through; for other signed-in people the address does not exist (404)."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return answer_signed_out(request)
        if not signed_in_person(request).administrator:
            raise Http404
        return view(request, *args, **kwargs)

    return cast(View, guarded)
