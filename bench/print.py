"""One case in print, as a ratio to headless Chromium printing the same page: seconds, and peak memory of all processes.

The case is the first of the invented clinic in the candidate's copy, with photographs of usual size in every usual
view of every stage. Measured is what a job waits for: the child process from its start to the finished file. Chromium
gets the same folder: page, style sheets, typeface, pictures. Memory is the proportional set size of all processes that
were started, sampled all the while.
"""

import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pikepdf

from press.services import render
from tests.debian_chromium import chromium

ROUNDS = 3
AT_MOST_SECONDS = 4
AT_MOST_MEGABYTES = 250
EVERY_SECONDS = 0.02
CHROMIUM = "--headless --no-sandbox --disable-gpu --disable-background-networking --disable-component-update --disable-sync --disable-quic --no-first-run"


def laid_out(data: Path) -> Path:
    """The folder that the child process gets, made as a job makes it; by a process with a data folder of its own."""
    folder = data / "print"
    folder.mkdir(parents=True)
    environment = os.environ | {
        "FOLIOWRIGHT_DATA": str(data),
        "FOLIOWRIGHT_DATABASE": "",
        "FOLIOWRIGHT_LOG": "error",
        "DJANGO_SETTINGS_MODULE": "config.settings",
    }
    command = [sys.executable, "-m", "bench._case_to_print", str(folder)]
    subprocess.run(command, env=environment, check=True)
    return folder


def descendants() -> list[int]:
    """Process ids of everything this process has started and that still runs."""
    parents: dict[int, list[int]] = {}
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(place.read_text().rpartition(")")[2].split()[1])
        except OSError:
            continue
        parents.setdefault(parent, []).append(int(place.parent.name))
    found, ahead = [], [os.getpid()]
    while ahead:
        children = parents.get(ahead.pop(), [])
        found += children
        ahead += children
    return found


def megabytes(processes: list[int]) -> float:
    """Proportional set size of these processes together."""
    total = 0
    for number in processes:
        try:
            lines = Path(f"/proc/{number}/smaps_rollup").read_text().splitlines()
        except OSError:
            continue
        total += sum(int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return total / 1024


@dataclass(frozen=True)
class Cost:
    """What a print took: seconds that passed, seconds of processors, megabytes at the peak."""

    seconds: float
    processor: float
    peak: float


def processor_seconds() -> float:
    """Of all processes that this one has started and that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def measured(work: Callable[[], None]) -> Cost:
    """What a piece of work costs in the processes that it starts."""
    over = threading.Event()
    peak = 0.0

    def look() -> None:
        nonlocal peak
        while not over.wait(EVERY_SECONDS):
            peak = max(peak, megabytes(descendants()))

    watch = threading.Thread(target=look)
    watch.start()
    before, began = processor_seconds(), time.perf_counter()
    try:
        work()
        seconds = time.perf_counter() - began
    finally:
        over.set()
        watch.join()
    return Cost(seconds, processor_seconds() - before, peak)


def afresh(folder: Path, to: Path) -> Path:
    shutil.copytree(folder, to)
    return to


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="foliowright-bench-") as name:
        place = Path(name)
        folder = laid_out(place / "data")
        ours, theirs = [], []
        for number in range(ROUNDS):
            here = afresh(folder, place / f"ours-{number}")
            ours.append(measured(lambda: _keep(render(here), place / "ours.pdf")))  # noqa: B023
            there = afresh(here, place / f"theirs-{number}")
            command = [chromium(), *CHROMIUM.split(), f"--user-data-dir={there / 'profile'}"]
            command += [f"--print-to-pdf={place / 'theirs.pdf'}", (there / "page.html").as_uri()]
            theirs.append(measured(lambda: _run(command)))  # noqa: B023
        _tell(place, ours, theirs)


def _keep(printed: Path, to: Path) -> None:
    shutil.copyfile(printed, to)


def _run(command: list[str]) -> None:
    subprocess.run(command, check=True, capture_output=True, timeout=120)


def _tell(place: Path, ours: list[Cost], theirs: list[Cost]) -> None:
    size = (place / "ours.pdf").stat().st_size / 1e6
    print(
        f"{_pages(place / 'ours.pdf')} pages, {size:.1f} MB; median of {ROUNDS} prints by turns, highest peak"
    )
    mine, other = _middle(ours), _middle(theirs)
    for name, cost in (("child process", mine), (f"Chromium ({_pages(place / 'theirs.pdf')} pages)", other)):
        print(
            f"{name:20} {cost.seconds:5.2f} s ({cost.processor:.2f} s of processors), peak {cost.peak:.0f} MB"
        )
    print(
        f"ratio: time {mine.seconds / other.seconds:.2f}, processors {mine.processor / other.processor:.2f}, "
        f"memory {mine.peak / other.peak:.2f}; wanted under {AT_MOST_SECONDS} s and {AT_MOST_MEGABYTES} MB"
    )


def _middle(costs: list[Cost]) -> Cost:
    return Cost(
        statistics.median(one.seconds for one in costs),
        statistics.median(one.processor for one in costs),
        max(one.peak for one in costs),
    )


def _pages(file: Path) -> int:
    with pikepdf.open(file) as pdf:
        return len(pdf.pages)


if __name__ == "__main__":
    main()
