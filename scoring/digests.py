"""Digests that tell whether what a score was made from has moved."""

import hashlib
from collections.abc import Mapping

from portfolio.finding_sheet import Sheet


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def choices_digest(settled: Mapping[str, str], edition: str | None = None) -> str:
    """A digest over every rule choice with its value, and over the edition where it is not the default."""
    lines = [f"{key}={value}" for key, value in sorted(settled.items())]
    return _digest("\n".join([*lines, f"edition={edition}"] if edition else lines))


def frame_digest(sheet: Sheet) -> str:
    """A digest over what a score reads beside the findings: stage, dentition, teeth that stand."""
    return _digest("\n".join((sheet.stage, sheet.dentition, " ".join(sheet.teeth))))
