"""Cases to hold conditions against, in as few words as possible; everything in them is invented."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from plans import requirements
from plans.answers import Answer
from plans.facts import CaseFacts, CourseFacts, RecordFact, ScoreFact, StageFacts
from portfolio.finding_sheet import Finding, Sheet

Cells = Mapping[str, str]
"""`quantity site` → value."""


def day(text: str) -> date:
    return date.fromisoformat(text)


def sheet(cells: Cells, *, stage: str = "initial", **frame: Any) -> Sheet:
    """A sheet of findings by caliper on plaster, in a permanent dentition unless said otherwise."""
    findings = tuple(_finding(place, value) for place, value in cells.items())
    return Sheet(stage=stage, findings=findings, **{"dentition": "permanent", "medium": "plaster", **frame})


def _finding(place: str, value: str) -> Finding:
    quantity, site = place.split()
    return Finding(quantity, site, value)


def seen(cells: Cells, *, stage: str = "initial", **frame: Any) -> CaseFacts:
    """A case of which one stage was measured."""
    found = sheet(cells, stage=stage, **frame)
    return CaseFacts("A", "P", stages={stage: StageFacts(stage, sheet=found)})


def staged(stage: str = "initial", **parts: Any) -> CaseFacts:
    """A case with one stage that is described but not measured."""
    return CaseFacts("A", "P", stages={stage: StageFacts(stage, **parts)})


def course(*, over: bool = True, **parts: Any) -> CaseFacts:
    """A case of which only the course is known, by default with its end."""
    days = {"end": date(2025, 1, 1)} if over else {}
    return CaseFacts("A", "P", course=CourseFacts(days, **parts))


def scored(
    total: str | None,
    *,
    index: str = "discrepancy",
    stage: str = "initial",
    under: Mapping[str, str | None] | None = None,
    **parts: Any,
) -> CaseFacts:
    """A case with one score; `under` are the totals of other rule choices."""
    choices = None if under is None else {k: None if v is None else Decimal(v) for k, v in under.items()}
    fact = ScoreFact(
        index,
        stage,
        parts.pop("edition", "worksheet"),
        None if total is None else Decimal(total),
        parts.pop("complete", True),
        under=choices,
        **parts,
    )
    return CaseFacts("A", "P", scores={(index, stage): fact})


def filed(stage: str = "initial", **records: str) -> CaseFacts:
    """A case with records: `present`, `not_filed`, `not_taken` or `not_taken: reason`."""
    facts = {}
    for key, said in records.items():
        state, _, reason = said.partition(": ")
        facts[key] = RecordFact(state, reason)  # type: ignore[arg-type]
    return staged(stage, records=facts)


def answer(kind: str, facts: CaseFacts, **fields: Any) -> Answer:
    """A condition read from its JSON and held against a case."""
    return requirements.read({"kind": kind, **fields}).evaluate(facts)


def state(kind: str, facts: CaseFacts, **fields: Any) -> str:
    return answer(kind, facts, **fields).state


FRONT = ("13", "12", "11", "21", "22", "23")


def front(quantity: str, values: str) -> dict[str, str]:
    """A bite of the six upper front teeth from right to left; `.` is not recorded."""
    return {f"{quantity} {t}": v for t, v in zip(FRONT, values.split(), strict=True) if v != "."}
