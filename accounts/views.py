"""Pages of one's own: first run, one-time link, own account, sign-in help."""

from allauth.account.adapter import get_adapter
from allauth.account.views import LoginView
from allauth.core.ratelimit import consume
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts import kept_searches, selectors, services
from accounts.admission import signed_in, signed_in_person
from accounts.error_pages import too_many_tries
from accounts.forms import FirstPersonForm, NewPasswordForm, OwnNameForm
from accounts.models import User


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """The package's sign-in page; leads to the first run while nobody exists."""

    def get(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
        if selectors.nobody_yet():
            return redirect("accounts:first_run")
        answer: HttpResponseBase = super().get(request, *args, **kwargs)
        return answer


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("code", "password", "password_again")
def first_run(request: HttpRequest) -> HttpResponseBase:
    """Ask for the set-up code and make the first person, signed in; gone once somebody exists."""
    if not selectors.nobody_yet():
        return redirect("account_login")
    if request.method != "POST":
        return render(request, "accounts/first_run.html", {"form": FirstPersonForm()})
    if not consume(request, action="first_run"):
        return too_many_tries(request)
    form = FirstPersonForm(request.POST)
    if form.is_valid():
        typed = form.cleaned_data
        made = services.begin(typed["code"], typed["name"], typed["email"], typed["password"])
        if isinstance(made, User):
            get_adapter().login(request, made)
            messages.success(request, "You are entered as the first person and administrator.")
            return redirect(settings.LOGIN_REDIRECT_URL)
        if not selectors.nobody_yet():
            messages.warning(request, made.message)
            return redirect("account_login")
        form.add_error(made.field or None, made.message)
    elif form.cleaned_data.get("code"):
        refused = services.check_code(form.cleaned_data["code"])
        if refused is not None:
            form.add_error(refused.field or None, refused.message)
    return render(request, "accounts/first_run.html", {"form": form}, status=422)


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_variables("token")
@sensitive_post_parameters("password", "password_again")
def welcome(request: HttpRequest, token: str) -> HttpResponseBase:
    """Choose a password by a one-time link; the sign-in page follows, which asks for the second factor."""
    link = selectors.open_link(token, timezone.now())
    if link is None:
        return render(request, "accounts/link_spent.html", status=404)
    if request.method != "POST":
        return render(request, "accounts/welcome.html", {"form": NewPasswordForm(), "link": link})
    if not consume(request, action="one_time_link"):
        return too_many_tries(request)
    form = NewPasswordForm(request.POST, person=User(name=link.person_name, email=link.email))
    if not form.is_valid():
        return render(request, "accounts/welcome.html", {"form": form, "link": link}, status=422)
    if services.use_link(token, form.cleaned_data["password"], timezone.now()) is None:
        return render(request, "accounts/link_spent.html", status=404)
    messages.success(request, "Your password is set. Sign in with it.")
    return redirect("account_login")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def own_account(request: HttpRequest) -> HttpResponseBase:
    """One's own name, and the ways to password, second factor and other sessions."""
    person = signed_in_person(request)
    status = 200
    if request.method == "POST":
        form = OwnNameForm(request.POST)
        if form.is_valid():
            services.rename(person, form.cleaned_data["name"])
            messages.success(request, "Name saved.")
            return redirect("accounts:own_account")
        person.refresh_from_db()
        status = 422
    else:
        form = OwnNameForm(initial={"name": person.name})
    context = {"form": form, "account": selectors.own_account(person)}
    return render(request, "accounts/own_account.html", context, status=status)


@signed_in
@require_POST
def end_other_sessions(request: HttpRequest) -> HttpResponseBase:
    """Sign this person out everywhere but here."""
    person = signed_in_person(request)
    services.end_sessions(person)
    update_session_auth_hash(request, person)
    messages.success(request, "You are signed out everywhere else.")
    return redirect("accounts:own_account")


@login_not_required
@require_safe
def forgotten_password(request: HttpRequest) -> HttpResponse:
    """How to get a new password without mail: ask the administrator for a one-time link."""
    return render(request, "accounts/forgotten_password.html")


@login_not_required
@require_safe
def closed_sign_up(request: HttpRequest) -> HttpResponse:
    """There is no open sign-up; says who lets people in."""
    return render(request, "accounts/closed_sign_up.html")


@sensitive_post_parameters("search")
@signed_in
@require_POST
def search(request: HttpRequest) -> HttpResponse:
    """Keep the words searched for and lead back to the list, with a key for them and what else narrows it."""
    sent = request.POST.dict()
    address = sent.pop("list", "").partition("?")[0]
    if not address.startswith("/") or not url_has_allowed_host_and_scheme(address, allowed_hosts=None):
        address = "/"
    key = kept_searches.keep(request, sent.pop(kept_searches.FIELD, ""))
    sent.pop("csrfmiddlewaretoken", None)
    narrowed = {name: value for name, value in {**sent, kept_searches.FIELD: key}.items() if value}
    return redirect(f"{address}?{urlencode(narrowed)}" if narrowed else address)
