"""The exact chances against 50-digit arithmetic, the check values of the reference, and large fixed draws."""

import json
import math
import random
from dataclasses import replace
from decimal import Decimal, localcontext
from pathlib import Path

import numpy as np
import pytest

from portfolio.finding_sheet import Finding, Sheet
from scoring.registry import INDEXES
from scoring.uncertainty import BY_FINDING, Distribution, ErrorModel, Question, law_of
from scoring.uncertainty.dense import Unit, dense, summed
from scoring.uncertainty.normal import hermite
from scoring.uncertainty.parts import Part, at, single
from scoring.uncertainty.reading import Law, Reading
from scoring.uncertainty.shared import rectangles
from scoring.uncertainty.worked import taken_apart
from tests.scoring.sheets import cases, neutral_with
from tests.scoring.uncertainty.drawing import totals
from tests.scoring.uncertainty.fifty_digits import exact_below
from tests.scoring.uncertainty.mouths import WITH_MUCH, traced, unsure

INVENTED = json.loads((Path(__file__).parent / "invented_index.json").read_text())


def invented_parts(factor: float = 1.0) -> tuple[list[Part], dict[tuple[str, str], Reading]]:
    parts, readings = [], {}
    for term in INVENTED["terms"]:
        place = (term["name"], "mouth")
        cuts = tuple(Decimal(str(c)) for c in term["cuts"])
        scores = tuple(Decimal(s) for s in term["scores"])

        def points(
            value: object, cuts: tuple[Decimal, ...] = cuts, scores: tuple[Decimal, ...] = scores
        ) -> Decimal:
            return scores[sum(c <= value for c in cuts)]  # type: ignore[operator]

        parts.append(single(str(term["category"]), place, points, at(*cuts)))
        readings[place] = Reading(
            place, Decimal(0), Law("normal", mean=term["value"], sd=term["sd"] * factor)
        )
    for number, coded in enumerate(INVENTED["categorical"]):
        place = ("code", str(number))
        scored = {str(k): Decimal(s) for k, s in enumerate(coded["scores"])}
        parts.append(single(str(coded["category"]), place, lambda v, t=scored: t[v]))  # type: ignore[misc]
        law = Law("code", codes=tuple((str(k), p) for k, p in enumerate(coded["probs"])))
        readings[place] = Reading(place, "0", law)
    return parts, readings


def invented_total(factor: float = 1.0) -> Distribution:
    parts, readings = invented_parts(factor)
    worked = taken_apart(parts, readings, *hermite(1))
    laws = [
        dense(worked.block_law(b, c.grid), lambda p: sum(p, Decimal(0)), Unit(Decimal(1)))
        for c in worked.clusters
        for b in c.blocks
    ]
    one = summed(laws)
    return Distribution(one.first, one.chances[0])


def test_the_invented_index_of_the_reference_comes_out_to_its_tolerance() -> None:
    told = INVENTED["computed"]
    total = invented_total()
    assert total.mean == pytest.approx(told["mean"], abs=INVENTED["tolerance"])
    assert total.sd == pytest.approx(told["sd"], abs=INVENTED["tolerance"])
    for limit, chance in told["P_ge"].items():
        assert total.at_least(limit) == pytest.approx(chance, abs=INVENTED["tolerance"])
    assert total.probabilities[Decimal(INVENTED["nominal_total"])] == pytest.approx(
        told["P_equal_nominal"], abs=INVENTED["tolerance"]
    )
    # another examiner of equal precision: the deviations times 1.41 (part 2.1 of the reference)
    assert invented_total(math.sqrt(2)).at_least(28) == pytest.approx(0.636, abs=5e-4)


def test_the_discrepancy_total_equals_fifty_digit_arithmetic() -> None:
    """Twelve uncertain findings of a sheet whose other findings are certain, convolved by hand in 50 digits."""
    certain = tuple(replace(f, sd="0") for f in neutral_with().findings)
    uncertain = {
        ("overjet", "11"): ("5.2", "0.3"),
        ("overbite", "11"): ("4.9", "0.35"),
        ("crowding", "upper"): ("2.8", "0.7"),
        ("anb", "mouth"): ("5.4", "0.7"),
        ("sn_mp", "mouth"): ("37.2", "1.2"),
        ("impa", "mouth"): ("98", "2"),
    }
    findings = [f for f in certain if (f.quantity, f.site) not in uncertain]
    findings = [f for f in findings if not (f.quantity in ("overjet", "overbite") and f.value == "rest_none")]
    findings += [Finding(q, s, v, sd=sd) for (q, s), (v, sd) in uncertain.items()]
    sheet = Sheet("initial", "permanent", tuple(findings))

    def bands(value: str, sd: str, cuts: list[str], points: list[int]) -> dict[int, Decimal]:
        with localcontext() as context:
            context.prec = 60
            below = [exact_below((Decimal(c) - Decimal(value)) / Decimal(sd)) for c in cuts]
            found: dict[int, Decimal] = {}
            for p, low, high in zip(points, [Decimal(0), *below], [*below, Decimal(1)], strict=True):
                found[p] = found.get(p, Decimal(0)) + high - low
            return found

    degrees = [str(Decimal(n) + Decimal("0.5")) for n in range(98, 120)]
    tables = [
        # overjet: 5.2 ± 0.3 lies 17 deviations from 0, where sides are told apart
        bands("5.2", "0.3", ["3", "5", "7", "9"], [0, 2, 3, 4, 5]),
        bands("4.9", "0.35", ["3", "5", "7"], [0, 2, 3, 3]),
        bands("2.8", "0.7", ["1", "3", "5", "7"], [0, 1, 2, 4, 7]),
        # degrees are read to the nearest, halves to fewer points: ANB 6 begins over 5.5
        bands("5.4", "0.7", [f"{n}.5" for n in range(5, 14)], [0, *range(4, 13)]),
        bands("37.2", "1.2", [f"{n}.5" for n in (*range(18, 26), *range(37, 50))][0:8] + [f"{n}.5" for n in range(37, 50)],
              [9 - k for k in range(9)][0:8] + [0] + [2 + 2 * k for k in range(13)]),
        bands("98", "2", degrees, list(range(len(degrees) + 1))),
    ]  # fmt: skip
    total = {0: Decimal(1)}
    for table in tables:
        after: dict[int, Decimal] = {}
        with localcontext() as context:
            context.prec = 60
            for a, p in total.items():
                for b, q in table.items():
                    after[a + b] = after.get(a + b, Decimal(0)) + p * q
        total = after
    law = law_of(INDEXES["discrepancy"], sheet, BY_FINDING)
    base = (
        law.recorded
        - law_of(
            INDEXES["discrepancy"],
            replace(sheet, findings=tuple(replace(f, sd="0") for f in sheet.findings)),
            BY_FINDING,
        ).total.values[0]
    )
    assert base == 0
    told = law.total.probabilities
    for points, chance in total.items():
        if chance > Decimal("1e-10"):
            assert told[Decimal(points)] == pytest.approx(float(chance), abs=1e-12), points


