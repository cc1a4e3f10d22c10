"""Health checks tell a working server and worker from those that are gone, silent or without their database."""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest

from jobs import pulse
from running import signs_of_life


@contextmanager
def answering(status: int) -> Iterator[tuple[int, list[str]]]:
    """A server that answers everything with this status: its port, and the paths it was asked for."""
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(status)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, format: str, *arguments: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield server.server_port, asked
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def test_a_server_that_answers_is_well() -> None:
    with answering(200) as (port, asked):
        assert signs_of_life.main(["web", str(port)]) == ""
    assert asked == ["/alive/"]


@pytest.mark.parametrize("status", [503, 500, 404, 301])
def test_a_server_that_answers_otherwise_is_not(status: int) -> None:
    with answering(status) as (port, _):
        assert signs_of_life.main(["web", str(port)]) == f"The server answers with status {status}."


def test_a_server_that_does_not_answer_is_told_with_its_port() -> None:
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        port = closed.getsockname()[1]
        assert signs_of_life.main(["web", str(port)]).startswith(f"No answer at 127.0.0.1:{port}: ")


def test_a_worker_is_well_while_it_gives_signs_and_not_before_or_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FOLIOWRIGHT_DATA", str(tmp_path))
    assert "has given a sign for 60 seconds" in signs_of_life.main(["worker"])
    pulse.beat(tmp_path)
    assert signs_of_life.main(["worker"]) == ""
    long_ago = time.time() - pulse.SILENT_SECONDS - 1
    os.utime(pulse.file(tmp_path), (long_ago, long_ago))
    assert signs_of_life.main(["worker"]) != ""
    pulse.beat(tmp_path)
    assert signs_of_life.main(["worker"]) == ""
    pulse.end(tmp_path)
    assert signs_of_life.main(["worker"]) != ""


def test_a_worker_of_another_machine_does_not_stand_for_one_of_this(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FOLIOWRIGHT_DATA", str(tmp_path))
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr(socket, "gethostname", lambda: "elsewhere")
        pulse.beat(tmp_path)
    assert signs_of_life.main(["worker"]) != ""


def test_machines_that_are_long_gone_leave_nothing(tmp_path: Path) -> None:
    gone, silent = tmp_path / "worker-alive-gone", tmp_path / "worker-alive-silent"
    for file, seconds in ((gone, pulse.FORGOTTEN_SECONDS + 1), (silent, pulse.SILENT_SECONDS + 1)):
        file.touch()
        os.utime(file, (time.time() - seconds, time.time() - seconds))
    pulse.beat(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([silent, pulse.file(tmp_path)])


@pytest.mark.parametrize("arguments", [[], ["web"], ["web", "http"], ["worker", "1"], ["database"]])
def test_anything_else_is_answered_with_what_can_be_looked_at(arguments: list[str]) -> None:
    assert signs_of_life.main(arguments) == "Say what to look at: web PORT, or worker."
