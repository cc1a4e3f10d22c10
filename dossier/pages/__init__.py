"""The pages of a printed case: one folder for each, `page.py` with its place and contents, `page.html`, `page.css`."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from django.template import Template, engines
from django.utils.safestring import SafeString, mark_safe

from dossier.case_file import CaseFile

HERE = Path(__file__).resolve().parent
SHEETS = {"a4": "A4", "letter": "letter"}


@dataclass(frozen=True, slots=True)
class Page:
    """One kind of page: `order` among the pages, and what its template receives; None leaves the page out."""

    order: int
    contents: Callable[[CaseFile], dict[str, Any] | None]


@cache
def kinds() -> tuple[tuple[str, Page], ...]:
    """Name and page of every folder here, in the order of print; a folder without PAGE is named in the error."""
    found = []
    for folder in sorted(path.parent for path in HERE.glob("*/page.py")):
        page = getattr(import_module(f"dossier.pages.{folder.name}.page"), "PAGE", None)
        if not isinstance(page, Page):
            raise TypeError(f"dossier/pages/{folder.name}/page.py has no PAGE.")
        found.append((folder.name, page))
    return tuple(sorted(found, key=lambda one: one[1].order))


@cache
def _template(path: Path) -> Template:
    made: Template = engines["django"].from_string(path.read_text(encoding="utf-8"))  # type: ignore[assignment]
    return made


def style(file: CaseFile) -> str:
    """The style sheets of all pages in one, after the paper's."""
    sheets = ["binder.css", *(f"{name}/page.css" for name, _ in kinds())]
    whole = "\n".join((HERE / sheet).read_text(encoding="utf-8") for sheet in sheets)
    return whole.replace("CASE-CODE", file.code).replace("PAPER", SHEETS[file.paper])


def document(file: CaseFile) -> str:
    """The whole HTML of a case; user text is escaped by the templates."""
    parts: list[SafeString] = []
    for name, page in kinds():
        contents = page.contents(file)
        if contents is not None:
            parts.append(mark_safe(_render(HERE / name / "page.html", {"file": file, **contents})))  # noqa: S308
    return _render(HERE / "binder.html", {"file": file, "parts": parts})


def _render(path: Path, contents: dict[str, Any]) -> str:
    return str(_template(path).render(contents))  # type: ignore[arg-type]
