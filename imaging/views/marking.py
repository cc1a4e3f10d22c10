"""Marks on a picture: their page, and what the page saves as one works."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from accounts.admission import signed_in, signed_in_person
from imaging.marking import selectors, services
from imaging.marking.forms import read_save, read_take
from imaging.marking.taking_over import Asked, take_over
from imaging.selectors import picture_facts
from imaging.steps.answers import Refused
from imaging.steps.forms import read_step
from imaging.tracing.selectors import picture_data
from imaging.views.answering import picture_or_404
from portfolio.models import RecordItem
from portfolio.services.answers import Changed, Recorded
from portfolio.services.saving import ChangedMeanwhile
from portfolio.views.answering import CONFLICT, REFUSED, answers_in_json

answers = answers_in_json(
    RecordItem.DoesNotExist, "This picture has been removed; nothing can be marked on it any more."
)


@signed_in
@require_safe
def marks(request: HttpRequest, picture: UUID) -> HttpResponse:
    """The page of a picture's marks."""
    item, by = picture_or_404(request, picture), signed_in_person(request)
    here = item.record_set
    context = {
        "picture": picture_facts(item),
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "record_set": here.public_id,
        "state": selectors.state(by, item),
        "shown": picture_data(item),
        "known": selectors.page_data(by, item, here.case.patient.portfolio.notation),
        "refused": selectors.refused_here(item),
        "sheet": sheet.public_id if (sheet := selectors.own_sheet(by, item)) else None,
    }
    return render(request, "imaging/marks.html", context)


@answers
def save(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Save marks and answer with what stands now."""
    item, by, body = picture_or_404(request, picture), signed_in_person(request), read_save(request.body)
    try:
        answer = services.save(by, item, body.marks, body.seen, body.request_key, timezone.now())
    except ChangedMeanwhile:
        return _answer(by, item, status=CONFLICT)
    if isinstance(answer, Refused):
        faults = [{"mark": one.name, "message": one.words} for one in answer.faults]
        return JsonResponse({"faults": faults}, status=REFUSED)
    return _answer(by, item)


@answers
def step(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Undo the newest change, or do the newest undone one again."""
    item, by, body = picture_or_404(request, picture), signed_in_person(request), read_step(request.body)
    try:
        services.step(by, item, body.action, body.number, body.request_key, timezone.now())
    except ChangedMeanwhile:
        return _answer(by, item, status=CONFLICT)
    return _answer(by, item)


@answers
def take(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Take one mark over as a finding of the person's sheet."""
    item, by, body = picture_or_404(request, picture), signed_in_person(request), read_take(request.body)
    marking = selectors.marking_on(by, item)
    if marking is None or body.version != marking.version:
        return _answer(by, item, status=CONFLICT)
    asked = Asked(body.mark, body.quantity, body.site, body.sense, body.code, body.seen)
    answer = take_over(by, item, asked, body.request_key, timezone.now())
    if isinstance(answer, Recorded):
        return _answer(by, item, taken=True)
    if isinstance(answer, Changed):
        words = " ".join(
            f"{one.by_name} has recorded {one.value or 'nothing'} there meanwhile." for one in answer.theirs
        )
        return _answer(by, item, status=CONFLICT, message=f"Not taken over. {words}")
    faults = [{"mark": body.mark, "message": fault.message} for fault in answer.faults]
    return JsonResponse({"faults": faults}, status=REFUSED)


def _answer(by: Any, item: RecordItem, *, status: int = 200, **more: object) -> JsonResponse:
    return JsonResponse({**selectors.state(by, item), **more}, status=status)
