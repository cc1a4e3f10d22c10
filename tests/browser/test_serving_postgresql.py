"""`./foliowright serve` with PostgreSQL, named by one environment variable: everything is there after a new start."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.serving import (
    OVERJET,
    Served,
    come_in,
    measure_overjet,
    print_case,
    start,
    start_case,
    stop,
)
from tests.postgresql import temporary_cluster
from tests.prepared import furnish


@pytest.fixture
def database() -> Iterator[str]:
    with temporary_cluster() as address:
        yield address


@pytest.fixture
def begun(database: str, tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], Served]]:
    process, served = start(furnish(tmp_path / "data", database=False), FOLIOWRIGHT_DATABASE=database)
    yield process, served
    if process.poll() is None:
        stop(process)


@pytest.fixture
def served(begun: tuple[subprocess.Popen[str], Served]) -> Served:
    return begun[1]


def test_a_case_measured_and_printed_on_postgresql_is_there_after_a_new_start(
    page: Page, begun: tuple[subprocess.Popen[str], Served], database: str
) -> None:
    process, first = begun
    come_in(page, first)
    case = start_case(page)
    sheet = measure_overjet(page, case, "6.5")
    printed = print_case(page, case)
    assert stop(process) == 0
    assert not list(first.data.glob("*.sqlite3*"))
    errors = first.data.parent / "data-errors.txt"
    said = errors.read_text()

    process, second = start(first.data, FOLIOWRIGHT_DATABASE=database)
    try:
        assert second.setup_code == "", "somebody is there"
        page.goto(sheet.replace(first.address, second.address))
        expect(page.locator(OVERJET)).to_have_value("6.5")
        answer = page.request.get(printed.replace(first.address, second.address))
        assert answer.body().startswith(b"%PDF-")
    finally:
        assert stop(process) == 0
    for log in (said, errors.read_text()):
        assert "ERROR" not in log, log
        assert "Traceback" not in log, log
