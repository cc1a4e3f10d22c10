"""Plans that come with the app: invented examples to copy and change.  Pure; one plan file for each key."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from plans.document import Plan
from plans.plan_file import read_text

_FOLDER = Path(__file__).parent
KEYS = tuple(sorted(path.stem for path in _FOLDER.glob("*.json")))
"""The key of every shipped plan: the name of its file."""


@cache
def shipped() -> Mapping[str, Plan]:
    """Key → plan, read once; a file that is no plan stops the start with its faults."""
    return {key: read_text((_FOLDER / f"{key}.json").read_text(encoding="utf-8")) for key in KEYS}
