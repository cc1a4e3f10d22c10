"""One picture: large, with its operations, side check, quality, and what was left behind; and its bytes."""

from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from filing.selectors import BytesMissing
from imaging import selectors, services
from imaging.operations import OperationRefused
from imaging.tracing.access import visible_tracings
from imaging.views import entries
from imaging.views.answering import attempt, picture_or_404, seen_version, tell_of_ended_prints
from portfolio.models import RecordItem
from portfolio.photographs import VIEWS, quality_ticks
from portfolio.selectors import findings_resting_on
from portfolio.services import record_items

REFUSED = 422


@signed_in
@require_safe
def picture(request: HttpRequest, picture: UUID) -> HttpResponse:
    """The page of one picture."""
    return render(request, "imaging/picture.html", _context(picture_or_404(request, picture)))


@signed_in
@require_safe
def rendition(request: HttpRequest, picture: UUID, rendition: str) -> HttpResponseBase:
    """The bytes of a rendition, to who may see the picture; the original has no address."""
    row = picture_or_404(request, picture)
    try:
        stream, media_type = selectors.rendition(row, rendition)
    except (BytesMissing, KeyError) as missing:
        raise Http404 from missing
    ending = media_type.rpartition("/")[2]
    return FileResponse(stream, content_type=media_type, filename=f"picture.{ending}")


@signed_in
@require_POST
def quality(request: HttpRequest, picture: UUID) -> HttpResponse:
    row = picture_or_404(request, picture)
    ticks = request.POST.getlist("quality")
    attempt(
        request, lambda: record_items.save_quality(row, ticks, seen_version(request)), "The ticks are kept."
    )
    return redirect("imaging:picture", row.public_id)


@signed_in
@require_POST
def sides(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Keep the answers about right and left, or say what does not fit."""
    row = picture_or_404(request, picture)
    first, second = request.POST.get("first", ""), request.POST.get("second", "")
    attempt(
        request,
        lambda: record_items.save_side_check(row, first, second, seen_version(request)),
        "Right and left are checked.",
    )
    return redirect("imaging:picture", row.public_id)


@signed_in
@require_POST
def no_text(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Keep, or take back, the statement that no name, date or number stands in the picture."""
    row, by = picture_or_404(request, picture), signed_in_person(request)
    if request.POST.get("take_back"):
        if attempt(
            request, lambda: record_items.take_back_no_text(row, seen_version(request)), "Taken back."
        ):
            tell_of_ended_prints(request, row)
    elif request.POST.get("no_text") == "on":
        attempt(
            request,
            lambda: record_items.state_no_text(by, row, seen_version(request), timezone.now()),
            "Your statement about this picture is kept.",
        )
    else:
        messages.warning(request, "Not kept: tick the statement once you have looked at the whole picture.")
    return redirect("imaging:picture", row.public_id)


@signed_in
@require_POST
def operate(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Do one operation to the picture; what cannot be done comes back with the reason beside its field."""
    row = picture_or_404(request, picture)
    given = {key: str(value) for key, value in request.POST.items()}
    kind, by = given.get("kind", ""), signed_in_person(request)
    try:
        if attempt(request, lambda: services.add_operation(by, row, kind, given, seen_version(request))):
            tell_of_ended_prints(request, row)
    except OperationRefused as refused:
        if not refused.field:
            messages.warning(request, str(refused))
        shown = {**_context(row), "forms": entries.forms(given, refused)}
        return render(request, "imaging/picture.html", shown, status=REFUSED)
    return redirect("imaging:picture", row.public_id)


@signed_in
@require_POST
def undo(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Undo the last operation."""
    row, by = picture_or_404(request, picture), signed_in_person(request)
    if attempt(request, lambda: services.undo_operation(by, row, seen_version(request))):
        tell_of_ended_prints(request, row)
    return redirect("imaging:picture", row.public_id)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def delete(request: HttpRequest, picture: UUID) -> HttpResponse:
    """Delete a picture for good, after a question; when findings rest on it, only after they have been read."""
    row = picture_or_404(request, picture)
    notation = row.record_set.case.patient.portfolio.notation
    resting = findings_resting_on(row, notation)
    shown = {
        **_context(row),
        "stands": [one for one in resting if one.stands],
        "stood": [one for one in resting if not one.stands],
        "tracings": visible_tracings(request.user).filter(item=row).count(),
    }
    if request.method == "POST":
        here, read = row.record_set.public_id, request.POST.get("though_evidence") == "on"
        if resting and not read:
            return render(request, "imaging/picture_delete.html", {**shown, "refused": True}, status=REFUSED)
        if attempt(
            request,
            lambda: record_items.remove_item(row, seen_version(request), though_evidence=read),
            "The picture is deleted.",
        ):
            tell_of_ended_prints(request, row)
        return redirect("imaging:pictures", here)
    return render(request, "imaging/picture_delete.html", shown)


def _context(row: RecordItem) -> dict[str, object]:
    here = row.record_set
    facts = selectors.picture_facts(row)
    return {
        "picture": facts,
        "record_set": here.public_id,
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "views": VIEWS,
        "forms": entries.forms(),
        "quality": [(key, words, key in facts.quality) for key, words in quality_ticks(row.view).items()],
    }
