"""From a choice of indices to before and after: presets, live totals of several indices, change, caseload."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from portfolio.readings import write_json
from tests.browser.serving import Served, come_in, start_case, submit
from tests.scoring.sheets import neutral_with

PHONE: ViewportSize = {"width": 390, "height": 844}


@pytest.fixture
def case(page: Page, served: Served) -> str:
    come_in(page, served)
    return start_case(page)


def measure(page: Page, case: str, which: int = 0) -> None:
    page.goto(case)
    page.get_by_role("link", name="Measure", exact=True).nth(which).click()
    page.locator("[data-measure][data-ready]").wait_for()


def choose(page: Page, preset: str) -> None:
    page.locator(".choosing summary").click()
    with page.expect_navigation():
        page.get_by_role("button", name=preset, exact=True).click()
    page.locator("[data-measure][data-ready]").wait_for()


def bring_in(page: Page, case: str, folder: Path, which: int, stage: str, *changes: str) -> None:
    """Import the neutral sheet of PAR with findings replaced into a stage's sheet."""
    file = folder / f"{stage}.json"
    file.write_text(write_json(neutral_with(changes, "par", stage=stage)))
    page.goto(case)
    page.get_by_role("link", name="import", exact=True).nth(which).click()
    page.locator("input[type=file]").set_input_files(file)
    page.get_by_role("button", name="Show what it would change").click()
    page.get_by_role("button", name="Import", exact=True).click()
    expect(page.get_by_text("The last change of this sheet is an import.")).to_be_visible()


def no_sideways_scroll(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


def test_a_preset_asks_for_more_and_every_index_counts_at_once(page: Page, case: str) -> None:
    measure(page, case)
    expect(page.locator("#f-contact_offset-11-21-1")).to_have_count(0)
    choose(page, "Complexity before")
    field = page.locator("#f-contact_offset-11-21-1")
    field.fill("2,5")
    field.press("Enter")
    par = page.locator(".live-index", has_text="PAR").first
    expect(par).to_contain_text("at least 2")
    expect(page.locator(".live-index")).to_have_count(4)
    page.get_by_role("link", name="PAR", exact=True).first.click()
    expect(page.get_by_role("heading", name="PAR", exact=True)).to_be_visible()
    page.get_by_role("link", name="Transfer sheet").click()
    expect(page.get_by_role("heading", name="Transfer sheet")).to_be_visible()
    expect(page.locator(".transfer")).to_have_count(4)


def test_a_conditional_field_comes_and_goes_with_what_is_recorded(page: Page, case: str) -> None:
    measure(page, case)
    choose(page, "Complexity before")
    plan = page.locator('[data-row="gap_plan"]')
    expect(plan.locator("[data-fold]")).to_have_count(1)
    gap = page.locator("#f-gap-11-21-1")
    gap.fill("1.5")
    gap.press("Enter")
    expect(plan.locator("[data-fold]")).to_have_count(0)
    gap.fill("")
    gap.press("Enter")
    expect(plan.locator("[data-fold]")).to_have_count(1)


def test_before_and_after_of_one_case_and_of_all(page: Page, case: str, tmp_path: Path) -> None:
    page.goto(case)
    page.get_by_role("link", name="Add records of a stage").click()
    page.locator("#id_stage").select_option("final")
    page.locator("#id_age_months").fill("15 y 9 m")
    submit(page)
    bring_in(page, case, tmp_path, 0, "initial", "overjet 11 11")
    bring_in(page, case, tmp_path, 1, "final")
    page.goto(case)
    page.get_by_role("link", name="Before and after").click()
    par = page.locator("#par")
    expect(par).to_contain_text("−24")
    expect(par).to_contain_text("Greatly improved")
    expect(par.locator("svg[role=img]")).to_be_visible()
    page.goto("/")
    page.get_by_role("link", name="Before and after, all cases").click()
    expect(page.locator(".pair-table")).to_contain_text("greatly improved")
    for kind, name in (
        ("CSV", "change-par-initial-final.csv"),
        ("spreadsheet", "change-par-initial-final.xlsx"),
    ):
        with page.expect_download() as coming:
            page.get_by_role("link", name=kind, exact=True).click()
        assert coming.value.suggested_filename == name
    page.set_viewport_size(PHONE)
    for address in (page.url, f"{case}change/"):
        page.goto(address)
        assert no_sideways_scroll(page), address


@pytest.mark.parametrize("preset", ["complexity", "outcome", "full"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_bench_sheet_prints_on_the_pages_it_says(
    page: Page, served: Served, tmp_path: Path, preset: str, paper: str
) -> None:
    come_in(page, served)
    page.goto(f"/bench-sheet/?for={preset}")
    said = int(re.findall(r"page \d of (\d)", page.content())[0])
    pdf = tmp_path / "bench.pdf"
    page.pdf(path=pdf, format=paper, print_background=False)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf.read_bytes())) == said


def test_bench_sheet_and_rows_of_teeth_are_whole_on_a_phone(page: Page, case: str) -> None:
    measure(page, case)
    choose(page, "Full set")
    page.set_viewport_size(PHONE)
    alone = page.evaluate(
        """() => [...document.querySelectorAll(".half")].filter((half) => {
            const tops = [...half.children].map((cell) => cell.offsetTop);
            const last = tops.filter((top) => top === tops[tops.length - 1]);
            return tops.length > 2 && new Set(tops).size > 1 && last.length === 1;
        }).map((half) => half.closest("[data-row]").dataset.row)"""
    )
    assert alone == []
    assert no_sideways_scroll(page)
    page.get_by_role("link", name="Bench sheet to print").click()
    page.locator(".bench-page").first.wait_for()
    cut = page.evaluate(
        """() => [...document.querySelectorAll(".bench-page *")].filter(
            (one) => one.getBoundingClientRect().right > window.innerWidth
        ).length"""
    )
    assert cut == 0
    assert no_sideways_scroll(page)
