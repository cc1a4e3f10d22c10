"""Reads docker-compose.yml as a test needs it: merged, with its variables put in."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

PROJECT = Path(__file__).resolve().parents[2]
# The Compose Specification, "Interpolation": ${NAME:-what stands there if NAME is unset or empty}.
VARIABLE = re.compile(r"\$\{(?P<name>\w+):-(?P<default>[^}]*)\}")


def compose_file(environment: Mapping[str, str] | None = None) -> dict[str, Any]:
    """The file with its merge keys resolved; variables come from the environment given, which is empty by default."""
    read: dict[str, Any] = yaml.safe_load((PROJECT / "docker-compose.yml").read_text(encoding="utf-8"))
    filled: dict[str, Any] = _filled(read, environment or {})
    return filled


def _filled(value: Any, environment: Mapping[str, str]) -> Any:
    """The value with the variables in its texts put in."""
    if isinstance(value, dict):
        return {key: _filled(entry, environment) for key, entry in value.items()}
    if isinstance(value, list):
        return [_filled(entry, environment) for entry in value]
    if isinstance(value, str):
        value = VARIABLE.sub(lambda found: environment.get(found["name"]) or found["default"], value)
        assert "$" not in value, "a variable that is written otherwise"
    return value


def let_into_the_image() -> set[str]:
    """Names of files and folders that .dockerignore lets into the image, which leaves everything else out."""
    lines = (PROJECT / ".dockerignore").read_text(encoding="utf-8").splitlines()
    rules = [line for line in lines if line and not line.startswith("#")]
    assert rules[0] == "*"
    assert [rule for rule in rules[1:] if not rule.startswith("!")] == ["static/vendor", "**/__pycache__"]
    return {rule.removeprefix("!") for rule in rules if rule.startswith("!")}


def lay_out_image(folder: Path) -> None:
    """Put into the folder what the image holds in /app, compiled; what its build fetches is led to, not copied."""
    folder.mkdir()
    for name in let_into_the_image():
        source = PROJECT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("vendor"))
        else:
            shutil.copy(source, folder / name)
    (folder / "static" / "vendor").symlink_to(PROJECT / "static" / "vendor")


def image_environment() -> dict[str, str]:
    """What the image file sets for every process, with the programs of this project's environment first."""
    text = (PROJECT / "Dockerfile").read_text(encoding="utf-8").replace("\\\n", " ")
    lines = re.findall(r"^ENV (.*)$", text, re.M)
    found = dict(entry.split("=", 1) for line in lines for entry in line.split())
    assert found.pop("PATH") == "/app/.venv/bin:$PATH"
    return {**found, "PATH": f"{PROJECT / '.venv' / 'bin'}:{os.environ['PATH']}"}
