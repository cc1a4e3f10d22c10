"""Small values of forms that are no fields of a page: which row, which version was seen."""

from uuid import UUID

from django.http import HttpRequest


def public_id(request: HttpRequest, name: str) -> UUID | None:
    """A public id that was sent, None where it is none."""
    try:
        return UUID(request.POST.get(name, ""))
    except ValueError:
        return None


def seen_version(request: HttpRequest) -> int:
    """The version that the page had shown; 0, which no row has, where none was sent."""
    text = request.POST.get("version", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
