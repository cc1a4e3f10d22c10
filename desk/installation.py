"""The state of the installation for its administrators, and the three jobs they may ask for."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from accounts.models import User
from filing import health, kept_backups, rehearsal, trial_place
from filing.backup_file import BackupRefused
from filing.models import Backup, HealthCheck, Rehearsal
from imaging.services import make_lost_renditions_anew
from jobs import selectors, services
from jobs.handle import JobFailed, JobHandle
from jobs.models import Job
from jobs.registry import Kind
from jobs.selectors import ShownJob

SUBJECT = "installation"
FRESH = timedelta(days=7)
"""A newest backup that is older is pointed out."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One health check as the page shows it."""

    at: datetime
    good: bool
    scope: str
    results: tuple[health.Result, ...]


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """One rehearsal of a restore as the page shows it; `size` of its backup in bytes."""

    at: datetime
    good: bool
    size: int | None
    results: tuple[health.Result, ...]


@dataclass(frozen=True, slots=True)
class KeptBackup:
    """One backup of the list, with the last rehearsal of it."""

    public_id: UUID
    made_at: datetime
    size: int
    files: int
    sealed: bool
    rehearsed: Rehearsed | None


@dataclass(frozen=True, slots=True)
class Installation:
    """What the page shows; `stale` says that no backup is younger than a week."""

    checked: Checked | None
    backups: tuple[KeptBackup, ...]
    stale: bool
    rehearsed: Rehearsed | None
    sealed: bool
    days_kept: int
    jobs: tuple[ShownJob, ...]


def installation(user: User, at: datetime) -> Installation:
    """The last health check and rehearsal, the backups kept, and the last jobs this administrator has asked for."""
    row = HealthCheck.objects.order_by("-at", "-pk").first()
    shown = (selectors.latest(user, kind.key, SUBJECT, at) for kind in (BACKUP, HEALTH_CHECK, REHEARSAL))
    last = rehearsal.last()
    backups = tuple(_kept(one) for one in kept_backups.all_kept())
    return Installation(
        checked=Checked(row.at, row.good, row.get_scope_display(), health.results(row)) if row else None,
        backups=backups,
        stale=bool(backups) and backups[0].made_at < at - FRESH,
        rehearsed=_rehearsed(last) if last else None,
        sealed=bool(settings.BACKUP_PHRASE),
        days_kept=kept_backups.KEPT_FOR.days,
        jobs=tuple(job for job in shown if job is not None),
    )


def _kept(row: Backup) -> KeptBackup:
    last = row.rehearsals.order_by("-at", "-pk").first()
    return KeptBackup(
        row.public_id, row.made_at, row.size, row.files, row.sealed, _rehearsed(last) if last else None
    )


def _rehearsed(row: Rehearsal) -> Rehearsed:
    return Rehearsed(row.at, row.good, row.size, rehearsal.results(row))


def ask_for_rehearsal(by: User, backup: Backup | None, at: datetime) -> Job:
    """The job that rehearses the restore of a kept backup, or of a new one."""
    which = str(backup.public_id) if backup else ""
    return services.ask(by, REHEARSAL.key, SUBJECT, which, at, {"backup": which})


def _make_backup(handle: JobHandle) -> None:
    try:
        kept_backups.make(timezone.now(), settings.BACKUP_PHRASE, handle.progress)
    except BackupRefused as refused:
        raise JobFailed(str(refused)) from refused


def _rehearse(handle: JobHandle) -> None:
    """Rehearse the kept backup of the options, or one that is made now and kept."""
    which = handle.options["backup"]
    row = Backup.objects.filter(public_id=which).first() if which else None
    if which and row is None:
        raise JobFailed("This backup is no longer kept here. Make a new one.")
    if row is not None and row.sealed and not settings.BACKUP_PHRASE:
        raise JobFailed(
            "This backup is encrypted, and the app was started without its pass phrase. Name its file in "
            "FOLIOWRIGHT_BACKUP_KEY_FILE and start the app anew."
        )
    try:
        if row is None:
            row = kept_backups.make(
                timezone.now(),
                settings.BACKUP_PHRASE,
                lambda percent, words: handle.progress(percent * rehearsal.MADE // 100, words),
            )
        done = rehearsal.rehearse(
            timezone.now(),
            handle.progress,
            file=kept_backups.file_of(row),
            phrase=settings.BACKUP_PHRASE if row.sealed else "",
            kept=row,
        )
    except (BackupRefused, trial_place.Busy) as refused:
        raise JobFailed(str(refused)) from refused
    if not done.good:
        raise JobFailed("The rehearsal failed; see what was found.")


def _check_health(handle: JobHandle) -> None:
    handle.progress(5, "Reading every file")
    if health.check(timezone.now()).good:
        return
    handle.progress(80, "Making lost pictures anew from their originals")
    if make_lost_renditions_anew(timezone.now()):
        handle.progress(90, "Reading every file once more")
        if health.check(timezone.now()).good:
            return
    raise JobFailed("The check found something wrong; see the list.")


def _page(subject: str) -> str:
    return reverse("desk:installation")


BACKUP = Kind("backup", "Backup of the installation", _make_backup, _page)
HEALTH_CHECK = Kind("health_check", "Health check of everything", _check_health, _page)
REHEARSAL = Kind("rehearsal", "Rehearsal of a restore", _rehearse, _page)
