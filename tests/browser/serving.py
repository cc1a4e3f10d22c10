"""Starts and stops the real app for browser journeys, and takes the first steps in it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urljoin

from playwright.sync_api import Page

PROJECT = Path(__file__).resolve().parents[2]
FIRST_PORT = 8150
PASSWORD = "caliper under lamp 7"
EMAIL = "first@clinic.example"
OVERJET = "#f-overjet-13-1"


@dataclass(frozen=True)
class Served:
    """A running app: where it answers, its data folder, the set-up code it printed (empty if none), and who uses it."""

    address: str
    data: Path
    setup_code: str
    email: str = EMAIL
    name: str = "Ada First"


def start(
    data: Path, *arguments: str, port: int = FIRST_PORT, **environment: str
) -> tuple[subprocess.Popen[str], Served]:
    """Starts `./foliowright serve` on this data folder and waits until it says where it answers.

    `environment` holds settings beside the data folder, such as FOLIOWRIGHT_DATABASE; the settings of the tests,
    which the environment of a test names, are not those of the app.
    """
    process = subprocess.Popen(
        ["sh", str(PROJECT / "foliowright"), *(arguments or ("serve",)), "--port", str(port)],
        env=environment_of(data, **environment),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=(data.parent / f"{data.name}-errors.txt").open("w"),
        text=True,
        cwd=data.parent,  # it must not matter from where the script is called
    )
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line
        found = re.search(r"answers at (\S+)/ ", line)
        if found:
            code = re.search(r"^Set-up code .*: (\S+)$", said, re.M)
            return process, Served(found.group(1), data, code.group(1) if code else "")
    errors = (data.parent / f"{data.name}-errors.txt").read_text()
    raise AssertionError(f"serve ended with {process.wait()} before it answered:\n{said}\n{errors}")


def environment_of(data: Path, **more: str) -> dict[str, str]:
    """What a program of the app gets: this data folder and `more`, nothing of the settings of the tests."""
    own = ("FOLIOWRIGHT_", "DJANGO_")
    kept = {key: value for key, value in os.environ.items() if not key.startswith(own)}
    return {**kept, **more, "FOLIOWRIGHT_DATA": str(data)}


def stop(process: subprocess.Popen[str]) -> int:
    """Ends what `start` began, by its own process id; the status it ended with."""
    process.send_signal(signal.SIGTERM)
    try:
        return process.wait(20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        raise


def begin_as_first_person(page: Page, served: Served) -> None:
    """Comes in by the set-up code, as the first person does, and ends signed in."""
    page.goto("/first-run/")
    page.get_by_label("Set-up code").fill(served.setup_code)
    page.get_by_label("Your name").fill(served.name)
    page.get_by_label("E-mail address").fill(served.email)
    for field in page.locator("input[type=password]").all():
        field.fill(PASSWORD)
    page.locator("main form button[type=submit]").click()
    page.get_by_role("button", name="Sign out").wait_for()


def submit(page: Page) -> None:
    """Sends the page's form and waits until its answer stands: going elsewhere before would call it off."""
    with page.expect_navigation():
        page.locator("main form button[type=submit]").click()


def sign_in(page: Page, email: str = EMAIL, password: str = PASSWORD) -> None:
    page.goto("/accounts/login/")
    page.get_by_label("E-mail address").fill(email)
    page.get_by_label("Password").fill(password)
    page.get_by_label("Password").press("Enter")
    page.get_by_role("button", name="Sign out", exact=True).wait_for()


def come_in(page: Page, served: Served) -> None:
    """Signed in as the first person, who is entered and given a portfolio when nobody exists yet."""
    page.goto("/first-run/")
    if page.url.endswith("/first-run/"):
        begin_as_first_person(page, served)
        page.goto("/portfolios/new/")
        page.get_by_label("Name").fill("Harbour portfolio")
        submit(page)
        page.get_by_role("heading", name="No case yet").wait_for()
    elif page.get_by_role("button", name="Sign out", exact=True).count() == 0:
        sign_in(page, served.email)


def start_case(page: Page, age: str = "13 y 8 m") -> str:
    """Starts a case from the first page and ends on its own page; the address of that."""
    page.goto("/")
    page.get_by_role("link", name="Start a case").first.click()
    page.locator("#id_age_months").fill(age)
    submit(page)
    page.get_by_role("heading", name="Records and sheets").wait_for()
    return page.url


def measure_overjet(page: Page, case: str, millimetres: str) -> str:
    """Opens the case's sheet, saves one overjet and waits until it is kept; the address of the sheet."""
    page.goto(case)
    page.get_by_role("link", name="Measure").first.click()
    page.locator("[data-measure][data-ready]").wait_for()
    page.locator(OVERJET).fill(millimetres)
    page.locator(OVERJET).press("Enter")
    page.locator('[data-field="overjet-13-1"][data-mark="saved"]').wait_for()
    return page.url


def begin_tracing(page: Page, case: str, radiograph: Path) -> str:
    """Sends a picture into the first records of a case as lateral radiograph and begins its tracing, facing right.

    Ends on the page of the tracing; the address of the picture's own page.
    """
    page.goto(case)
    page.get_by_role("link", name="Pictures", exact=True).first.click()
    page.locator("#add-form[data-ready]").wait_for()
    page.locator("#id_pictures").set_input_files(radiograph)
    card = page.locator(".band-wide [data-picture]").first
    card.locator("select").select_option("lateral")
    card.get_by_role("button", name="Assign").click()
    with page.expect_navigation():
        page.locator("#place-lateral .card-image").click()
    picture = page.url
    page.get_by_role("link", name="Tracing", exact=True).click()
    page.get_by_label("to the right of the picture").check()
    submit(page)
    page.locator("[data-tracing][data-ready]").wait_for()
    return picture


def print_case(page: Page, case: str) -> str:
    """Asks for a print and waits until the worker has made it; the address of the file."""
    page.goto(case)
    page.get_by_role("link", name="Print", exact=True).click()
    page.get_by_role("button", name="Print to PDF").click()
    link = page.get_by_role("link", name="Download")
    link.wait_for()
    return urljoin(page.url, link.get_attribute("href") or "")
