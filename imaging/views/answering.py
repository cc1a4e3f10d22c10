"""What the views of pictures share: whose picture it is, and how a change is answered."""

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.utils import timezone

from imaging.services import end_prints
from portfolio.access import visible_items, visible_record_sets
from portfolio.models import ItemState, RecordItem, RecordSet
from portfolio.services.record_items import ItemRefused
from portfolio.services.saving import ChangedMeanwhile

CHANGED_WORDS = (
    "Not done: these pictures were changed in another window meanwhile. Here they are as they stand now."
)


def record_set_or_404(request: HttpRequest, public_id: UUID) -> RecordSet:
    rows = visible_record_sets(request.user).select_related("case")
    return get_object_or_404(rows, public_id=public_id)


def picture_or_404(request: HttpRequest, public_id: UUID) -> RecordItem:
    """A picture that is present and that the person may see."""
    rows = visible_items(request.user).filter(state=ItemState.PRESENT)
    return get_object_or_404(
        rows.select_related("record_set__case", "file", "screen_file", "print_file"), public_id=public_id
    )


def seen_version(request: HttpRequest) -> int:
    """The version the page had seen; 0, which is never stored, where none was sent."""
    text = request.POST.get("version", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0


def tell_of_ended_prints(request: HttpRequest, row: RecordItem) -> None:
    """End finished prints that hold a picture they should not hold any more, and say how many."""
    if ended := end_prints(row, timezone.now()):
        prints = "1 finished print that holds" if ended == 1 else f"{ended} finished prints that hold"
        messages.warning(
            request, f"{prints} this picture can no longer be fetched; copies that were downloaded stay."
        )


def attempt(request: HttpRequest, change: Callable[[], None], done: str = "") -> bool:
    """Make a change and say in a message what came of it; True when it was made."""
    try:
        change()
    except ChangedMeanwhile:
        messages.warning(request, CHANGED_WORDS)
    except ItemRefused as refused:
        messages.warning(request, str(refused))
    except IntegrityError:
        messages.warning(request, CHANGED_WORDS)
    except ValidationError as refusal:
        messages.warning(request, " ".join(refusal.messages))
    else:
        if done:
            messages.success(request, done)
        return True
    return False
