"""From a sheet file to an explained score: rule choices, a kept score that goes stale, the tally check."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Download, Page, expect

from portfolio.readings import read_csv, write_json
from tests.browser.conftest import Complaints
from tests.browser.serving import Served, come_in, start_case
from tests.factories.scoring import OPEN_FRONT
from tests.scoring.sheets import neutral_with


@pytest.fixture
def case(page: Page, served: Served, tmp_path: Path) -> str:
    """Address of a case whose sheet was imported: 35 points as shipped, 41 as printed."""
    come_in(page, served)
    address = start_case(page)
    file = tmp_path / "sheet.json"
    file.write_text(write_json(neutral_with(OPEN_FRONT)))
    page.get_by_role("link", name="import", exact=True).click()
    page.locator("input[type=file]").set_input_files(file)
    page.get_by_role("button", name="Show what it would change").click()
    page.get_by_role("button", name="Import", exact=True).click()
    expect(page.get_by_text("The last change of this sheet is an import.")).to_be_visible()
    page.goto(address)
    return address


def open_score(page: Page, case: str) -> None:
    page.goto(case)
    page.get_by_role("link", name="Score", exact=True).first.click()
    expect(page.get_by_role("heading", name="Discrepancy index")).to_be_visible()


def test_a_score_is_explained_kept_goes_stale_and_is_held_against_paper(page: Page, case: str) -> None:
    expect(page.locator(".sheet-total")).to_have_text("35")
    open_score(page, case)
    expect(page.locator(".score-total")).to_contain_text("35 points")
    row = page.locator("#row-anterior_open_bite")
    expect(row).to_contain_text("1 mm more (at 4 mm open) scores 4")
    anb = page.locator("#row-anb")
    expect(anb.get_by_text("3°", exact=True)).to_be_hidden()
    anb.get_by_text("1 line without points").click()
    expect(anb.get_by_text("3°", exact=True)).to_be_visible()

    page.get_by_role("button", name="Keep this score").click()
    expect(page.get_by_text("The score is kept.")).to_be_visible()

    start = page.locator("#choice-open_bite_start")
    expect(start).to_contain_text("would give 41")
    start.get_by_role("button").click()
    expect(page.locator(".score-total")).to_contain_text("41 points")
    expect(page.locator("#messages")).to_contain_text("It holds for every case of Harbour portfolio")
    page.get_by_role("button", name="As shipped").click()
    expect(page.locator(".score-total")).to_contain_text("35 points")
    expect(page.locator("#kept")).to_contain_text("still holds")

    page.get_by_role("link", name="Measure", exact=True).click()
    page.locator("[data-measure][data-ready]").wait_for()
    field = page.locator("#f-overbite-13-1")
    field.fill("o5")
    field.press("Enter")
    expect(page.locator("[data-bar-total]")).to_contain_text("37")

    open_score(page, case)
    kept = page.locator("#kept")
    expect(kept).to_contain_text("stale 1 finding changed since, 37 now")
    kept.get_by_role("link").click()
    expect(page.get_by_role("heading", name="Kept score: 35")).to_be_visible()
    expect(page.locator("table.moved").last).to_contain_text("Overbite: 5 mm open")
    expect(page.locator("table.moved").last.locator("tfoot")).to_contain_text("+2")

    page.get_by_role("link", name="Discrepancy index").click()
    page.get_by_role("link", name="Tally check").click()
    first = page.get_by_label("Overjet", exact=True)
    first.fill("0")
    first.press("Enter")
    expect(page.get_by_label("Reverse overjet")).to_be_focused()
    page.get_by_label("Anterior open bite").fill("32")
    page.get_by_label("Total").fill("32")
    page.get_by_role("button", name="Compare").click()
    expect(page.locator("tr.differs")).to_contain_text("13 (5 points) may have been forgotten.")
    expect(page.locator("#messages")).to_be_attached()


def test_a_line_has_its_address_and_answers_an_examiners_value_while_it_is_typed(
    page: Page, case: str
) -> None:
    open_score(page, case)
    page.locator("#row-anterior_open_bite").get_by_role("link", name="13", exact=True).click()
    line = page.locator("article.point:target")
    expect(line).to_contain_text("13: Overbite: 3 mm open")
    plain = page.locator("article.point:not(:target)").first
    paint = "one => getComputedStyle(one).backgroundColor + getComputedStyle(one).outlineStyle"
    assert line.evaluate(paint) != plain.evaluate(paint), "the line that was asked for stands out"

    address = page.url
    line.get_by_label("Examiner’s value").press_sequentially("o 4")
    expect(line.locator("output")).to_contain_text("Would score 4 (result 36)")
    line.get_by_label("Examiner’s value").press("Enter")
    expect(line.locator("output")).to_contain_text("Would score 4 (result 36)")
    assert page.url == address, "neither a new page nor a saved value"
    line.get_by_label("Examiner’s value").fill("soon")
    expect(line.locator("output .point-fault")).to_be_visible()
    line.get_by_label("Examiner’s value").fill("")
    expect(line.locator("output")).to_be_empty()

    button = line.get_by_role("button", name="Copy address")
    page.evaluate("() => { navigator.clipboard.writeText = async (text) => { window.copied = text; }; }")
    button.click()
    expect(line.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("window.copied") == address
    page.evaluate("() => { navigator.clipboard.writeText = () => Promise.reject(new Error()); }")
    button.click()
    field = line.get_by_label("Address of this line")
    expect(field).to_be_focused()
    expect(field).to_have_value(address)

    folded = page.locator("details.point").first.get_attribute("id")
    page.goto(f"{address.partition('#')[0]}#{folded}")
    expect(page.locator("details.point:target")).to_have_attribute("open", "")


def test_the_sheet_file_is_downloaded_and_reads_back(page: Page, case: str) -> None:
    with page.expect_download() as started:
        page.get_by_role("link", name="download CSV").click()
    download: Download = started.value
    assert download.suggested_filename.endswith("-initial.csv")
    wanted = {(f.quantity, f.site): f.value for f in neutral_with(OPEN_FRONT).findings}
    assert {(f.quantity, f.site): f.value for f in read_csv(download.path().read_text()).findings} == wanted


def test_a_wrong_number_of_points_is_told_beside_its_field(
    page: Page, case: str, complaints: Complaints
) -> None:
    complaints.expect("status of 422")
    open_score(page, case)
    page.get_by_role("link", name="Tally check").click()
    page.get_by_label("Overbite").fill("three")
    page.get_by_role("button", name="Compare").click()
    expect(page.locator("tr", has=page.get_by_label("Overbite"))).to_contain_text("is no number of points")
    expect(page.get_by_label("Overbite")).to_have_value("three")


def test_no_page_of_scores_scrolls_sideways_on_a_telephone(page: Page, case: str) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    open_score(page, case)
    score = page.url
    for address in ("/", case, score, f"{score}tally/"):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), address
