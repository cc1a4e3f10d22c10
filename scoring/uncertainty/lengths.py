"""Laws of numbers that are no sum of points: the space of each arch in mm, the two ratios of tooth widths.  Pure.

A sum of lengths is one normal number whose variance gathers what each length is off by alone and, added up before
squaring, what they share.  A ratio L/U is at most r where L − rU is at most 0, so its law is exact too.  The error of
a prediction itself (how far canines and premolars differ from what incisors foretell) is not in it.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from statistics import NormalDist

from portfolio import teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.index import Index
from scoring.indices.space.prediction import INCISORS, PREDICTIONS
from scoring.indices.tooth_size.rules import RATIOS
from scoring.kernel import tallies
from scoring.uncertainty.assumptions import INDEPENDENT, NORMAL, RECORDED_COUNTS
from scoring.uncertainty.book import Book
from scoring.uncertainty.model import CannotBeTold, ErrorModel, Question
from scoring.uncertainty.reading import Reading

ARCHES: tuple[teeth.Arch, ...] = ("upper", "lower")
SLOPE_STEP = Decimal("0.1")
NOT_OF_PREDICTION = "How far a prediction of unerupted teeth may be off is not in it."


@dataclass(frozen=True)
class NumberLaw:
    """The law of one number: where it was worked out, and how far it may be off.

    `share_below` tells the chance of a value up to a limit; `unit` is mm or %.
    """

    key: str
    recorded: Decimal
    mean: float
    sd: float
    unit: str
    because: tuple[str, ...]
    ratio: tuple[float, float, float, float, float] | None = None
    """Means of lower and upper sums, their variances and their covariance."""

    def at_most(self, value: Decimal | float | str) -> float:
        """The chance of this value or less."""
        limit = float(value)
        if self.ratio is None:
            return _normal(limit - self.mean, self.sd)
        lower, upper, lower_variance, upper_variance, together = self.ratio
        r = limit / 100
        variance = lower_variance - 2 * r * together + r * r * upper_variance
        return _normal(r * upper - lower, math.sqrt(max(variance, 0.0)))

    def at_least(self, value: Decimal | float | str) -> float:
        """The chance of this value or more."""
        return 1 - self.at_most(value)

    def central(self, share: float = 0.9) -> tuple[float, float]:
        """The range between equal tails."""
        return self.quantile((1 - share) / 2), self.quantile((1 + share) / 2)

    @property
    def median(self) -> float:
        return self.quantile(0.5)

    def quantile(self, share: float) -> float:
        """The value up to which this share lies."""
        if not self.sd:
            return self.mean
        if self.ratio is None:
            return NormalDist(self.mean, self.sd).inv_cdf(share)
        low, high = self.mean - 12 * self.sd, self.mean + 12 * self.sd
        for _ in range(80):
            middle = (low + high) / 2
            low, high = (middle, high) if self.at_most(middle) < share else (low, middle)
        return (low + high) / 2


def _normal(away: float, sd: float) -> float:
    if not sd:
        return 1.0 if away >= 0 else 0.0
    return NormalDist().cdf(away / sd)


Weighted = list[tuple[Reading, float]]


def covariance(first: Weighted, second: Weighted) -> float:
    """The covariance of two weighted sums of readings: own errors of readings in both, and all that is shared."""
    own = {reading.place: weight for reading, weight in second}
    total = math.fsum(w * own.get(r.place, 0.0) * r.law.sd**2 for r, w in first)
    return total + math.fsum(_loads(first).get(name, 0.0) * load for name, load in _loads(second).items())


def _loads(terms: Weighted) -> Mapping[str, float]:
    found: dict[str, float] = {}
    for reading, weight in terms:
        for name, part in (("", reading.offset), *reading.shared):
            found[name] = found.get(name, 0.0) + weight * part
    return found


def number_laws(
    index: Index,
    sheet: Sheet,
    errors: ErrorModel | None = None,
    question: Question = Question.TRUE_SCORE,
    choices: Mapping[str, str] | None = None,
) -> dict[str, NumberLaw | CannotBeTold]:
    """The laws of an index's numbers by name; where one cannot be told, the reason stands in its place.

    Names: `overall_percent`, `anterior_percent` of tooth_size; `upper`, `lower` of space (available less required, mm,
    − is short).  CannotBeTold is raised for another index.
    """
    errors = errors or ErrorModel()
    book = Book(sheet, errors, question)
    said = (f"Asked for: {question.words}.", RECORDED_COUNTS, INDEPENDENT, NORMAL)
    if index.key == "tooth_size":
        return {f"{key}_percent": _ratio(key, sheet, book, said) for key in RATIOS}
    if index.key == "space":
        return {arch: _space(index, sheet, book, arch, choices or {}, said) for arch in ARCHES}
    raise CannotBeTold(f"{index.label} has a total; its law is told by that")


def _ratio(key: str, sheet: Sheet, book: Book, said: tuple[str, ...]) -> NumberLaw | CannotBeTold:
    ratio = RATIOS[key]
    sums: dict[str, Weighted] = {"upper": [], "lower": []}
    for tooth in ratio.places:
        finding = sheet.at("tooth_width", tooth)
        if finding is None or tooth in sheet.missing_teeth:
            return CannotBeTold(f"the {key} ratio needs the width of every tooth, and {tooth} has none")
        sums[teeth.arch(tooth)].append((book.of(finding), 1.0))
    widths = {
        arch: sum((Decimal(str(r.recorded)) for r, _ in terms), Decimal(0)) for arch, terms in sums.items()
    }
    lower, upper = (math.fsum(r.law.mean for r, _ in sums[arch]) for arch in ("lower", "upper"))
    tied = (
        covariance(sums["lower"], sums["lower"]),
        covariance(sums["upper"], sums["upper"]),
        covariance(sums["lower"], sums["upper"]),
    )
    share = lower / upper
    sd = 100 / upper * math.sqrt(max(tied[0] - 2 * share * tied[2] + share**2 * tied[1], 0.0))
    recorded = ratio.percent(widths["upper"], widths["lower"])
    return NumberLaw(f"{key}_percent", recorded, 100 * share, sd, "%", said, (lower, upper, *tied))


def _space(
    index: Index,
    sheet: Sheet,
    book: Book,
    arch: teeth.Arch,
    choices: Mapping[str, str],
    said: tuple[str, ...],
) -> NumberLaw | CannotBeTold:
    terms = index.terms(None, choices)
    tally = dict(tallies(index, sheet, terms))[arch]
    if tally.missing:
        lacking = ", ".join(dict.fromkeys(m.quantity for m in tally.missing))
        return CannotBeTold(f"the {arch} arch lacks {lacking}")
    weights: dict[tuple[str, str], float] = {}
    found: dict[tuple[str, str], Finding] = {}
    predicted = False

    def add(finding: Finding, weight: float) -> None:
        place = (finding.quantity, finding.site)
        found[place] = finding
        weights[place] = weights.get(place, 0.0) + weight

    for hit in tally.hits:
        if not hit.points:
            continue
        if len(hit.findings) == len(INCISORS):
            predicted = True
            slope = _slope(terms.choices["prediction"], arch, hit.findings)
            for finding in hit.findings:
                add(finding, -slope)
        else:
            measured = hit.findings[-1]
            add(measured, 1.0 if hit.points > 0 else -1.0)
    weighted = [(book.of(found[place]), weight) for place, weight in weights.items()]
    recorded = tally.points
    off = math.fsum(w * (r.law.mean - float(Decimal(str(r.recorded)))) for r, w in weighted)
    sd = math.sqrt(covariance(weighted, weighted))
    because = (*said, NOT_OF_PREDICTION) if predicted else said
    return NumberLaw(arch, recorded, float(recorded) + off, sd, "mm", because)


def _slope(prediction: str, arch: teeth.Arch, incisors: tuple[Finding, ...]) -> float:
    """How much a predicted side grows with the sum of the lower incisors, there where it is."""
    rule = PREDICTIONS[prediction]
    total = sum((f.number for f in incisors), Decimal(0))
    near, far = (rule.per_side(arch, total + side * SLOPE_STEP) for side in (-1, 1))
    here = rule.per_side(arch, total)
    low = near if near is not None else here
    high = far if far is not None else here
    assert low is not None
    assert high is not None
    steps = (near is not None) + (far is not None)
    return float((high - low) / (SLOPE_STEP * max(steps, 1)))
