"""The point-by-point sheet: every line once in the form's order, its address, the weakest, a value tried."""

from __future__ import annotations

import html
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portfolio.models import Finding
from portfolio.services import Entry, RecordSetDetails, add_record_set, import_sheet
from portfolio.services.answers import EvidencePiece
from scoring import selectors
from scoring.line_names import form_order
from scoring.models import ScoreRun
from scoring.services import keep_score
from tests.factories.accounts import person, signed_in
from tests.factories.dossier import assigned
from tests.factories.portfolio import NOON, recorded, save
from tests.factories.scoring import OPEN_FRONT, loaded, measured_sheet
from tests.scoring.sheets import neutral_with

pytestmark = pytest.mark.django_db


def test_every_line_stands_once_with_its_address_and_a_tried_value_is_scored_but_not_stored() -> None:
    owner = person()
    sheet = measured_sheet(owner, *OPEN_FRONT)
    item = assigned(owner, sheet.record_set, "witness")
    seen = Finding.objects.get(sheet=sheet, quantity="overbite", site="13").changed_in
    piece = EvidencePiece("witness", item.public_id)
    recorded(save(sheet, Entry("overbite", "13", typed="o 3", seen=seen, evidence=(piece,))))
    sheet = loaded(sheet)
    browser = signed_in(owner)
    address = reverse("desk:points", args=[sheet.public_id, "discrepancy"])
    browser.get(address)
    with CaptureQueriesContext(connection) as queries:
        page = browser.get(address).content.decode()
    assert len(queries) < 12
    lines = form_order(selectors.scored(sheet, "discrepancy").score)
    anchors = re.findall(r'class="point" id="(p-[^"]+)"', page)
    assert len(anchors) == len(set(anchors)) == len(lines)
    sites = [re.sub(r"^p-[a-z_]+-", "", one) for one in anchors]
    assert [line.site.replace(".", "_") for line in lines] == [
        re.sub(r"-\d+$", "", site) if site not in {x.site.replace(".", "_") for x in lines} else site
        for site in sites
    ]
    assert set(re.findall(r'href="#(p-[^"]+)"', page)) <= set(anchors)
    assert "Weakest lines" in page
    assert "SD away" in page
    assert "Typed as 3.5 mm, o 4 open" in page
    assert " away: " not in page
    told = {one: re.search(rf'id="{one}".*?</(?:article|details)>', page, re.S) for one in anchors}
    by_line = {key: found.group() for key, found in told.items() if found}
    pictured = [one for one in by_line.values() if str(item.public_id) in one]
    assert pictured
    assert not any("cast-chart" in one for one in pictured), "a picture tells more than the drawing"
    open_11 = [one for one in by_line.values() if "from the edge of 11 to the edge of the lower" in one]
    assert open_11
    for one in open_11:
        assert (one.count('<svg class="cast-chart"'), one.count('class="cast-spot"')) == (1, 2)
    assert "No evidence kept." in page
    assert str(item.public_id) in page
    assert "Witness picture" in page

    (target,) = (
        name
        for name, line in zip(anchors, lines, strict=True)
        if line.points == 3 and [(f.quantity, f.site) for f in line.findings] == [("overbite", "13")]
    )
    before = list(Finding.objects.order_by("pk").values())
    said = browser.get(address, {"line": target, "value": "o 4"}).content.decode()
    assert "Would score 4 (result 36)" in said, re.findall(r"<output.*?</output>", said)
    trying = reverse("desk:try_value", args=[sheet.public_id, "discrepancy"])
    typed = browser.get(trying, {"line": target, "value": "o 4"}).content.decode()
    assert "Would score 4 (result 36)" in typed
    assert "<html" not in typed, "the answer alone"
    assert "soon" in words_of(browser.get(trying, {"line": target, "value": "soon"}).content)
    assert words_of(browser.get(trying, {"line": target, "value": ""}).content) == ""
    assert words_of(browser.get(trying, {"line": "p-no-such", "value": "3"}).content) == ""
    refused = browser.get(address, {"line": target, "value": "soon"}).content.decode()
    assert 'aria-invalid="true"' in refused
    assert list(Finding.objects.order_by("pk").values()) == before
    assert signed_in(person()).get(address).status_code == 404


def words_of(content: bytes) -> str:
    return html.unescape(re.sub(r"<[^>]+>", "", content.decode())).strip()


def test_pages_of_a_score_lead_to_the_lines_they_speak_of() -> None:
    owner = person()
    sheet = measured_sheet(owner, *OPEN_FRONT)
    browser = signed_in(owner)
    points = reverse("desk:points", args=[sheet.public_id, "discrepancy"])
    anchors = set(re.findall(r'class="point" id="(p-[^"]+)"', browser.get(points).content.decode()))
    keep_score(owner, loaded(sheet), "discrepancy", NOON)

    def leads(address: str) -> set[str]:
        said = browser.get(address, follow=True).content.decode()
        return set(re.findall(re.escape(points) + r"#(p-[^\"]+)", said))

    score = reverse("desk:score", args=[sheet.public_id, "discrepancy"])
    assert leads(score) == anchors, "each line of the score by its own address"
    assert leads(reverse("desk:kept", args=[ScoreRun.objects.get().public_id])) == anchors
    sure = leads(reverse("desk:how_sure", args=[sheet.public_id, "discrepancy"]))
    assert len(sure) >= 4
    assert sure <= anchors
    change = reverse("desk:case_change", args=[sheet.record_set.case.public_id])
    final = add_record_set(owner, sheet.record_set.case, RecordSetDetails(stage="final")).sheets.get()
    recorded(import_sheet(owner, final, neutral_with((), stage="final"), "final", NOON))
    said = browser.get(change).content.decode()
    for one, index in ((sheet, "par"), (final, "par")):
        assert reverse("desk:points", args=[one.public_id, index]) in said
