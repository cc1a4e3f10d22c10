"""From a case to its printed PDF: choose a copy, the worker prints it, fetch it."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, start_case
from tests.press.printed import page_count, words_of

PATIENCE_MS = 120_000


def test_a_case_is_printed_from_its_page(
    page: Page, served: Served, complaints: Complaints, tmp_path: Path
) -> None:
    come_in(page, served)
    start_case(page)
    page.get_by_role("link", name="Print", exact=True).click()
    expect(page.get_by_label("Examiner's copy")).to_be_checked()
    page.get_by_label("Candidate's copy").check()
    page.get_by_label("Paper").select_option("letter")
    page.screenshot(path=tmp_path / "choose.png")
    page.get_by_role("button", name="Print to PDF").click()
    link = page.get_by_role("link", name="Download")
    link.wait_for(timeout=PATIENCE_MS)
    with page.expect_download() as coming:
        link.click()
    assert coming.value.suggested_filename.endswith("-candidate-letter.pdf")
    pdf = tmp_path / "case.pdf"
    coming.value.save_as(pdf)
    assert page_count(pdf) == 1
    assert "candidate's copy" in words_of(pdf).replace("’", "'")
    page.get_by_role("link", name="Back to what this is about").click()
    expect(page.get_by_role("heading", name="Last print asked for")).to_be_visible()
    page.set_viewport_size({"width": 390, "height": 844})
    page.screenshot(path=tmp_path / "narrow.png", full_page=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
