"""Truths drawn at random from the stated laws of findings, put into sheets and scored by the kernel itself.

Independent of the exact computation: it knows the law of one reading in words, and nothing of parts or blocks.
"""

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from portfolio.code_errors import truths
from portfolio.errors import MISSED, error_of
from portfolio.finding_sheet import Finding, Sheet
from portfolio.vocabulary import QUANTITIES
from scoring import kernel
from scoring.index import Index
from scoring.uncertainty.book import BY_SIGN, COUNTED, ON_A_SIDE, SEEN_AT_ALL


def totals(
    index: Index, sheet: Sheet, draws: int, seed: int, offset_mm: float = 0.0, **terms: object
) -> Counter[Decimal]:
    """How often each total comes out over so many draws."""
    rng = random.Random(seed)
    found: Counter[Decimal] = Counter()
    for _ in range(draws):
        truth = replace(sheet, findings=tuple(_drawn(sheet, rng, offset_mm)))
        total = kernel.score(index, truth, detail="totals", **terms).total  # type: ignore[arg-type]
        assert total is not None
        found[total] += 1
    return found


def _drawn(sheet: Sheet, rng: random.Random, offset_mm: float) -> Iterator[Finding]:
    common = offset_mm * rng.gauss(0, 1)
    for finding in sheet.findings:
        known = QUANTITIES[finding.quantity]
        if finding.is_statement or finding.value == "unknown":
            yield finding
        elif known.kind == "number" and finding.quantity not in COUNTED:
            yield replace(finding, value=_number(finding, rng, common))
        elif known.kind == "code" or finding.quantity in COUNTED:
            codes, chances = zip(*truths(finding.quantity, finding.value), strict=True)
            (code,) = rng.choices(codes, chances)
            if finding.sd == "0" or code == finding.value:
                yield finding
            elif code != "none" or finding.quantity in ("crossbite", "palatal_contact", "skeletal_asymmetry"):
                yield replace(finding, value=code)
        else:
            yield finding


def _number(finding: Finding, rng: random.Random, common: float) -> str:
    """A truth for one number, as decimal text."""
    value = 0.0 if finding.value == "none" else float(finding.value)
    sd = error_of(finding).sd
    if not sd:
        return finding.value
    if QUANTITIES[finding.quantity].unit != "mm" or finding.quantity in BY_SIGN:
        common = 0.0
    if finding.quantity in SEEN_AT_ALL:
        if value == 0:
            return "0" if rng.random() >= MISSED else f"{abs(rng.gauss(0, sd)):.9f}"
        while (drawn := rng.gauss(value + common, sd)) <= 0:
            pass
        return f"{drawn:.9f}"
    if finding.quantity in ON_A_SIDE:
        if value == 0:
            return "0" if rng.random() >= MISSED else f"{rng.gauss(0, sd):.9f}"
        return f"{_on_its_side(value + common, sd, value > 0, rng):.9f}"
    drawn = rng.gauss(value + common, sd)
    if finding.quantity == "aesthetic_component":
        return str(min(max(round(drawn), 1), 10))
    return f"{drawn:.9f}"


def _on_its_side(mean: float, sd: float, positive: bool, rng: random.Random) -> float:
    """The other side of zero at most as often as something is missed."""
    drawn = rng.gauss(mean, sd)
    if (drawn > 0) == positive:
        return drawn
    wrong = sum((rng.gauss(mean, sd) > 0) != positive for _ in range(400)) / 400
    if wrong <= MISSED or rng.random() < MISSED / wrong:
        return drawn
    while ((drawn := rng.gauss(mean, sd)) > 0) != positive:
        pass
    return drawn
