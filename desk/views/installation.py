"""The administrator's page about the installation: health, backups, rehearsals of a restore."""

from uuid import UUID

from allauth.account.decorators import reauthentication_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import administrator_only, signed_in_person
from accounts.security_log import note
from desk.installation import BACKUP, HEALTH_CHECK, SUBJECT, ask_for_rehearsal, installation
from filing import kept_backups
from filing.models import Backup
from jobs import services


@administrator_only
@require_safe
def state(request: HttpRequest) -> HttpResponse:
    """Health, backups, and what is being done now."""
    now = timezone.now()
    shown = installation(signed_in_person(request), now)
    return render(request, "desk/installation.html", {"installation": shown})


@administrator_only
@require_POST
def make_backup(request: HttpRequest) -> HttpResponseBase:
    """Ask for a backup."""
    job = services.ask(signed_in_person(request), BACKUP.key, SUBJECT, "", timezone.now())
    return redirect("jobs:status", job.public_id)


@administrator_only
@require_POST
def check_health(request: HttpRequest) -> HttpResponseBase:
    """Ask for a check of everything."""
    job = services.ask(signed_in_person(request), HEALTH_CHECK.key, SUBJECT, "", timezone.now())
    return redirect("jobs:status", job.public_id)


@administrator_only
@require_POST
def rehearse(request: HttpRequest) -> HttpResponseBase:
    """Ask for a rehearsal of a new backup."""
    job = ask_for_rehearsal(signed_in_person(request), None, timezone.now())
    return redirect("jobs:status", job.public_id)


@administrator_only
@require_POST
def rehearse_backup(request: HttpRequest, backup: UUID) -> HttpResponseBase:
    """Ask for a rehearsal of a backup of the list."""
    row = get_object_or_404(Backup, public_id=backup)
    job = ask_for_rehearsal(signed_in_person(request), row, timezone.now())
    return redirect("jobs:status", job.public_id)


@administrator_only
@require_safe
def download_backup(request: HttpRequest, backup: UUID) -> HttpResponseBase:
    """A backup to be kept elsewhere, once the password has been typed anew: it holds everybody's records."""
    row = get_object_or_404(Backup, public_id=backup)
    answer: HttpResponseBase = reauthentication_required(_download)(request, row)
    return answer


def _download(request: HttpRequest, row: Backup) -> HttpResponseBase:
    try:
        stream = kept_backups.open_bytes(row)
    except FileNotFoundError:
        raise Http404 from None
    note("backup downloaded")
    name = f"foliowright-{row.made_at:%Y-%m-%d-%H%M}.backup"
    return FileResponse(stream, as_attachment=True, filename=name, content_type="application/octet-stream")
