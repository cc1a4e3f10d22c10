"""Rules of the outcome evaluation, in the order of the manual of 2012.

Every limit is from memory; of the manual the list of contents was read, of the article of 1998 its
first page.  Open readings: `choices.py`, `reading.md`.
"""

from decimal import Decimal
from functools import lru_cache

from scoring.hits import Component
from scoring.indices.outcome.conditions import EachSite, FunctionalCusps, Gaps, LeftOut, Relation, Roots
from scoring.measured_shapes import Bands, band
from scoring.shapes import ZERO, Choice, Cited, Said

REMEMBERED = {
    "manual2012": Cited("outcome_2012", "memory"),
    "article1998": Cited("outcome_1998", "memory"),
}
SETTLED = Cited("outcome_settled", "practice")
_ONE, _TWO = Decimal(1), Decimal(2)


def half_millimetres(label: str, upper: bool, cited: Cited) -> Bands:
    """Loses 1 over 0.5 mm and 2 over 1 mm."""
    if upper:
        table = (band("(..., 0.5)", 0), band("[0.5, 1)", 1), band("[1, ...)", 2))
    else:
        table = (band("(..., 0.5]", 0), band("(0.5, 1]", 1), band("(1, ...)", 2))
    return Bands(label, "mm", table, cited)


def whole_millimetres(label: str, upper: bool, cited: Cited) -> Bands:
    """Loses 1 over 1 mm and 2 over 2 mm."""
    if upper:
        table = (band("(..., 1)", 0), band("[1, 2)", 1), band("[2, ...)", 2))
    else:
        table = (band("(..., 1]", 0), band("(1, 2]", 1), band("(2, ...)", 2))
    return Bands(label, "mm", table, cited)


def any_gap(label: str, upper: bool, cited: Cited) -> Bands:
    """Loses 1 for any gap and 2 over 1 mm; 0 itself is never a loss."""
    free = (band("(..., 0)", 0), band("[0, 0]", 0))
    if upper:
        return Bands(label, "mm", (*free, band("(0, 1)", 1), band("[1, ...)", 2)), cited)
    return Bands(label, "mm", (*free, band("(0, 1]", 1), band("(1, ...)", 2)), cited)


def roots(cited: Cited) -> Choice:
    """Loses 1 for a tipped root and 2 for one that touches its neighbour's."""
    return Choice(
        "root",
        (("parallel", ZERO), ("tipped", _ONE), ("touching", _TWO)),
        (("parallel", "tipped", "touching"),),
        cited,
        (("tipped", "tipped, not touching its neighbour"), ("touching", "touching its neighbour")),
    )


def position(cited: Cited) -> Choice:
    """The position aimed at gives no points by itself."""
    return Choice(
        "position aimed at",
        (("class1", ZERO), ("full2", ZERO), ("full3", ZERO)),
        (),
        cited,
        (("class1", "Class I"), ("full2", "full step Class II"), ("full3", "full step Class III")),
    )


@lru_cache(maxsize=16)
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """The rows of the form under the given choice and edition."""
    upper = dict(choices)["exact_limit"] == "upper"
    cited = REMEMBERED[edition]
    out = LeftOut(
        third_molar=Said("left out: third molar", cited),
        primary=Said("left out: primary tooth", SETTLED),
        partial=Said("left out: not fully erupted", SETTLED),
    )

    def row(category: str, quantity: str, of: str, rule: Bands) -> EachSite:
        return EachSite(category, quantity, of, rule, out)

    alignment = half_millimetres("deviation from alignment", upper, cited)
    ridges = half_millimetres("step between marginal ridges", upper, cited)
    inclination = whole_millimetres("step between buccal and lingual cusps", upper, cited)
    contacts = any_gap("gap at a functional cusp (at most 2 points a tooth)", upper, cited)
    relation = whole_millimetres("distance from the position aimed at", upper, cited)
    overjet = any_gap("gap of the pair, or distance off centre,", upper, cited)
    interproximal = half_millimetres("gap between neighbours", upper, cited)
    behind = "behind the canines, lower first premolars left out"
    kept = Said("left out: space to be kept", SETTLED)
    return (
        row("alignment", "alignment_step", "every tooth", alignment),
        row("ridges", "ridge_step", "contacts of marginal ridges", ridges),
        row("inclination", "inclination_step", behind, inclination),
        FunctionalCusps(row("contacts", "occlusal_gap", "functional cusps", contacts), _TWO),
        Relation(row("relation", "relation_step", "upper canine to second molar", relation), position(cited)),
        row("overjet", "facing_gap", "upper teeth", overjet),
        Gaps(row("interproximal", "gap", "contacts", interproximal), kept),
        Roots(
            "roots",
            "every tooth but canines" if edition == "manual2012" else "every tooth",
            roots(cited),
            out,
            Said("left out: canine roots are not scored in this edition", cited),
            Said("no panoramic radiograph was taken: the total is one of the casts only", SETTLED),
        ),
    )
