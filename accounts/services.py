"""Everything that changes people: the first person, new people, one-time links, roles, sessions."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.db import IntegrityError, transaction

from accounts import secrets_shown_once
from accounts.models import OneTimeLink, SetupCode, User
from accounts.security_log import note

LINK_LIFETIME = timedelta(hours=72)
WRONG_CODES_ALLOWED = 10


@dataclass(frozen=True)
class Refused:
    """Nothing was changed; `message` says why and what to do, `field` names the field it belongs to."""

    message: str
    field: str = ""


@dataclass(frozen=True)
class IssuedLink:
    """A one-time link just made; `secret` is shown now and never again."""

    secret: str
    purpose: str
    expires_at: datetime


def setup_code(at: datetime) -> str | None:
    """A fresh set-up code for the first run, replacing any earlier one; None once a person exists."""
    with transaction.atomic():
        if User.objects.exists():
            return None
        code = secrets_shown_once.new_code()
        SetupCode.objects.update_or_create(
            only_row=True,
            defaults={
                "digest": secrets_shown_once.digest(secrets_shown_once.plain_code(code)),
                "made_at": at,
                "wrong_tries": 0,
            },
        )
    return code


def check_code(code: str) -> Refused | None:
    """Why a typed set-up code does not open the first run, None if it does; a wrong one is counted."""
    with transaction.atomic():
        stored = SetupCode.objects.select_for_update().first()
        if User.objects.exists():
            return Refused("Somebody has just been entered as the first person. Sign in, or ask that person.")
        if stored is None:
            return Refused("No set-up code is waiting. Start the app again; it prints one.", "code")
        if stored.wrong_tries >= WRONG_CODES_ALLOWED:
            return Refused("Too many wrong codes. Start the app again; it prints a new set-up code.", "code")
        typed = secrets_shown_once.digest(secrets_shown_once.plain_code(code))
        if secrets_shown_once.same(typed, stored.digest):
            return None
        stored.wrong_tries += 1
        stored.save(update_fields=["wrong_tries"])
    note("set-up code refused")
    return Refused(
        "This is not the set-up code. It is printed where the app was started, "
        "twelve letters and digits in three groups.",
        "code",
    )


def begin(code: str, name: str, email: str, password: str) -> User | Refused:
    """Make the first person, an administrator, if the set-up code is right and nobody exists yet.

    The set-up code's row is locked, so of two people who send the right code at once one wins.
    """
    with transaction.atomic():
        refused = check_code(code)
        if refused is not None:
            return refused
        person = User.objects.create_user(email, password, name=name.strip(), administrator=True)
        SetupCode.objects.all().delete()
    note("first person made", person)
    return person


def add_person(by: User | None, name: str, email: str, *, administrator: bool = False) -> User | Refused:
    """Enter a person who cannot sign in before using a one-time link."""
    try:
        with transaction.atomic():
            person = User.objects.create_user(email, None, name=name.strip(), administrator=administrator)
    except IntegrityError:
        return Refused("A person with this e-mail address is already entered.", "email")
    note("person added", person, by)
    return person


def rename(person: User, name: str) -> None:
    """Change a person's own name."""
    person.name = name.strip()
    person.save(update_fields=["name"])


def correct_person(by: User, person: User, name: str, email: str) -> Refused | None:
    """Change name and e-mail address; the old address stops working for signing in."""
    try:
        with transaction.atomic():
            person.name = name.strip()
            person.email = email.strip().lower()
            person.save(update_fields=["name", "email"])
            EmailAddress.objects.filter(user=person).delete()
    except IntegrityError:
        person.refresh_from_db()
        return Refused("A person with this e-mail address is already entered.", "email")
    note("person corrected", person, by)
    return None


