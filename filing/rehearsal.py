"""A rehearsal of the emergency: a backup is restored into an empty place and proven there, then all of it is gone.

The restore is the very command an administrator would give, in a process of its own that knows nothing of the
present installation but the backup and its pass phrase. It compares every checksum, counts the rows, checks the health and prints
one case. What came of it is kept and shown.
"""

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import astuple, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO

from django.conf import settings
from django.template.defaultfilters import filesizeformat

from filing import backup, result_lines
from filing.backup_file import BackupRefused
from filing.health import Result
from filing.models import Backup, Rehearsal
from filing.trial_place import NoPlace, TrialPlace, trial_place

LOOK_SECONDS = 0.2
MADE, PLACED, RESTORING, RESTORED = 40, 45, 50, 95
STEP = 10
"""Percent reached after each step, and what each line of the restore adds."""

RESTORED_WORDS = "It was restored: every checksum and the rows of every table agree with its manifest."

Tell = Callable[[int, str], None]


class RehearsalFailed(Exception):
    """A step did not succeed; its words stand in the report."""


@dataclass(slots=True)
class _Course:
    """What has been done so far, and how large the backup is."""

    at: datetime
    tell: Tell
    done: list[Result] = field(default_factory=list)
    size: int | None = None
    sealed: bool = False

    def note(self, what: str, good: bool, words: str) -> None:
        self.done.append(Result(what, good, words))

    def stop(self, what: str, words: str) -> RehearsalFailed:
        self.note(what, False, words)
        return RehearsalFailed(words)


def rehearse(
    at: datetime, tell: Tell, *, file: Path | None = None, phrase: str = "", kept: Backup | None = None
) -> Rehearsal:
    """Rehearse the restore of a backup file, or of a fresh backup of this installation; what came of it, kept.

    `tell` gets percent and words and may raise to break off: then nothing is left and nothing is kept. `kept` is the
    row of the file, if the app has made it. Raises trial_place.Busy, with nothing kept, while another rehearsal goes on.
    """
    course = _Course(at, tell)
    try:
        with trial_place() as place:
            _in_place(course, place, file, phrase)
        course.note("cleared", True, "The place of the rehearsal was cleared away.")
    except RehearsalFailed:
        pass
    except NoPlace as missing:
        course.note("place", False, str(missing))
    return Rehearsal.objects.create(
        at=at,
        good=all(result.good for result in course.done),
        backup=kept,
        size=course.size,
        sealed=course.sealed,
        report=[list(astuple(result)) for result in course.done],
    )


def last() -> Rehearsal | None:
    """The rehearsal of the latest date."""
    return Rehearsal.objects.order_by("-at", "-pk").first()


def results(row: Rehearsal) -> tuple[Result, ...]:
    """The report of a kept rehearsal, step by step."""
    return tuple(Result(str(what), bool(good), str(words)) for what, good, words in row.report)


def _in_place(course: _Course, place: TrialPlace, file: Path | None, phrase: str) -> None:
    if file is None:
        file = place.folder / "made.backup"
        try:
            made = backup.make(
                file, course.at, phrase, lambda percent, words: course.tell(percent * MADE // 100, words)
            )
        except BackupRefused as refused:
            raise course.stop("backup", str(refused)) from refused
        course.note(
            "backup",
            True,
            f"A backup of this installation was made: database and {made.files} files, {filesizeformat(made.size)}.",
        )
    elif not file.is_file():
        raise course.stop("backup", f"{file} is no file. Name the file that `backup` has written.")
    else:
        course.note("backup", True, f"The backup has {filesizeformat(file.stat().st_size)}.")
    course.size, course.sealed = file.stat().st_size, bool(phrase)
    course.tell(PLACED, "Making an empty place")
    course.note("place", True, place.words)
    _restore(course, place, file, phrase)


def _restore(course: _Course, place: TrialPlace, file: Path, phrase: str) -> None:
    command = [sys.executable, "manage.py", "restore", str(file.absolute())]
    if phrase:
        command += ["--key-file", "/dev/stdin"]
    said, complained = place.folder / "said.txt", place.folder / "complained.txt"
    with (
        said.open("w") as out,
        complained.open("w") as errors,
        _started(command, place, out, errors) as child,
    ):
        if child.stdin is not None:
            with suppress(BrokenPipeError):
                child.stdin.write(phrase + "\n")
                child.stdin.close()
        while child.poll() is None:
            lines = said.read_text(encoding="utf-8").splitlines()
            course.tell(min(RESTORING + STEP * len(lines), RESTORED), lines[-1] if lines else "Restoring")
            time.sleep(LOOK_SECONDS)
    if child.returncode:
        words = complained.read_text(encoding="utf-8").strip().removeprefix("CommandError: ")
        raise course.stop(
            "restore", words.splitlines()[-1] if words else f"restore ended with status {child.returncode}."
        )
    course.note("restore", True, RESTORED_WORDS)
    course.done += result_lines.read(said.read_text(encoding="utf-8").splitlines())
    course.tell(RESTORED, "Clearing the place away")


@contextmanager
def _started(
    command: list[str], place: TrialPlace, out: IO[str], errors: IO[str]
) -> Iterator["subprocess.Popen[str]"]:
    """The command as a process that holds the trial's lock and is ended when this one breaks off."""
    child = subprocess.Popen(  # noqa: S603 our own command
        command,
        cwd=settings.BASE_DIR,
        env=place.environment,
        stdin=subprocess.PIPE,
        stdout=out,
        stderr=errors,
        text=True,
        pass_fds=(place.lock,),
    )
    try:
        yield child
    finally:
        if child.poll() is None:
            child.kill()
        child.wait()
