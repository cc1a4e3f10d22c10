"""The frame of every page: what the content policy needs, what keyboards and screen readers need, the cautions."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest
from django.conf import settings

from tests.factories.accounts import person, signed_in

ROOT = Path(settings.BASE_DIR)
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))


@pytest.fixture
def page(db: None) -> str:
    return signed_in(person()).get("/account/").content.decode()


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
def test_no_template_raises_its_voice(template: Path) -> None:
    text = re.sub(
        r"<!DOCTYPE|<!--|\{%.*?%\}|\{\{.*?\}\}", "", template.read_text(encoding="utf-8"), flags=re.S
    )
    assert "!" not in text
    assert not re.search(r"[\U0001F300-\U0001FAFF]", text)


def test_htmx_is_set_up_as_the_content_policy_needs(page: str) -> None:
    found = re.search(r'name="htmx-config"\s+content=\'([^\']+)\'', page)
    assert found
    configured = json.loads(unescape(found[1]))
    assert configured["historyCacheSize"] == 0
    for name in ("includeIndicatorStyles", "allowEval", "allowScriptTags"):
        assert configured[name] is False
    assert configured["selfRequestsOnly"] is True
    swapped = {rule["code"]: rule["swap"] for rule in configured["responseHandling"]}
    assert swapped["409"] is True
    assert swapped["422"] is True
    assert swapped["[45].."] is False
    order = [rule["code"] for rule in configured["responseHandling"]]
    assert order.index("409") < order.index("[45]..")
    assert "django_htmx/htmx-2" in page


def test_the_token_for_htmx_rides_on_the_body(page: str) -> None:
    found = re.search(r"<body hx-headers='(\{[^']+\})'", page)
    assert found
    assert len(json.loads(found[1])["X-CSRFToken"]) > 30


def test_the_page_can_be_reached_by_keyboard_and_screen_reader(page: str) -> None:
    assert '<html lang="en"' in page
    assert 'class="skip-link" href="#content"' in page
    assert '<main class="page" id="content"' in page
    assert 'aria-live="polite"' in page


def test_signing_out_is_a_form_not_a_link(page: str) -> None:
    assert re.search(r'<form method="post" action="/accounts/logout/">', page)
    assert 'href="/accounts/logout/"' not in page


def test_every_page_says_what_the_app_is_not(page: str) -> None:
    assert (
        "This app is not the clinical record: keep originals as your law asks. "
        "The board's current instructions prevail." in unescape(page)
    )


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two #rrggbb colours. Source: WCAG 2.2, definitions of contrast ratio and relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


TOKENS = dict(
    re.findall(r"--([\w-]+): (#[0-9a-f]{6});", (ROOT / "static/css/tokens.css").read_text(encoding="utf-8"))
)


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        (text, ground)
        for text in ("ink", "ink-quiet", "accent", "accent-deep", "caution")
        for ground in ("ground", "paper", "sunk", "accent-wash", "caution-wash")
    ],
)
def test_text_contrast_is_at_least_4_5(text: str, ground: str) -> None:
    """WCAG 2.2, success criterion 1.4.3."""
    assert contrast(TOKENS[text], TOKENS[ground]) >= 4.5


@pytest.mark.parametrize("ground", ["ground", "paper"])
@pytest.mark.parametrize(
    "mark", ["edge", "accent", "stage-initial", "stage-interim", "stage-final", "stage-retention"]
)
def test_edges_and_marks_contrast_is_at_least_3(mark: str, ground: str) -> None:
    """WCAG 2.2, success criterion 1.4.11."""
    assert contrast(TOKENS[mark], TOKENS[ground]) >= 3


def test_stage_colours_are_used_by_stage_marks_only() -> None:
    """Black initial, blue interim, red final, green retention are kept for stages."""
    for sheet in ("screen.css", "print.css", "alone.css"):
        text = (ROOT / "static/css" / sheet).read_text(encoding="utf-8")
        for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
            if "var(--stage-" in body:
                assert "stage-" in selector
