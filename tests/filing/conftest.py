from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.db import connection

from tests.filing.machine import PHRASE, Machine
from tests.filing.warm_manage import WarmManage


@pytest.fixture
def live(settings: Any, tmp_path: Path) -> Path:
    """The data folder of the live app, with its key."""
    settings.DATA_DIR = tmp_path / "live"
    settings.DATA_DIR.mkdir()
    (settings.DATA_DIR / "secret-key").write_text("key of the live app\n")
    found: Path = settings.DATA_DIR
    return found


@pytest.fixture(scope="session")
def warm_manage(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WarmManage]:
    warm = WarmManage(tmp_path_factory.mktemp("commands"))
    yield warm
    warm.stop()


@pytest.fixture
def machine(tmp_path: Path, warm_manage: WarmManage) -> Iterator[Machine]:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    environment = {key: text for key, text in os.environ.items() if not key.startswith("FOLIOWRIGHT_")}
    environment |= {"FOLIOWRIGHT_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "tests.settings"}
    if connection.vendor == "sqlite":
        yield Machine(folder, environment, warm_manage)
        return
    name = f"restored_{uuid.uuid4().hex}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name} TEMPLATE template0")
    here = connection.settings_dict
    address = f"postgresql://{here['USER']}@/{name}?host={quote(str(here['HOST']), safe='')}"
    yield Machine(folder, environment | {"FOLIOWRIGHT_DATABASE": address}, warm_manage)
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def key_file(tmp_path: Path) -> Path:
    file = tmp_path / "phrase"
    file.write_text(PHRASE + "\n")
    return file
