"""What every page that saves a row does with its form: refuse in words, tell what changed meanwhile, save once."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, TypeVar
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from portfolio import ages
from portfolio.forms.saving import RowForm
from portfolio.services import ChangedMeanwhile, OutOfDate

Row = TypeVar("Row", bound=Model)

REFUSED, CHANGED = 422, 409

PRIVATE_FIELDS = (
    "locator",
    "birth_date",
    "taken_on",
    "signed_on",
    "expires",
    "withdrawn_on",
    "paper_lies",
    "note",
)
"""Fields that are masked in every report of an error."""


def own(rows: QuerySet[Row], public_id: UUID) -> Row:
    """One of the rows the person may see, else 404 whether it exists or not."""
    return get_object_or_404(rows, public_id=public_id)


def latest_day() -> date:
    """The latest day it can be anywhere on earth now; nothing later can have happened yet."""
    return ages.latest_day(timezone.now())


def save_form(
    form: RowForm,
    save: Callable[[], HttpResponse],
    stored: Callable[[], Mapping[str, Any]] = dict,
) -> tuple[HttpResponse | None, int]:
    """Save a form that was sent: the answer to give, or None and the status to show the form again with.

    `save` writes and gives the answer; `stored` gives what is stored by now, for an edit that came too late.
    """
    if not form.is_valid():
        return None, REFUSED
    try:
        return save(), 200
    except ChangedMeanwhile:
        form.tell_changed(stored())
        return None, CHANGED
    except OutOfDate:
        form.add_error(
            None, "This form is out of date. Open the page again; what you typed still stands here."
        )
        return None, CHANGED
    except ValidationError as refusal:
        tell_refusal(form, refusal)
        return None, REFUSED


def tell_refusal(form: RowForm, refusal: ValidationError) -> None:
    """Put what the rows refuse beside the field it concerns, else above the form."""
    faults = getattr(refusal, "error_dict", None) or {"": refusal.error_list}
    for name, errors in faults.items():
        form.add_error(name if name in form.fields else None, errors)


def form_page(
    request: HttpRequest, template: str, form: RowForm, status: int = 200, **context: Any
) -> HttpResponse:
    """A page with one form."""
    return render(request, template, {"form": form, **context}, status=status)
