"""The pictures page of a record set: adding many, assigning views, stating what was not taken or not filed."""

import re
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import from_page_script, signed_in, signed_in_person
from imaging import selectors, services
from imaging.intake_limits import LARGEST_BYTES
from imaging.views.answering import (
    attempt,
    picture_or_404,
    record_set_or_404,
    seen_version,
    tell_of_ended_prints,
)
from portfolio.models import ItemState, RecordSet
from portfolio.services import record_items


@signed_in
@require_safe
def pictures(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """All pictures of one record set in three bands; for the page's script the board alone."""
    return _board(request, record_set_or_404(request, record_set))


@signed_in
@require_POST
def add(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """Take in the files that were sent; each is kept or refused by itself."""
    row = record_set_or_404(request, record_set)
    by = signed_in_person(request)
    typed = request.POST.get("frame", "").strip()
    if typed and not re.fullmatch("[1-9][0-9]{0,3}", typed):
        words = (
            f"Page or frame: a whole number from 1 on, or nothing; {typed[:20]} is none. Nothing was sent."
        )
        if from_page_script(request):
            files = request.FILES.getlist("pictures")
            return JsonResponse(
                {"files": [{"name": file.name, "kept": False, "words": words} for file in files]}
            )
        messages.warning(request, words)
        return redirect("imaging:pictures", row.public_id)
    frame = int(typed) if typed else None
    answers = []
    for file in request.FILES.getlist("pictures"):
        # One byte more than allowed is enough to refuse; the rest stays unread.
        answers.append(services.add_picture(by, row, file.name or "", file.read(LARGEST_BYTES + 1), frame))
    if from_page_script(request):
        return JsonResponse({"files": [_told(answer) for answer in answers]})
    taken = [answer for answer in answers if isinstance(answer, services.Taken)]
    if taken:
        messages.success(request, f"{len(taken)} of {len(answers)} pictures are added.")
    for answer in answers:
        if isinstance(answer, services.NotTaken):
            messages.warning(request, f"{answer.name}: {answer.reason}")
    if not answers:
        messages.warning(request, "Choose at least one picture.")
    return redirect("imaging:pictures", row.public_id)


@signed_in
@require_POST
def assign(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Give a picture its view."""
    row = picture_or_404(request, picture)
    view = request.POST.get("next_free") or request.POST.get("view", "")
    if attempt(request, lambda: record_items.assign_view(row, view, seen_version(request))):
        tell_of_ended_prints(request, row)
    if from_page_script(request):
        return _board(request, row.record_set)
    return redirect("imaging:pictures", row.record_set.public_id)


@signed_in
@require_POST
def absent(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """State that a view was not taken, or is not filed here, or take the statement back."""
    row = record_set_or_404(request, record_set)
    view, state, reason = (request.POST.get(name, "").strip() for name in ("view", "state", "reason"))
    if request.POST.get("take_back"):
        attempt(request, lambda: record_items.take_back_absent(row, view))
    else:
        words = reason or ("no clinical indication" if state == ItemState.NOT_TAKEN else "")
        attempt(request, lambda: record_items.state_absent(row, view, state, words))
    if from_page_script(request):
        return _board(request, row)
    return redirect("imaging:pictures", row.public_id)


def _board(request: HttpRequest, row: RecordSet) -> HttpResponse:
    alone = from_page_script(request)
    template = "imaging/parts/board.html" if alone else "imaging/pictures.html"
    return render(request, template, {"board": selectors.board(request.user, row), "alone": alone})


def _told(answer: services.Taken | services.NotTaken) -> dict[str, object]:
    if isinstance(answer, services.NotTaken):
        told: dict[str, object] = {"name": answer.name, "kept": False, "words": answer.reason}
        return {**told, "frames": answer.frames} if answer.frames else told
    return {"name": answer.name, "kept": True, "words": answer.hint}
