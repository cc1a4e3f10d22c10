"""Sheets of finished casts for tests, and what the outcome evaluation says of them."""

from portfolio.readings import Sheet
from scoring import registry
from scoring.kernel import asks
from scoring.result import Score
from tests.scoring.sheets import neutral_with

INDEX = registry.index("outcome")
CAST_ROWS = "alignment_step ridge_step inclination_step occlusal_gap relation_step facing_gap gap".split()


def final(changes: list[str], **frame: str) -> Sheet:
    return neutral_with(changes, "outcome", **({"stage": "final"} | frame))


def scored(changes: list[str], **frame: str) -> Score:
    return registry.score("outcome", final(changes, **frame))


def asked(found: Sheet, quantity: str, edition: str | None = None) -> tuple[str, ...]:
    return next(a.sites for a in asks(INDEX, found, edition=edition) if a.quantity == quantity)


def lacking(score: Score) -> dict[str, tuple[str, ...]]:
    return {m.quantity: m.sites for m in score.missing}


def out(score: Score) -> list[tuple[str, str]]:
    listed = score.extra["left_out"]
    assert isinstance(listed, list)
    return [(str(one.get("tooth") or one["site"]), str(one["why"])) for one in listed]
