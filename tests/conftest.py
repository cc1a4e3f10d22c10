"""What every test may use. It must load where Django cannot be imported, for the pure tests."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.press.warm_child import WarmPress

# How long an example takes says more about the machine than about the code.
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line(
        "markers", "any_database: needs rows, but says nothing about the database they lie in"
    )
    config.addinivalue_line("markers", "pressed: reads the print, in a file that else prints empty pages")
    config.addinivalue_line(
        "markers", "cold_press: prints by a child started as the app starts it, not forked from a loaded one"
    )


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--second-database",
        action="store_true",
        help="leave out tests that already ran on another database and can find nothing new on this one",
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--second-database"):
        return
    config.hook.pytest_deselected(items=[item for item in items if not depends_on_database(item)])
    items[:] = [item for item in items if depends_on_database(item)]


def depends_on_database(item: pytest.Item) -> bool:
    """Whether the test asks for a database, by mark or by fixture, and is not marked to do with any."""
    fixtures = {"db", "transactional_db", "django_db_setup"} & set(getattr(item, "fixturenames", ()))
    asks = bool(fixtures) or item.get_closest_marker("django_db") is not None
    return asks and item.get_closest_marker("any_database") is None


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Each run and each worker has a migrated database of its own; SQLite lies in a file, with the shipped options."""
    from django.db import connections

    from tests import prepared

    connection: Any = connections["default"]
    if connection.vendor == "sqlite":
        file = tmp_path_factory.mktemp("database") / "test.sqlite3"
        shutil.copyfile(prepared.migrated_file(), file)
        connection.settings_dict["TEST"]["NAME"] = str(file)
    else:
        prepared.copy_in_cluster(os.environ["FOLIOWRIGHT_DATABASE"], connection.creation._get_test_db_name())


@pytest.fixture(scope="session")
def django_db_keepdb() -> bool:
    """The copy is taken as it is."""
    return True


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None) -> None:
    """The database of the tests, which is emptied in a quick way after those that commit."""
    from tests.emptied import empty_quickly

    empty_quickly()


@pytest.fixture(scope="session")
def _warm_press(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WarmPress]:
    from tests.press.warm_child import WarmPress

    press = WarmPress(tmp_path_factory.mktemp("press"))
    yield press
    press.stop()


@pytest.fixture(autouse=True)
def _prints_from_a_loaded_child(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, _warm_press: WarmPress
) -> None:
    """Prints start in a fork of one loaded child for each worker, which saves a second of every print."""
    if not request.node.get_closest_marker("cold_press"):
        monkeypatch.setattr("press.services._start", _warm_press.start)


@pytest.fixture(autouse=True)
def _data_folder_of_its_own(request: pytest.FixtureRequest) -> None:
    """Stored files of a test that uses the database lie in a folder of its own, never in the person's data."""
    if request.node.get_closest_marker("django_db") or {"db", "transactional_db"} & set(request.fixturenames):
        request.getfixturevalue("settings").DATA_DIR = request.getfixturevalue("tmp_path") / "data"


@pytest.fixture(autouse=True)
def _cache_of_its_own(request: pytest.FixtureRequest) -> Iterator[None]:
    """Sign-in limits are counted in the cache; a test that commits must not use up another's tries.

    Tests inside a transaction need nothing: what they cached is rolled back.
    """
    yield
    mark = request.node.get_closest_marker("django_db")
    commits = "transactional_db" in request.fixturenames or (mark and mark.kwargs.get("transaction"))
    if commits:
        from django.core.cache import cache

        with request.getfixturevalue("django_db_blocker").unblock():
            cache.clear()
