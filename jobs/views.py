"""Pages of one job: how far it is, cancel, run again, its result."""

from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import from_page_script, signed_in, signed_in_person
from filing import selectors as filing_selectors
from jobs import registry, selectors, services
from jobs.access import visible_jobs
from jobs.handle import JobFailed
from jobs.models import Job
from jobs.withholding import why_withheld

REFUSED = 422
GONE_WORDS = "This version of Foliowright no longer does this work."


@signed_in
@require_safe
def status(request: HttpRequest, job: UUID) -> HttpResponse:
    """A page about one job; a page's script gets the part that changes."""
    return _answer(request, _job_or_404(request, job))


@signed_in
@require_POST
def cancel(request: HttpRequest, job: UUID) -> HttpResponseBase:
    """Cancel; a job that has ended meanwhile stays as it is."""
    row = services.cancel(signed_in_person(request), _job_or_404(request, job), timezone.now())
    if from_page_script(request):
        return _answer(request, row)
    return redirect("jobs:status", row.public_id)


@signed_in
@require_POST
def again(request: HttpRequest, job: UUID) -> HttpResponseBase:
    """Do the work once more, as its subject is now; what stands against it is said beside the button."""
    row = _job_or_404(request, job)
    try:
        row = services.ask_again(row, timezone.now())
    except registry.UnknownKind:
        return _answer(request, row, GONE_WORDS)
    except JobFailed as failure:
        return _answer(request, row, str(failure))
    if from_page_script(request):
        return _answer(request, row)
    return redirect("jobs:status", row.public_id)


@signed_in
@require_safe
def result(request: HttpRequest, job: UUID) -> HttpResponseBase:
    """Download what the job has made; leads back to its page while there is nothing, or nothing any more."""
    row = _job_or_404(request, job)
    if row.result is None:
        return redirect("jobs:status", row.public_id)
    if why := why_withheld(row, timezone.now()):
        messages.warning(request, why)
        return redirect("jobs:status", row.public_id)
    try:
        stream = filing_selectors.open_bytes(row.result)
    except filing_selectors.BytesMissing:
        messages.warning(request, "The file is missing in the data folder. Run the work again.")
        return redirect("jobs:status", row.public_id)
    return FileResponse(
        stream,
        as_attachment=True,
        filename=row.result.shown_name or "result",
        content_type=row.result.media_type,
    )


def _job_or_404(request: HttpRequest, public_id: UUID) -> Job:
    if not request.user.is_authenticated:
        raise Http404
    return get_object_or_404(
        visible_jobs(request.user).select_related("result", "asked_by"), public_id=public_id
    )


def _answer(request: HttpRequest, row: Job, refused: str = "") -> HttpResponse:
    template = "jobs/part.html" if from_page_script(request) else "jobs/status.html"
    shown = {"job": selectors.shown(row, timezone.now()), "refused": refused}
    return render(request, template, shown, status=REFUSED if refused else 200)
