"""Reading people for the pages: plain frozen rows, searched, sorted and paged."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from allauth.mfa.models import Authenticator
from django.core.paginator import Page, Paginator
from django.db.models import Exists, F, OuterRef, Q, QuerySet

from accounts import secrets_shown_once
from accounts.models import OneTimeLink, User

PEOPLE_A_PAGE = 50
SORTS = {
    "name": "name",
    "email": "email",
    "role": "administrator",
    "state": "is_active",
    "signed_in": "last_login",
}
DEFAULT_SORT = "name"
SECOND_FACTORS = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)


@dataclass(frozen=True)
class PersonRow:
    """One person as an administrator sees them; nothing about records."""

    public_id: uuid.UUID
    name: str
    email: str
    administrator: bool
    active: bool
    has_password: bool
    second_factor: bool
    last_signed_in: datetime | None
    link_until: datetime | None
    myself: bool

    @property
    def state(self) -> str:
        """The state in words: active, invited, link expired, deactivated."""
        if not self.active:
            return "deactivated"
        if self.has_password:
            return "active"
        return "invited" if self.link_until else "no link"


@dataclass(frozen=True)
class PeoplePage:
    """One page of people with what was searched and how it is sorted."""

    page: Page[PersonRow]
    search: str
    sort: str


@dataclass(frozen=True)
class OwnAccount:
    """What the own account page shows."""

    name: str
    email: str
    administrator: bool
    second_factor: bool


@dataclass(frozen=True)
class OpenLink:
    """A one-time link that still works."""

    person_name: str
    email: str
    first_password: bool
    expires_at: datetime


def nobody_yet() -> bool:
    """Whether this is the first run."""
    return not User.objects.exists()


def people_page(viewer: User, search: str, sort: str, page_number: str, at: datetime) -> PeoplePage:
    """People whose name or e-mail contains the searched text, sorted, one page of them."""
    wanted = sort if sort.removeprefix("-") in SORTS else DEFAULT_SORT
    people = _with_marks(User.objects.all(), at)
    # PostgreSQL refuses a whole query over NUL.
    for word in search.replace("\0", " ").split():
        people = people.filter(Q(name__icontains=word) | Q(email__icontains=word))
    column = F(SORTS[wanted.removeprefix("-")])
    order = column.desc(nulls_last=True) if wanted.startswith("-") else column.asc(nulls_last=True)
    found = Paginator(people.order_by(order, "name", "pk"), PEOPLE_A_PAGE)
    page = found.get_page(page_number)
    rows = Page([_row(person, viewer) for person in page], page.number, cast("Paginator[PersonRow]", found))
    return PeoplePage(rows, search, wanted)


def person_row(viewer: User, public_id: uuid.UUID, at: datetime) -> PersonRow | None:
    """One person as an administrator sees them, or None."""
    person = _with_marks(User.objects.filter(public_id=public_id), at).first()
    return _row(person, viewer) if person else None


def person(public_id: uuid.UUID) -> User | None:
    """The stored person behind a public id, for handing to a service."""
    return User.objects.filter(public_id=public_id).first()


def own_account(person: User) -> OwnAccount:
    """A person's own account as its page shows it."""
    return OwnAccount(
        person.name,
        person.email,
        person.administrator,
        Authenticator.objects.filter(user=person, type__in=SECOND_FACTORS).exists(),
    )


def open_link(secret: str, at: datetime) -> OpenLink | None:
    """The one-time link with this secret if it is unused, not withdrawn, not expired, its person active."""
    link = (
        OneTimeLink.objects.select_related("person")
        .filter(
            digest=secrets_shown_once.digest(secret),
            used_at=None,
            withdrawn_at=None,
            expires_at__gt=at,
            person__is_active=True,
        )
        .first()
    )
    if link is None:
        return None
    return OpenLink(
        link.person.name, link.person.email, link.purpose == OneTimeLink.Purpose.WELCOME, link.expires_at
    )


def _with_marks(people: QuerySet[User], at: datetime) -> QuerySet[User]:
    open_links = OneTimeLink.objects.filter(
        person=OuterRef("pk"), used_at=None, withdrawn_at=None, expires_at__gt=at
    ).order_by("-made_at")
    return people.annotate(
        has_second_factor=Exists(Authenticator.objects.filter(user=OuterRef("pk"), type__in=SECOND_FACTORS)),
        link_until=open_links.values("expires_at")[:1],
    )


def _row(person: User, viewer: User) -> PersonRow:
    return PersonRow(
        public_id=person.public_id,
        name=person.name,
        email=person.email,
        administrator=person.administrator,
        active=person.is_active,
        has_password=person.has_usable_password(),
        second_factor=getattr(person, "has_second_factor"),  # noqa: B009
        last_signed_in=person.last_login,
        link_until=getattr(person, "link_until"),  # noqa: B009
        myself=person.pk == viewer.pk,
    )
