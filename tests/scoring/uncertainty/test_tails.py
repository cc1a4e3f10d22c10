"""Chances of whole totals, what is kept of them, and when errors are other errors."""

import json
import math
from decimal import Decimal

import pytest

from portfolio.errors import OwnError
from scoring.registry import INDEXES
from scoring.uncertainty import BY_FINDING, ErrorModel, Question, errors_digest, law_of, read_tails, tails
from tests.scoring.sheets import neutral_with
from tests.scoring.uncertainty.mouths import unsure


def test_tails_are_the_chances_of_every_whole_total_and_survive_being_kept() -> None:
    contacts = [f"contact_offset {c} 1.3" for c in ("43-42", "42-41", "41-31", "31-32", "32-33")]
    lengths = law_of(
        INDEXES["irregularity"],
        neutral_with(["- contact_offset lower", *contacts], "irregularity"),
        BY_FINDING,
    ).total
    weighted = law_of(INDEXES["par"], unsure("par"), edition="us1995").total
    for total in (law_of(INDEXES["discrepancy"], unsure("discrepancy")).total, lengths, weighted):
        told = tails(total)
        assert told.sd == total.sd
        for n in range(math.floor(total.values[0]) - 2, math.ceil(total.values[-1]) + 3):
            assert told.at_least(n) == pytest.approx(total.at_least(n), abs=1e-13)
            assert told.by_total.get(n, told.at_least(n)) == told.at_least(n)
        assert list(told.chances) == sorted(told.chances, reverse=True)
        assert read_tails(json.loads(json.dumps(told.as_json()))) == told
    with pytest.raises(KeyError):
        read_tails({})


def test_the_digest_of_errors_moves_with_whatever_moves_a_law_and_with_nothing_else() -> None:
    mine, few = (OwnError("overjet", "caliper", 0.2, 0.0, n) for n in (40, 19))
    plain = ErrorModel(step=Decimal("0.1"))
    models = (
        plain,
        ErrorModel((mine,), step=Decimal("0.1")),
        ErrorModel(step=Decimal("0.5")),
        ErrorModel(step=Decimal("0.1"), offset_mm=0.2),
        ErrorModel(step=Decimal("0.1"), missed=0.05),
        ErrorModel(step=Decimal("0.1"), readings={("anb", "mouth"): (Decimal(4), Decimal(5))}),
    )
    digests = {errors_digest(model, question) for model in models for question in Question}
    assert len(digests) == 2 * len(models)
    told = errors_digest(plain, Question.TRUE_SCORE)
    assert errors_digest(ErrorModel((few,), step=Decimal("0.10")), Question.TRUE_SCORE) == told
