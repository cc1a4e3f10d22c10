"""Middleware of sign-in: every address asks for it, and no session lasts for ever."""

import time
from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponseBase

from accounts.admission import answer_signed_out, signed_in_person
from accounts.security_log import note

BEGAN = "signed_in_at"
LAST_USED = "last_used_at"
WRITE_EVERY_SECONDS = 60


class SignedInUnlessOpen(LoginRequiredMiddleware):
    """Asks for sign-in at every address whose view does not carry `login_not_required`."""

    def process_view(
        self, request: HttpRequest, view_func: Callable[..., object], view_args: object, view_kwargs: object
    ) -> HttpResponseBase | None:
        if request.user.is_authenticated or not getattr(view_func, "login_required", True):
            return None
        return answer_signed_out(request)


def limited_sessions(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Ends a session that was idle for SESSION_IDLE_SECONDS or is older than SESSION_COOKIE_AGE, whatever it did.

    The session is written at most once a minute for this.
    """

    def answer(request: HttpRequest) -> HttpResponseBase:
        if request.user.is_authenticated:
            now = int(time.time())
            began = request.session.get(BEGAN, now)
            last_used = request.session.get(LAST_USED, now)
            if now - last_used > settings.SESSION_IDLE_SECONDS or now - began > settings.SESSION_COOKIE_AGE:
                note("session ended by time", signed_in_person(request))
                logout(request)
            elif BEGAN not in request.session or now - last_used >= WRITE_EVERY_SECONDS:
                request.session[BEGAN] = began
                request.session[LAST_USED] = now
        return get_response(request)

    return answer
