"""Error pages that need more than a template: a refused token, an unreachable database, too many tries."""

import sys
from dataclasses import dataclass

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template import loader
from django.views.decorators.csrf import requires_csrf_token

from accounts.admission import SIGNED_OUT_WORDS, from_page_script

NOT_SHOWN = ("password", "secret", "token", "credential")  # anywhere in a field's name
NOT_SHOWN_EITHER = ("code",)  # the set-up code and the codes of a second factor
BUSY_WORDS = "The app cannot reach its database just now. Wait and send again; what you typed is still here."
FAULT_WORDS = "The app met a fault of its own. What you typed is still here; the last step may not be saved."
PAGE_OUTDATED_WORDS = "This page is older than your sign-in. Read the token anew and send again."


@dataclass(frozen=True)
class TypedText:
    """One field as it was sent, to be copied; never a password or a code."""

    field: str
    text: str


@requires_csrf_token
def token_refused(request: HttpRequest, reason: str = "") -> HttpResponse:
    """What to do when a form came without a valid token; shows what was typed so that it can be copied.

    A page's script gets 401 when nobody is signed in, else 403, and keeps what was typed.
    """
    if from_page_script(request):
        if not request.user.is_authenticated:
            return HttpResponse(SIGNED_OUT_WORDS, status=401, content_type="text/plain; charset=utf-8")
        return HttpResponse(PAGE_OUTDATED_WORDS, status=403, content_type="text/plain; charset=utf-8")
    return render(request, "403_csrf.html", {"typed": _typed(request)}, status=403)


@requires_csrf_token
def fault(request: HttpRequest) -> HttpResponse:
    """Answer to a fault of the app: 503 where the database cannot be reached or is locked, else 500.

    Django calls it while the fault is being handled; it uses no database, no session and no context.
    """
    unreachable = isinstance(sys.exc_info()[1], OperationalError | InterfaceError)
    status = 503 if unreachable else 500
    if from_page_script(request):
        words = BUSY_WORDS if unreachable else FAULT_WORDS
        answer = HttpResponse(words, status=status, content_type="text/plain; charset=utf-8")
    else:
        answer = HttpResponse(loader.get_template(f"{status}.html").render(), status=status)
    if unreachable:
        answer.headers["Retry-After"] = "5"
    return answer


def too_many_tries(request: HttpRequest) -> HttpResponse:
    """Refusal for too many tries in a short time."""
    return render(request, "429.html", status=429)


def _typed(request: HttpRequest) -> tuple[TypedText, ...]:
    return tuple(
        TypedText(name.replace("_", " "), text)
        for name, texts in request.POST.lists()
        for text in texts
        if text.strip()
        and name not in NOT_SHOWN_EITHER
        and not any(word in name.lower() for word in NOT_SHOWN)
    )
