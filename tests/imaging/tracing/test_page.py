"""The page of a tracing: the two questions, what the page is given, and where it leads."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from imaging.cephalometry.landmarks import LANDMARKS
from imaging.models import Tracing
from imaging.tracing.on_picture import Way
from portfolio.models import RecordItem
from tests.factories.accounts import person, signed_in
from tests.factories.imaging import picture_of
from tests.factories.tracing import calibrated, radiograph_of, traced

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def item(owner: User) -> RecordItem:
    return radiograph_of(owner)


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


def address(item: RecordItem) -> str:
    return reverse("imaging:tracing_of", args=[item.public_id])


def given(html: str, name: str) -> Any:
    """The data of one name that the page hands to its script."""
    found = re.search(rf'<script id="{name}" type="application/json">(.*?)</script>', html, re.S)
    assert found is not None
    return json.loads(found.group(1))


def test_a_tracing_begins_with_the_side_faced_and_the_mandibular_plane(
    browser: Client, item: RecordItem
) -> None:
    html = browser.get(address(item)).content.decode()
    assert "To which side does the patient face?" in html
    assert "Mandibular plane" in html
    public_id = re.search(r'name="public_id" value="([0-9a-f-]{36})"', html)
    assert public_id is not None
    wanted = {"public_id": public_id.group(1), "faces": "left", "mandibular_plane": "go_gn"}
    assert browser.post(address(item), wanted).status_code == 302
    made = Tracing.objects.get(item=item)
    assert (made.forward, made.mandibular_plane) == (Way.LEFT, "go_gn")


def test_no_side_is_taken_for_granted(browser: Client, item: RecordItem) -> None:
    html = browser.get(address(item)).content.decode()
    assert not re.search(r'name="faces"[^>]*checked', html)
    answer = browser.post(address(item), {"public_id": "x", "mandibular_plane": "go_me"})
    assert answer.status_code == 422
    assert "Choose the side to which the nose points." in answer.content.decode()
    assert not Tracing.objects.exists()


def test_a_picture_of_another_view_says_why_it_is_not_traced(browser: Client, owner: User) -> None:
    html = browser.get(address(picture_of(owner))).content.decode()
    assert "Only lateral radiographs are traced." in html
    assert "Begin the tracing" not in html


def test_the_page_is_given_every_point_line_and_analysis(browser: Client, item: RecordItem) -> None:
    traced(calibrated(item))
    html = browser.get(address(item)).content.decode()
    formulas, state = given(html, "tracing-formulas"), given(html, "tracing-state")
    assert [one["key"] for one in formulas["landmarks"]] == [landmark.key for landmark in LANDMARKS]
    for landmark in LANDMARKS:
        assert landmark.definition.split(",")[0].split("'")[0] in html
    assert {"S-N", "FH", "mandibular"} <= {line[0] for line in formulas["lines"]}
    wanted = "steiner downs tweed ricketts mcnamara wits bjork_jarabak holdaway lip_lines".split()
    assert wanted == [one["key"] for one in formulas["analyses"]][: len(wanted)]
    assert len(state["points"]) == len(LANDMARKS)
    assert state["calibrated"]
    assert given(html, "tracing-shown")["original"] == [item.width, item.height]


def test_a_picture_without_scale_leads_to_its_scale(browser: Client, item: RecordItem) -> None:
    traced(item)
    scale = reverse("imaging:scale", args=[item.public_id])
    html = browser.get(address(item)).content.decode()
    assert "No scale: angles and ratios only" in html
    assert f'data-scale="{scale}"' in html
    calibrated(item)
    assert "two clicks on a ruler of 100 mm" in browser.get(address(item)).content.decode()


def test_a_lateral_radiograph_leads_to_its_tracing_and_other_pictures_do_not(
    browser: Client, item: RecordItem, owner: User
) -> None:
    page = browser.get(reverse("imaging:picture", args=[item.public_id])).content.decode()
    assert address(item) in page
    other = picture_of(owner)
    assert (
        address(other) not in browser.get(reverse("imaging:picture", args=[other.public_id])).content.decode()
    )
