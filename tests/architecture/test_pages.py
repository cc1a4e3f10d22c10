"""Templates obey the content policy and name only files that are served; locks hold hashes and no addresses."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from running.front_end import served_paths
from tests.architecture.source_tree import PROJECT

TEMPLATES = sorted(path for path in (PROJECT / "templates").rglob("*") if path.suffix in (".html", ".svg"))
LOCKS = sorted(PROJECT.glob("requirements*.lock"))
COMMENTS = re.compile(r"\{#.*?#\}|\{% comment %\}.*?\{% endcomment %\}|<!--.*?-->", re.S)
REFUSED = {
    "an inline style": re.compile(r"<[^>]*\sstyle\s*=", re.I),
    "a style element": re.compile(r"<style[\s>]", re.I),
    "an event attribute": re.compile(r"<[^>]*\son[a-z]+\s*=", re.I),
    "an hx-on attribute": re.compile(r"<[^>]*\shx-on", re.I),
    "a javascript: address": re.compile(r"javascript:", re.I),
    "a script without a source": re.compile(
        r"<script(?![^>]*\ssrc=)(?![^>]*type=\"(?:importmap|application/json)\")", re.I
    ),
    "a host": re.compile(r"""(?:src|href|action)\s*=\s*["'](?:https?:)?//""", re.I),
}


def faults_of(text: str) -> list[str]:
    plain = COMMENTS.sub("", text)
    return [what for what, pattern in REFUSED.items() if pattern.search(plain)]


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(PROJECT / "templates")))
def test_a_template_obeys_the_content_policy(path: Path) -> None:
    assert faults_of(path.read_text(encoding="utf-8")) == []


def test_a_time_of_day_says_that_it_is_utc() -> None:
    bare = re.compile(r'date:"[^"]*H:i"\s*\}\}(?! UTC)')
    assert [path.name for path in TEMPLATES if bare.search(path.read_text(encoding="utf-8"))] == []


def lost_names(text: str) -> list[str]:
    """Addresses named in one block and used in another, where the name holds nothing."""
    named: dict[str, set[str]] = {}
    used: dict[str, set[str]] = {}
    inside = [""]
    tag = re.compile(r"\{%-?\s*(\w+)(.*?)%\}|\{\{(.*?)\}\}", re.S)
    for found in tag.finditer(text):
        kind, rest = found.group(1), found.group(2) or found.group(3)
        if kind == "block":
            inside.append(rest.strip())
        elif kind == "endblock":
            inside.pop()
        elif kind == "url" and (name := re.search(r"\bas (\w+)\s*$", rest)):
            named.setdefault(name.group(1), set()).add(inside[-1])
        else:
            for word in re.findall(r"(?<![\w.\"'])[a-z_]\w*(?!\w*=)", rest):
                used.setdefault(word, set()).add(inside[-1])
    return sorted(name for name in named if used.get(name, set()) - named[name])


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(PROJECT / "templates")))
def test_an_address_is_used_in_the_block_that_names_it(path: Path) -> None:
    assert lost_names(path.read_text(encoding="utf-8")) == []


def test_an_address_that_is_lost_between_blocks_is_found() -> None:
    named = '{% block crumbs %}{% url "a" as there %}{{ there }}{% endblock %}'
    assert lost_names(named) == []
    assert lost_names(named + "{% block content %}{{ there }}{% endblock %}") == ["there"]
    assert lost_names(named + '{% block content %}{% include "b" with c=there only %}{% endblock %}') == [
        "there"
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('<p style="color: red">', "an inline style"),
        ("<style>p {}</style>", "a style element"),
        ('<button onclick="f()">', "an event attribute"),
        ("<script>f()</script>", "a script without a source"),
        ('<a href="javascript:f()">', "a javascript: address"),
        ('<img src="//example.org/a.png">', "a host"),
    ],
)
def test_a_template_that_breaks_the_policy_is_found(text: str, fault: str) -> None:
    assert faults_of(text) == [fault]


def test_import_maps_carry_the_nonce() -> None:
    bare = [
        path.name
        for path in TEMPLATES
        for tag in re.findall(r"<script[^>]*importmap[^>]*>", path.read_text(encoding="utf-8"))
        if "request.csp_nonce" not in tag
    ]
    assert bare == []


def test_pages_and_style_sheets_name_front_end_files_that_are_copied() -> None:
    sources = [*TEMPLATES, *sorted((PROJECT / "static/css").glob("*.css"))]
    named = {
        found
        for path in sources
        for found in re.findall(r"vendor/[\w./-]+", path.read_text(encoding="utf-8"))
    }
    assert named, "no page names a front-end file"
    assert sorted(named - set(served_paths())) == []


@pytest.mark.parametrize("path", LOCKS, ids=lambda path: path.name)
def test_a_python_lock_holds_hashes_and_no_address(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "://" not in text
    assert not re.search(r"^--?(?:index|extra|find)", text, re.M)
    pins = re.findall(r"^([\w.\[\],-]+)==", text, re.M)
    blocks = re.split(r"^(?=[\w.-]+==)", text, flags=re.M)[1:]
    assert pins
    assert [block.split()[0] for block in blocks if "--hash=sha256:" not in block] == []


def test_the_front_end_lock_holds_hashes_and_no_address() -> None:
    text = (PROJECT / "package-lock.json").read_text(encoding="utf-8")
    assert "://" not in text
    packages = {path: entry for path, entry in json.loads(text)["packages"].items() if path}
    assert packages
    assert [path for path, entry in packages.items() if "integrity" not in entry] == []


def test_every_requirement_is_in_its_lock() -> None:
    for source in sorted(PROJECT.glob("requirements*.in")):
        locked = source.with_suffix(".lock").read_text(encoding="utf-8")
        for line in source.read_text(encoding="utf-8").split():
            name = re.split(r"[\[<>=]", line)[0]
            if name and not name.startswith("-") and not name.endswith(".in"):
                assert re.search(rf"^{re.escape(name)}(?:\[[\w,]+\])?==", locked, re.M), (
                    f"{name} in {source.name}"
                )
