"""Every address, method and role: nobody reaches what belongs to somebody else.

Walks the URL configuration; tests/addresses.py says what stands in the addresses.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from copy import deepcopy
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.http import HttpResponseBase
from django.test import Client, override_settings
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.urls.resolvers import RoutePattern
from pytest_django.plugin import DjangoDbBlocker

from accounts.models import User
from tests.addresses import ADMINISTRATORS_ONLY, OPEN_TO_EVERYBODY, READING_MAY_WRITE, Argument, argument
from tests.factories.accounts import (
    Cast,
    signed_in,
    signed_in_and_confirmed,
    the_cast,
    with_authenticator_app,
)

pytestmark = pytest.mark.any_database
SIGN_IN = "/accounts/login/"
SCRIPTS = ({"HX-Request": "true"}, {"X-Requested-With": "fetch"})
OTHER_METHODS = ("put", "patch", "delete", "head")
READING = (
    r'\s*(SELECT|SAVEPOINT|RELEASE|ROLLBACK TO)\b|(INSERT INTO|UPDATE|DELETE FROM) "(django_session|cache)"'
)
"""Statements that change no row but those of sessions, and of the cache, which counts tries."""
Rows = dict[str, list[tuple[object, ...]]]


@dataclass(frozen=True)
class Address:
    """One entry of the URL configuration."""

    name: str
    route: str
    arguments: tuple[str, ...]


def walk(
    patterns: list[URLPattern | URLResolver], route: str = "", namespaces: tuple[str, ...] = ()
) -> Iterator[Address]:
    for entry in patterns:
        here = route + str(entry.pattern)
        if isinstance(entry, URLResolver):
            deeper = (*namespaces, entry.namespace) if entry.namespace else namespaces
            yield from walk(entry.url_patterns, here, deeper)
            continue
        assert isinstance(entry.pattern, RoutePattern), f"{here}: written as a regular expression; use path()"
        assert entry.name, f"{here}: an address without a name"
        yield Address(":".join((*namespaces, entry.name)), here, _arguments(here))


def _arguments(route: str) -> tuple[str, ...]:
    names = (part.partition(">")[0].rpartition(":")[2] for part in route.split("<")[1:])
    return tuple(names)


ADDRESSES = tuple(walk(get_resolver().url_patterns))
every_address = pytest.mark.parametrize("address", ADDRESSES, ids=lambda address: address.name)


@dataclass
class World:
    """The cast, and what belongs to whom, made when first asked for."""

    cast: Cast
    made: dict[tuple[int, Argument], str] = field(default_factory=dict)

    def text(self, address: Address, name: str, who: User) -> str:
        entry = entry_for(address, name)
        key = (who.pk, entry)
        if key not in self.made:
            self.made[key] = entry.belonging_to(who)
        return self.made[key]

    def path(self, address: Address, who: User) -> str:
        """The address with what belongs to this person in it."""
        return reverse(
            address.name, kwargs={name: self.text(address, name, who) for name in address.arguments}
        )

    def paths_to_nothing(self, address: Address, who: User) -> Iterator[str]:
        """The address with each argument in turn naming nothing."""
        for wrong in address.arguments:
            yield reverse(
                address.name,
                kwargs={
                    name: entry_for(address, name).nowhere if name == wrong else self.text(address, name, who)
                    for name in address.arguments
                },
            )


@dataclass
class Furnished(World):
    """A world in which everybody has everything and is signed in, and the rows that stand in it."""

    sessions: dict[str, SimpleCookie] = field(default_factory=dict)
    before: Rows = field(default_factory=dict)

    def furnish(self) -> None:
        for who in (self.cast.owner, self.cast.another, self.cast.administrator):
            with_authenticator_app(who)
        for who in (self.cast.owner, self.cast.administrator):
            for address in ADDRESSES:
                for name in address.arguments:
                    if argument(address.name, name):  # else the tests of this address say that it is unknown
                        self.text(address, name, who)
        for who in (self.cast.owner, self.cast.another, self.cast.administrator):
            self.sessions[who.name] = signed_in_and_confirmed(who).cookies
        self.sessions[self.cast.deactivated.name] = signed_in(self.cast.deactivated).cookies
        self.before = rows()

    def browser(self, who: User, **options: Any) -> Client:
        """A browser in which this person is signed in and has confirmed it."""
        client = Client(**options)
        client.cookies = deepcopy(self.sessions[who.name])
        return client

    @contextmanager
    def unchanged(self) -> Iterator[None]:
        """Nothing done inside changes a row; they are compared as soon as a statement could have."""
        written: list[str] = []

        def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
            if not re.match(READING, sql, re.I):
                written.append(sql)
            return execute(sql, params, many, context)

        with connection.execute_wrapper(note):
            yield
        if written:
            assert rows() == self.before, written


def entry_for(address: Address, name: str) -> Argument:
    entry = argument(address.name, name)
    assert entry, f"{address.name} has the argument <{name}>: say in tests/addresses.py what stands there"
    return entry


def belongs_to_somebody(address: Address) -> bool:
    return any(not entry_for(address, name).shared for name in address.arguments)


@pytest.fixture(scope="module")
def _furnished(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Furnished, Path]]:
    """The world in the database until the last test of the file is done; what each writes is taken back."""
    folder = tmp_path_factory.mktemp("world")
    with django_db_blocker.unblock(), override_settings(DATA_DIR=folder), transaction.atomic():
        made = Furnished(the_cast())
        made.furnish()
        yield made, folder
        transaction.set_rollback(True)


@pytest.fixture
def world(_furnished: tuple[Furnished, Path], db: None, settings: Any) -> Furnished:
    made, settings.DATA_DIR = _furnished
    return made


def asks_for_sign_in(answer: HttpResponseBase) -> bool:
    return answer.status_code == 302 and answer.headers["Location"].startswith(SIGN_IN)


def rows() -> Rows:
    """Every stored row but sessions."""
    return {
        model._meta.label: sorted(map(tuple, model._default_manager.values_list()), key=repr)
        for model in apps.get_models()
        if model._meta.label != "sessions.Session"
    }


@every_address
def test_every_argument_is_known(address: Address) -> None:
    for name in address.arguments:
        entry_for(address, name)


def test_the_lists_of_exceptions_name_addresses_that_exist() -> None:
    names = {address.name for address in ADDRESSES}
    assert names >= OPEN_TO_EVERYBODY
    assert names >= ADMINISTRATORS_ONLY
    assert set(READING_MAY_WRITE) <= names


def test_a_changed_row_is_noticed(world: Furnished) -> None:
    with world.unchanged():
        assert User.objects.count()
    with pytest.raises(AssertionError), world.unchanged():
        User.objects.filter(pk=world.cast.owner.pk).update(name="Somebody else")


@every_address
def test_signed_out_and_deactivated_people_are_asked_to_sign_in(address: Address, world: Furnished) -> None:
    path = world.path(address, world.cast.owner)
    for browser in (Client(), world.browser(world.cast.deactivated)):
        for method in ("get", "post", "options", *OTHER_METHODS):
            answer = getattr(browser, method)(path)
            if address.name in OPEN_TO_EVERYBODY:
                assert answer.status_code < 500, (method, answer)
                continue
            assert asks_for_sign_in(answer), (method, answer)
            for headers in SCRIPTS:
                assert getattr(browser, method)(path, headers=headers).status_code == 401, (method, headers)


def one_to_whom_it_exists(address: Address, world: Furnished) -> User:
    return world.cast.administrator if address.name in ADMINISTRATORS_ONLY else world.cast.owner


@every_address
def test_ones_own_is_reached_and_reading_changes_nothing(address: Address, world: Furnished) -> None:
    who = one_to_whom_it_exists(address, world)
    path = world.path(address, who)
    browser = world.browser(who)
    with nullcontext() if address.name in READING_MAY_WRITE else world.unchanged():
        answer = browser.get(path)
        assert answer.status_code in (200, 302, 405), answer
        assert address.name in OPEN_TO_EVERYBODY or not asks_for_sign_in(answer)
        if not answer.streaming:
            assert b'href=""' not in answer.content, "a link to nowhere"
        for method in ("head", "options"):
            assert getattr(browser, method)(path).status_code < 500


@every_address
def test_sending_without_a_token_is_refused(address: Address, world: Furnished) -> None:
    who = one_to_whom_it_exists(address, world)
    with world.unchanged():
        browser = world.browser(who, enforce_csrf_checks=True)
        assert browser.post(world.path(address, who), {"name": "forged"}).status_code == 403


@every_address
def test_no_method_meets_a_fault_when_nothing_is_sent(address: Address, world: Furnished) -> None:
    who = one_to_whom_it_exists(address, world)
    path = world.path(address, who)
    for method in ("put", "patch", "delete", "post"):
        with transaction.atomic():
            answer = getattr(world.browser(who), method)(path)
            transaction.set_rollback(True)
        assert answer.status_code < 500, (method, answer)


@every_address
def test_what_belongs_to_somebody_else_does_not_exist(address: Address, world: Furnished) -> None:
    cast = world.cast
    if address.name in ADMINISTRATORS_ONLY:
        strangers = [cast.owner, cast.another]
    elif belongs_to_somebody(address):
        strangers = [cast.another, cast.administrator]
    else:
        return
    path = world.path(address, cast.owner)
    with world.unchanged():
        for stranger in strangers:
            browser = world.browser(stranger)
            statuses = {
                method: getattr(browser, method)(path).status_code
                for method in ("get", "post", *OTHER_METHODS)
            }
            assert set(statuses.values()) <= {404, 405}, (stranger.name, statuses)
            assert 404 in (statuses["get"], statuses["post"]), (
                "every method is refused before it is looked whose it is"
            )


@every_address
def test_what_does_not_exist_is_not_found(address: Address, world: Furnished) -> None:
    who = one_to_whom_it_exists(address, world)
    browser = world.browser(who)
    for path in world.paths_to_nothing(address, who):
        statuses = {browser.get(path).status_code, browser.post(path).status_code}
        assert statuses <= {404, 405}, (path, statuses)
        assert 404 in statuses
