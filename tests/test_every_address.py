"""Every address, method and role: nobody reaches what belongs to somebody else.

Walks the URL configuration; tests/addresses.py says what stands in the addresses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from django.apps import apps
from django.http import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.urls.resolvers import RoutePattern

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
    made: dict[tuple[int, str], str] = field(default_factory=dict)

    def text(self, address: Address, name: str, who: User) -> str:
        entry = entry_for(address, name)
        key = (who.pk, name)
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


def entry_for(address: Address, name: str) -> Argument:
    entry = argument(address.name, name)
    assert entry, f"{address.name} has the argument <{name}>: say in tests/addresses.py what stands there"
    return entry


def belongs_to_somebody(address: Address) -> bool:
    return any(not entry_for(address, name).shared for name in address.arguments)


@pytest.fixture
def world(db: None) -> World:
    cast = the_cast()
    for who in (cast.owner, cast.another, cast.administrator):
        with_authenticator_app(who)
    return World(cast)


def asks_for_sign_in(answer: HttpResponseBase) -> bool:
    return answer.status_code == 302 and answer.headers["Location"].startswith(SIGN_IN)


def rows() -> dict[str, list[tuple[object, ...]]]:
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


@every_address
def test_signed_out_and_deactivated_people_are_asked_to_sign_in(address: Address, world: World) -> None:
    path = world.path(address, world.cast.owner)
    for browser in (Client(), signed_in(world.cast.deactivated)):
        for method in ("get", "post", "options", *OTHER_METHODS):
            answer = getattr(browser, method)(path)
            if address.name in OPEN_TO_EVERYBODY:
                assert answer.status_code < 500, (method, answer)
                continue
            assert asks_for_sign_in(answer), (method, answer)
            for headers in SCRIPTS:
                assert getattr(browser, method)(path, headers=headers).status_code == 401, (method, headers)


@every_address
def test_ones_own_is_reached_and_reading_changes_nothing(address: Address, world: World) -> None:
    who = world.cast.administrator if address.name in ADMINISTRATORS_ONLY else world.cast.owner
    path = world.path(address, who)
    browser = signed_in_and_confirmed(who)
    before = rows()
    answer = browser.get(path)
    assert answer.status_code in (200, 302, 405), answer
    assert address.name in OPEN_TO_EVERYBODY or not asks_for_sign_in(answer)
    if not answer.streaming:
        assert b'href=""' not in answer.content, "a link to nowhere"
    for method in ("head", "options"):
        assert getattr(browser, method)(path).status_code < 500
    if address.name not in READING_MAY_WRITE:
        assert rows() == before


@every_address
def test_sending_without_a_token_is_refused(address: Address, world: World) -> None:
    who = world.cast.administrator if address.name in ADMINISTRATORS_ONLY else world.cast.owner
    path = world.path(address, who)
    browser = signed_in(who, enforce_csrf_checks=True)
    before = rows()
    assert browser.post(path, {"name": "forged"}).status_code == 403
    assert rows() == before


@every_address
def test_no_method_meets_a_fault_when_nothing_is_sent(address: Address, world: World) -> None:
    who = world.cast.administrator if address.name in ADMINISTRATORS_ONLY else world.cast.owner
    for method in ("put", "patch", "delete", "post"):
        path = world.path(address, who)
        browser = signed_in_and_confirmed(who)
        answer = getattr(browser, method)(path)
        assert answer.status_code < 500, (method, answer)


@every_address
def test_what_belongs_to_somebody_else_does_not_exist(address: Address, world: World) -> None:
    cast = world.cast
    path = world.path(address, cast.owner)
    if address.name in ADMINISTRATORS_ONLY:
        strangers = [cast.owner, cast.another]
    elif belongs_to_somebody(address):
        strangers = [cast.another, cast.administrator]
    else:
        return
    browsers = [(stranger.name, signed_in_and_confirmed(stranger)) for stranger in strangers]
    before = rows()
    for name, browser in browsers:
        for method in ("get", "post", *OTHER_METHODS):
            answer = getattr(browser, method)(path)
            assert answer.status_code in (404, 405), (name, method, answer)
        statuses = {browser.get(path).status_code, browser.post(path).status_code}
        assert 404 in statuses, "every method is refused before it is looked whose it is"
        assert 403 not in statuses
    assert rows() == before


@every_address
def test_what_does_not_exist_is_not_found(address: Address, world: World) -> None:
    who = world.cast.administrator if address.name in ADMINISTRATORS_ONLY else world.cast.owner
    browser = signed_in_and_confirmed(who)
    for path in world.paths_to_nothing(address, who):
        statuses = {browser.get(path).status_code, browser.post(path).status_code}
        assert statuses <= {404, 405}, (path, statuses)
        assert 404 in statuses
