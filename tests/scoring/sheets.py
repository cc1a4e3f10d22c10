"""Sheets for tests, written the way worked cases write findings: `overjet 11 3.5`."""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from portfolio import sites, teeth
from portfolio.readings import Finding, Sheet, check
from portfolio.vocabulary import QUANTITIES
from scoring import indices

DISCREPANCY = "discrepancy"


def finding(text: str) -> Finding:
    """`quantity site value [plane]` as a finding; molar_substitute gets the note it needs unless `unnoted` follows."""
    quantity, site, value, *rest = text.split()
    if quantity == "molar_substitute":
        return Finding(quantity, site, value, note="" if rest == ["unnoted"] else "read at the neighbour")
    return Finding(quantity, site, value, plane=rest[0] if rest else "")


def sheet(
    texts: Iterable[str], teeth: str = "", dentition: str = "permanent", stage: str = "initial"
) -> Sheet:
    """A sheet of the given findings; fails when the sheet itself is refused."""
    made = Sheet(stage, dentition, tuple(finding(t) for t in texts), tuple(teeth.split()))
    faults = [str(f) for f in check(made)]
    if faults:
        raise ValueError("; ".join(faults))
    return made


@lru_cache
def _file(index: str) -> dict[str, Any]:
    return tomllib.loads((Path(indices.__path__[0]) / index / "worked_cases.toml").read_text())


def neutral_with(changes: Iterable[str] = (), index: str = DISCREPANCY, **frame: str) -> Sheet:
    """The index's neutral sheet (complete, nothing wrong) with findings replaced, added, or taken out by `- `."""
    found = {tuple(text.split()[:2]): text for text in _file(index)["neutral"]}
    for change in changes:
        if change.startswith("- "):
            found.pop(tuple(change.split()[1:3]))
        else:
            found[tuple(change.split()[:2])] = change
    return sheet(found.values(), **frame)


@dataclass(frozen=True)
class Case:
    """One worked case of the file."""

    name: str
    origin: str
    source: str
    sheet: Sheet
    choices: dict[str, str]
    points: dict[str, Decimal]
    total: Decimal | None
    complete: bool
    missing: list[str] = field(default_factory=list)
    edition: str | None = None
    says: dict[str, Any] = field(default_factory=dict)
    """What else the printed score holds, such as `grade`."""


def cases(index: str = DISCREPANCY) -> list[Case]:
    """All worked cases of an index; one without `total` and `floor` has none, `complete` then tells."""
    return [
        Case(
            name=raw["name"],
            origin=raw["from"],
            source=raw.get("source", ""),
            sheet=neutral_with(
                raw["findings"],
                index,
                teeth=raw.get("teeth", ""),
                dentition=raw.get("dentition", _file(index).get("dentition", "permanent")),
                stage=raw.get("stage", _file(index).get("stage", "initial")),
            ),
            choices=raw.get("choices", {}),
            points={key: Decimal(str(value)) for key, value in raw.get("points", {}).items()},
            total=next((Decimal(str(raw[key])) for key in ("total", "floor") if key in raw), None),
            complete=raw.get("complete", "total" in raw),
            missing=raw.get("missing", []),
            edition=raw.get("edition"),
            says=raw.get("says", {}),
        )
        for raw in _file(index)["case"]
    ]


SIDED = ("midline_offset", "upper_midline_face", "lower_midline_face", "chin_deviation", "occlusal_cant")
"""Quantities whose sign names a side of the patient."""


def mirrored(sheet: Sheet) -> Sheet:
    """The same mouth with right and left exchanged."""
    turned = []
    for f in sheet.findings:
        value = f.value
        if f.quantity in SIDED and value not in ("0", "none"):
            value = value.removeprefix("-") if value[0] == "-" else f"-{value}"
        if f.quantity == "shift_direction":
            value = {"left": "right", "right": "left"}.get(value, value)
        if QUANTITIES[f.quantity].kind == "tooth":
            value = teeth.mirror(value)
        turned.append(replace(f, site=sites.mirror(f.site), value=value))
    return replace(sheet, findings=tuple(turned), teeth=tuple(teeth.mirror(t) for t in sheet.teeth))
