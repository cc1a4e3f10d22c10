"""Print a folder through the child process: start it, tell that it goes on, stop it, say what went wrong."""

import json
import logging
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from press import typeface

ROOT = Path(__file__).resolve().parent.parent
MEMORY_BYTES = 1_500_000_000
"""Address space, of which a tenth is used for a print of 12 pages."""
SECONDS = 60
OUTPUT_BYTES = 500_000_000
"""No file may be larger that is written; a print with all photographs of a case stays far below."""
REFUSED = 3
LOOK_EVERY_SECONDS = 0.1
logger = logging.getLogger("foliowright.press")


class PressFailed(Exception):
    """Nothing was printed; the message says why, in words for the person who asked."""


def render(
    folder: Path,
    progress: Callable[[], None] = lambda: None,
    *,
    seconds: int = SECONDS,
    memory_bytes: int = MEMORY_BYTES,
    output_bytes: int = OUTPUT_BYTES,
) -> Path:
    """Print folder/page.html, with style sheets and pictures beside it, to folder/out.pdf.

    `progress` is called several times a second and may raise: the child is then ended and nothing is left. The typeface is put into the
    folder here. Raises PressFailed.
    """
    typeface.put_typeface(folder)
    command = [sys.executable, "-m", "press.child", str(folder)]
    command += [str(memory_bytes), str(seconds), str(output_bytes)]
    environment = {
        "PATH": "/usr/bin:/bin",
        "LANG": "C.UTF-8",
        "HOME": str(folder),
        "TMPDIR": str(folder),
        "FONTCONFIG_FILE": str(folder / "fonts.conf"),
    }
    child = _start(command, environment, folder / "said.txt")
    try:
        _wait(child, progress, time.monotonic() + seconds)
    finally:
        if child.poll() is None:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait()
        (folder / "out.pdf.unfinished").unlink(missing_ok=True)
    printed = folder / "out.pdf"
    if child.returncode == REFUSED:
        asked = json.loads((folder / "refused.json").read_text(encoding="utf-8"))
        logger.warning("A page asked for %d addresses outside its folder; all were refused", len(asked))
        raise PressFailed(
            f"The page asks for something outside its own folder, which is refused: {', '.join(asked)}"
        )
    if child.returncode != 0 or not printed.is_file():
        raise PressFailed(
            "The page could not be printed: it needs more memory or time than is allowed, would be too large, "
            "or has a fault."
        )
    return printed


def _start(command: list[str], environment: dict[str, str], said: Path) -> subprocess.Popen[bytes]:
    with said.open("wb") as out:
        return subprocess.Popen(  # noqa: S603 our own module, arguments of our own making
            command,
            cwd=ROOT,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=out,
            start_new_session=True,
        )


def _wait(child: subprocess.Popen[bytes], progress: Callable[[], None], until: float) -> None:
    while child.poll() is None:
        progress()
        if time.monotonic() > until:
            raise PressFailed(
                "The page took longer to print than is allowed. Print fewer pages, or ask for help."
            )
        time.sleep(LOOK_EVERY_SECONDS)
