"""What a plan may ask of a case: one class for each kind of condition, found by the modules of this folder.  Pure."""

import pkgutil
from collections.abc import Mapping
from importlib import import_module
from typing import Any

from plans.answers import Answer, Lack
from plans.requirements.reading import RequirementRefused, read_into
from plans.requirements.requirement import Field, Requirement, walk
from portfolio.finding_sheet import Fault

__all__ = [
    "GROUPS",
    "KINDS",
    "Answer",
    "Fault",
    "Field",
    "Lack",
    "Requirement",
    "RequirementRefused",
    "read",
    "read_at",
    "walk",
]

GROUPS: Mapping[str, str] = {
    "scores": "Scores",
    "occlusion": "Occlusion and arches",
    "teeth": "Teeth, dentition and age",
    "course": "Course of treatment",
    "records": "Records and time",
    "groups": "Several conditions",
}
"""Groups of kinds in the order of the editor's list."""


def _scanned() -> dict[str, type[Requirement]]:
    found: dict[str, type[Requirement]] = {}
    for module in pkgutil.iter_modules(__path__):
        for one in getattr(import_module(f"{__name__}.{module.name}"), "REQUIREMENTS", ()):
            if one.kind in found or one.group not in GROUPS:
                raise ImportError(f"plans/requirements/{module.name}: {one.kind} is doubled or has no group")
            found[one.kind] = one
    order = tuple(GROUPS)
    return dict(sorted(found.items(), key=lambda pair: order.index(pair[1].group)))


KINDS: Mapping[str, type[Requirement]] = _scanned()
"""Kind → class, in the order of the editor's list."""


def read_at(data: Any, path: str, faults: list[Fault]) -> Requirement | None:
    """The condition of a larger file; None with every fault and its path added to `faults`."""
    return read_into(KINDS, data, path, faults)


def read(data: Any) -> Requirement:
    """A condition from JSON data (not text); RequirementRefused with every fault together."""
    faults: list[Fault] = []
    found = read_at(data, "condition", faults)
    if found is None:
        raise RequirementRefused(faults)
    return found