@pytest.mark.parametrize("rho", [0.0, 0.5, 0.99])
def test_two_tied_numbers_fall_into_quadrants_as_the_closed_form_says(rho: float) -> None:
    """P(both over their mean) = 1/4 + arcsin ρ / 2π (Sheppard 1899)."""
    cuts = ((Decimal(1),), (Decimal(2),))
    boxes, chances = rectangles((1.0, 2.0), ((1.0, 2 * rho), (2 * rho, 4.0)), cuts)
    found = dict(zip(boxes, chances, strict=True))
    assert found[1, 1] == pytest.approx(0.25 + math.asin(rho) / (2 * math.pi), abs=1e-11)


def test_three_tied_numbers_fall_into_octants_as_the_closed_form_says() -> None:
    """P(all three over their mean) = 1/8 + Σ arcsin ρ / 4π."""
    r12, r13, r23 = 0.6, -0.3, 0.2
    spread = ((1.0, r12, r13), (r12, 1.0, r23), (r13, r23, 1.0))
    boxes, chances = rectangles((0.0, 0.0, 0.0), spread, ((Decimal(0),),) * 3)
    wanted = 0.125 + (math.asin(r12) + math.asin(r13) + math.asin(r23)) / (4 * math.pi)
    assert dict(zip(boxes, chances, strict=True))[1, 1, 1] == pytest.approx(wanted, abs=1e-11)


@pytest.mark.parametrize("key", list(WITH_MUCH))
def test_every_total_agrees_with_draws_scored_by_the_rules_themselves(key: str) -> None:
    """Kolmogorov's distance of 1,500 draws stays under its 99.9 per cent point of 1.95/√n."""
    sheet = unsure(key)
    draws = 1500
    law = law_of(INDEXES[key], sheet, ErrorModel(offset_mm=0.15))
    seen = totals(INDEXES[key], sheet, draws, seed=11, offset_mm=0.15)
    values = sorted({*seen, *law.total.probabilities})
    apart = max(
        abs(law.total.at_most(v) - sum(n for total, n in seen.items() if total <= v) / draws) for v in values
    )
    assert apart < 1.95 / math.sqrt(draws)
    assert np.isclose(law.total.chances.sum(), 1.0, atol=1e-12)


def test_three_angles_of_one_tracing_score_as_drawn_landmarks_do() -> None:
    """400,000 drawn tracings: every landmark moves all angles that lean on it.  Kolmogorov's 99.9 per cent point."""
    rng = random.Random(12)
    base = neutral_with(["anb mouth 5.4", "sn_mp mouth 37.2", "impa mouth 98"])
    sheet = traced(replace(base, findings=tuple(replace(f, sd="0") for f in base.findings)), rng)
    told = {f.quantity: f for f in sheet.findings if f.error_parts}
    draws = 400_000
    landmarks = np.random.default_rng(3).normal(size=(draws, len(told["anb"].error_parts)))
    total = np.zeros(draws)
    for row in INDEXES["discrepancy"].components(
        tuple(sorted(INDEXES["discrepancy"].defaults.items())), "worksheet"
    ):
        if (finding := told.get(row.category)) is None:
            continue
        moves = np.array([float(part) for _, part in finding.error_parts])
        values = np.round(float(finding.value) + landmarks @ moves, 6)
        # points change at half degrees only: the rule is asked once for each piece
        piece = np.floor(values - 0.5)
        points = {k: float(row.rule.points(Decimal(k) + 1)) for k in np.unique(piece)}  # type: ignore[attr-defined]
        total += np.vectorize(points.__getitem__)(piece)
    law = law_of(INDEXES["discrepancy"], sheet, BY_FINDING).total
    apart = max(abs(law.at_most(v) - float((total <= float(v)).mean())) for v in law.values)
    assert apart < 1.95 / math.sqrt(draws)


def test_certain_findings_give_the_recorded_score_in_every_worked_case() -> None:
    for key in ("discrepancy", "par", "icon", "outcome"):
        for case in cases(key):
            sheet = replace(case.sheet, findings=tuple(replace(f, sd="0") for f in case.sheet.findings))
            law = law_of(INDEXES[key], sheet, BY_FINDING, Question.TRUE_SCORE, case.edition, case.choices)
            assert law.total.values == (law.recorded,), (key, case.name)
            assert law.recorded == case.total, (key, case.name)
