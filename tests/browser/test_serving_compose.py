"""The commands of docker-compose.yml, run here word for word: they start, are healthy, serve, print and end.

What a container would give is given otherwise: folders of the test for /app (with the files that the image holds),
/data and /run/secrets, ports of the test for 8000 and 5432, 127.0.0.1 for the name of the database service. Nothing
else is changed.
"""

from __future__ import annotations

import os
import re
import secrets
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest
from playwright.sync_api import Page, expect

from running.management.commands.serve import listen
from tests.browser.conftest import Complaints
from tests.browser.serving import OVERJET, Served, come_in, measure_overjet, print_case, start_case
from tests.postgresql import newest_binaries, temporary_cluster
from tests.running.compose_file import compose_file, image_environment, lay_out_image

PATIENCE_SECONDS = 120
FIRST_PORT = 8250


def free_port(first: int = FIRST_PORT) -> int:
    with listen(first) as listener:
        return int(listener.getsockname()[1])


class Composed:
    """The services on a data folder and a database cluster of the test."""

    def __init__(self, folder: Path, web_port: int, database_port: int) -> None:
        self.folder = folder
        self.services = compose_file()["services"]
        self.address = f"http://127.0.0.1:{web_port}"
        self.password = secrets.token_hex(16)
        self.app = folder / "app"
        lay_out_image(self.app)
        (folder / "secrets").mkdir()
        (folder / "secrets" / "database-password").write_text(self.password + "\n")
        (folder / "secrets" / "backup-phrase").write_text("alginate tray and wax\n")
        self.words = {
            "/data": str(folder / "data"),
            "8000": str(web_port),
            "--port=5432": f"--port={database_port}",
        }
        self.parts = {
            "/run/secrets/": f"{folder / 'secrets'}/",
            "@database:5432/": f"@127.0.0.1:{database_port}/",
        }
        self.running: dict[str, subprocess.Popen[bytes]] = {}

    def here(self, text: str) -> str:
        """The text with what a container would give replaced."""
        for there, here in self.parts.items():
            text = text.replace(there, here)
        return self.words.get(text, text)

    def environment(self, name: str) -> dict[str, str]:
        own = {key: str(value) for key, value in self.services[name]["environment"].items()}
        image = {} if name == "database" else image_environment()
        path = f"{newest_binaries()}:{image.get('PATH') or os.environ['PATH']}"
        return {key: self.here(value) for key, value in {**image, **own, "PATH": path}.items()}

    def start(self, name: str) -> None:
        log = (self.folder / f"{name}.txt").open("ab")
        command = [self.here(word) for word in self.services[name]["command"]]
        self.running[name] = subprocess.Popen(
            command,
            cwd=self.app,
            env=self.environment(name),
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
        )

    def health(self, name: str) -> int:
        """The status with which the service's health check ends now."""
        kind, *command = self.services[name]["healthcheck"]["test"]
        assert kind == "CMD"
        return self.run_in(name, *command)

    def run_in(self, name: str, *command: str) -> int:
        """The status with which a command ends in the service's container."""
        command = tuple(self.here(word) for word in command)
        done = subprocess.run(command, cwd=self.app, env=self.environment(name), capture_output=True)
        return done.returncode

    def wait_for(self, true: Callable[[], bool], name: str) -> None:
        latest = time.monotonic() + PATIENCE_SECONDS
        while not true():
            assert self.running[name].poll() is None, self.log(name)
            assert time.monotonic() < latest, self.log(name)
            time.sleep(0.2)

    def log(self, name: str) -> str:
        return (self.folder / f"{name}.txt").read_text()

    def stop(self, name: str) -> int:
        """Ends a service as its container would be ended; its status."""
        process = self.running.pop(name)
        process.send_signal(signal.SIGTERM)
        try:
            return process.wait(20)
        finally:
            if process.poll() is None:
                process.kill()
                process.wait()


@pytest.fixture(scope="module")
def composed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Composed]:
    """All three services, each begun when the ones it waits for are healthy."""
    web_port, database_port = free_port(), free_port(FIRST_PORT + 40)
    made = Composed(tmp_path_factory.mktemp("composed"), web_port, database_port)
    with temporary_cluster(database_port) as address:
        asked_for = made.services["database"]["environment"]
        with psycopg.connect(address, autocommit=True) as connection:
            name, user = asked_for["POSTGRES_DB"], asked_for["POSTGRES_USER"]
            connection.execute(f"CREATE ROLE {user} LOGIN PASSWORD '{made.password}'".encode())
            connection.execute(f"CREATE DATABASE {name} OWNER {user}".encode())
        assert made.health("database") == 0
        assert made.health("web") != 0
        made.start("web")
        made.wait_for(lambda: made.health("web") == 0, "web")
        assert made.health("worker") != 0
        made.start("worker")
        made.wait_for(lambda: made.health("worker") == 0, "worker")
        yield made
        for name in list(made.running):
            made.stop(name)
    assert made.health("database") != 0


@pytest.fixture
def served(composed: Composed) -> Served:
    code = re.search(r"^Set-up code .*: (\S+)$", composed.log("web"), re.M)
    assert code
    return Served(composed.address, composed.folder / "data", code.group(1))


def test_the_services_of_the_compose_file_serve_a_case_and_print_it(
    page: Page, served: Served, composed: Composed, complaints: Complaints
) -> None:
    come_in(page, served)
    case = start_case(page)
    sheet = measure_overjet(page, case, "6.5")
    printed = print_case(page, case)
    assert page.request.get(printed).body().startswith(b"%PDF-")
    assert composed.run_in("web", "python", "manage.py", "backup", str(composed.folder / "whole.backup")) == 0

    assert composed.stop("worker") == 0
    assert composed.health("worker") != 0
    assert composed.stop("web") == 0
    assert composed.health("web") != 0
    composed.start("web")
    composed.wait_for(lambda: composed.health("web") == 0, "web")
    page.goto(sheet)
    expect(page.locator(OVERJET)).to_have_value("6.5")
    for name in ("web", "worker"):
        assert "ERROR" not in composed.log(name)
        assert "Traceback" not in composed.log(name)
        assert composed.password not in composed.log(name)
