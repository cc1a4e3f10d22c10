"""How the sign-in package behaves here: no open sign-up, no mail, refusals noted without names."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from accounts.admission import signed_in_person
from accounts.models import User
from accounts.security_log import note


class ClosedDoor(DefaultAccountAdapter):
    """Account adapter: people come in by an administrator's one-time link only."""

    error_messages = DefaultAccountAdapter.error_messages | {
        "account_inactive": "This account is deactivated. Ask the administrator.",
        "email_password_mismatch": "E-mail address and password do not belong together.",
        "enter_current_password": "This is not your current password.",
        "incorrect_password": "This is not your password.",
        "rate_limited": "Too many tries. Wait a minute.",
        "too_many_login_attempts": "Too many tries for this e-mail address. Wait five minutes.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Nothing is ever mailed."""

    def authentication_failed(self, request: HttpRequest, **credentials: Any) -> None:
        note("sign-in refused")

    def validation_error(self, code: str, *args: Any) -> ValidationError:
        if code == "too_many_login_attempts":
            note("sign-in refused for too many tries")
        refusal: ValidationError = super().validation_error(code, *args)
        return refusal

    def login(self, request: HttpRequest, user: User) -> None:
        super().login(request, user)
        note("signed in", user)

    def logout(self, request: HttpRequest) -> None:
        if request.user.is_authenticated:
            note("signed out", signed_in_person(request))
        super().logout(request)

    def respond_user_inactive(self, request: HttpRequest, user: User) -> HttpResponse:
        note("sign-in refused for a deactivated person", user)
        answer: HttpResponse = super().respond_user_inactive(request, user)
        return answer

    def set_password(self, user: User, password: str) -> None:
        super().set_password(user, password)
        note("password changed", user)

    def get_password_change_redirect_url(self, request: HttpRequest) -> str:
        return reverse("accounts:own_account")
