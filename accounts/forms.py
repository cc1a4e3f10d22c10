"""Forms of people: first run, new people, own name, passwords."""

from typing import Any

from allauth.account.forms import ChangePasswordForm, LoginForm, ReauthenticateForm
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.base.forms import ReauthenticateForm as CodeOnceMoreForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from accounts.models import User

PASSWORD_HELP = "At least 10 characters; a short sentence is good. Not a common password, not only digits."  # noqa: S105


class TrimmedEmail(forms.EmailField):
    """An e-mail address in lower case."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "E-mail address")
        kwargs.setdefault("max_length", User._meta.get_field("email").max_length)
        kwargs.setdefault("widget", forms.EmailInput(attrs={"autocomplete": "email"}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> str:
        return str(super().to_python(value) or "").lower()


def _new_password(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        strip=False,
        max_length=128,
        help_text=help_text,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class NewPasswordForm(forms.Form):
    """A new password, typed twice; refused with all reasons beside the first field."""

    password = _new_password("Password", PASSWORD_HELP)
    password_again = _new_password("Password again")

    def __init__(self, *args: Any, person: User | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        password, again = cleaned.get("password"), cleaned.get("password_again")
        if password and again and password != again:
            self.add_error("password_again", "The two passwords differ. Type the same one twice.")
        if password:
            try:
                validate_password(password, self.person or self._typed_person(cleaned))
            except ValidationError as refusal:
                self.add_error("password", refusal)
        return cleaned

    def _typed_person(self, cleaned: dict[str, Any]) -> User:
        return User(name=cleaned.get("name", ""), email=cleaned.get("email", ""))


class FirstPersonForm(NewPasswordForm):
    """The set-up code and the first person."""

    code = forms.CharField(
        label="Set-up code",
        max_length=40,
        help_text="Printed where the app was started, for example in the terminal window.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "autofocus": True}
        ),
    )
    name = forms.CharField(
        label="Your name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = TrimmedEmail(help_text="You sign in with it. Nothing is ever sent to it.")

    field_order = ("code", "name", "email", "password", "password_again")


class PersonForm(forms.Form):
    """Name and e-mail address of somebody else."""

    name = forms.CharField(
        label="Name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    email = TrimmedEmail(
        help_text="The person signs in with it. Nothing is ever sent to it.",
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )


class OwnNameForm(forms.Form):
    """One's own name."""

    name = forms.CharField(
        label="Name",
        max_length=120,
        help_text="Shown beside your readings, and to an administrator.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )


class SignInForm(LoginForm):
    """Sign-in by e-mail address and password, in our words."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail address"
        for name in ("login", "password"):
            self.fields[name].widget.attrs.pop("placeholder", None)
        self.fields["login"].widget.attrs["autofocus"] = True


class OwnPasswordForm(ChangePasswordForm):
    """Change of one's own password, in our words."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        labels = {
            "oldpassword": "Current password",
            "password1": "New password",
            "password2": "New password again",
        }
        for name, label in labels.items():
            self.fields[name].label = label
            self.fields[name].widget.attrs.pop("placeholder", None)
        self.fields["password1"].help_text = PASSWORD_HELP


class CodeFieldInOurWords:
    """A field for a code of the app or a recovery code: digits on a telephone's keyboard, no placeholder."""

    fields: dict[str, forms.Field]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["code"]
        field.label = "Code"
        field.widget.attrs.pop("placeholder", None)
        field.widget.attrs |= {"inputmode": "numeric", "autofocus": True}


class SecondFactorForm(CodeFieldInOurWords, AuthenticateForm):
    """The code at sign-in."""


class SecondFactorOnceMoreForm(CodeFieldInOurWords, CodeOnceMoreForm):
    """The code once more before something that protects the account is changed."""


class AuthenticatorAppForm(CodeFieldInOurWords, ActivateTOTPForm):
    """The first code of a new authenticator app."""


class PasswordOnceMoreForm(ReauthenticateForm):
    """One's password once more before something that protects the account is changed."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["password"].widget.attrs.pop("placeholder", None)
        self.fields["password"].widget.attrs["autofocus"] = True