def issue_link(by: User, person: User, at: datetime) -> IssuedLink | Refused:
    """Make a one-time link for choosing a password; earlier unused links of the person are withdrawn."""
    if not person.is_active:
        return Refused("This person is deactivated. Reactivate first.")
    secret = secrets_shown_once.new_link_secret()
    purpose = OneTimeLink.Purpose.RESET if person.has_usable_password() else OneTimeLink.Purpose.WELCOME
    with transaction.atomic():
        User.objects.select_for_update().get(pk=person.pk)
        _withdraw_links(person, at)
        OneTimeLink.objects.create(
            person=person,
            purpose=purpose,
            digest=secrets_shown_once.digest(secret),
            made_by=by,
            made_at=at,
            expires_at=at + LINK_LIFETIME,
        )
    note("one-time link made", person, by)
    return IssuedLink(secret, purpose.value, at + LINK_LIFETIME)


def use_link(secret: str, password: str, at: datetime) -> User | None:
    """Set the password a one-time link is for and end the person's sessions; None if it no longer works.

    The sessions end because their fingerprint holds the password. The second factor is left as it is and is asked for at the next sign-in.
    """
    with transaction.atomic():
        link = (
            OneTimeLink.objects.select_for_update().filter(digest=secrets_shown_once.digest(secret)).first()
        )
        if link is None or link.used_at or link.withdrawn_at or link.expires_at <= at:
            note("one-time link refused")
            return None
        person = User.objects.select_for_update().get(pk=link.person_id)
        if not person.is_active:
            note("one-time link refused", person)
            return None
        link.used_at = at
        link.save(update_fields=["used_at"])
        person.set_password(password)
        person.save(update_fields=["password"])
    note("password set by one-time link", person)
    return person


def end_sessions(person: User) -> None:
    """End every session of a person; the caller renews the one that shall stay."""
    person.session_round += 1
    person.save(update_fields=["session_round"])
    note("sessions ended", person)


def deactivate(by: User, person: User, at: datetime) -> Refused | None:
    """Shut a person out at once: sessions end, links are withdrawn; nothing of theirs is deleted."""
    if by.pk == person.pk:
        return Refused("You cannot deactivate yourself. Another administrator can.")
    with transaction.atomic():
        if person.administrator and not _another_administrator(person):
            return Refused("This is the last active administrator. Make somebody else administrator first.")
        _withdraw_links(person, at)
        person.is_active = False
        person.session_round += 1
        person.save(update_fields=["is_active", "session_round"])
    note("person deactivated", person, by)
    return None


def reactivate(by: User, person: User) -> None:
    """Let a deactivated person sign in again with the password they had."""
    person.is_active = True
    person.save(update_fields=["is_active"])
    note("person reactivated", person, by)


def make_administrator(by: User, person: User) -> Refused | None:
    """Let a person manage accounts; it shows them nobody's records."""
    if not person.is_active:
        return Refused("This person is deactivated. Reactivate first.")
    person.administrator = True
    person.save(update_fields=["administrator"])
    note("administrator made", person, by)
    return None


def unmake_administrator(by: User, person: User) -> Refused | None:
    """Take the managing of accounts from a person, unless nobody would be left to do it."""
    with transaction.atomic():
        if not _another_administrator(person):
            return Refused("This is the last active administrator. Make somebody else administrator first.")
        person.administrator = False
        person.save(update_fields=["administrator"])
    note("administrator unmade", person, by)
    return None


def remove_second_factor(by: User, person: User) -> int:
    """Remove all second factors of a person (lost telephone) and end the sessions; how many were removed."""
    with transaction.atomic():
        removed = int(Authenticator.objects.filter(user=person).delete()[0])
        person.session_round += 1
        person.save(update_fields=["session_round"])
    note("second factor removed", person, by)
    return removed


def _withdraw_links(person: User, at: datetime) -> None:
    OneTimeLink.objects.filter(person=person, used_at=None, withdrawn_at=None).update(withdrawn_at=at)


def _another_administrator(person: User) -> bool:
    """Whether an active administrator other than this person exists.

    All administrators' rows are locked, so two cannot unmake each other at the same moment.
    """
    active = User.objects.select_for_update().filter(administrator=True, is_active=True).order_by("pk")
    return any(other.pk != person.pk for other in active)
