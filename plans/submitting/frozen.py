"""What is frozen of a submission, as data, and its digests.  Pure.

A digest is SHA-256 over canonical JSON: sorted keys, no spaces, UTF-8. That of a submission is over its head and the
digests of its cases, so each case can be checked alone, and the whole without reading a case.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from plans.answers import Answer
from plans.document import Plan


@dataclass(frozen=True, slots=True)
class FrozenScore:
    """A kept score: its public id, what it is of, its total as shown, and what it was made from."""

    run: str
    index: str
    stage: str
    edition: str
    total: str
    complete: bool
    sheet_version: int
    rules_digest: str
    choices_digest: str
    categories: Mapping[str, str | None]

    def as_json(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.__slots__}


def head_json(plan: Plan, number: int, plan_digest: str, order: Sequence[str], reason: str) -> dict[str, Any]:
    """The plan, its slots, and why something was left open; `order` are the slots in the order of submission."""
    return {
        "submission": 1,
        "plan": {"name": plan.name, "version": number, "digest": plan_digest},
        "slots": [{"key": slot.key, "label": slot.label} for slot in plan.slots],
        "order": list(order),
        "reason": reason,
    }


def case_json(
    code: str,
    clauses: Iterable[tuple[str, Answer]],
    records: Iterable[tuple[str, Answer]],
    scores: Iterable[FrozenScore],
) -> dict[str, Any]:
    """One case: every clause of its slot with state and values, the rules about records, the kept scores."""
    return {
        "case": code,
        "clauses": [_clause(*one) for one in clauses],
        "records": [_clause(*one) for one in records],
        "scores": [score.as_json() for score in scores],
    }


def _clause(sentence: str, answer: Answer) -> dict[str, str]:
    return {"sentence": sentence, "state": answer.words, "says": answer.says}


def digest(data: object) -> str:
    """The digest of JSON data."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def whole_digest(head: Mapping[str, Any], parts: Iterable[str]) -> str:
    """The digest of a submission from its head and the digests of its cases, in the order of their slots."""
    return digest({"head": head, "cases": list(parts)})
