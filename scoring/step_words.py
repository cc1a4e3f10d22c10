"""How far a finding lies from the next change of points, in words."""

from decimal import Decimal, InvalidOperation

from portfolio.finding_sheet import Finding
from portfolio.quantity import UNIT_WORDS
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import value_words
from scoring.result import Line
from scoring.shapes import Step, plain

_AT_ZERO = {
    ("overbite", "over"): "any overlap",
    ("overbite", "under"): "any opening",
    ("overbite", ""): "edge to edge",
    ("overjet", "over"): "upper tooth in front",
    ("overjet", "under"): "any reverse overjet",
    ("overjet", ""): "edge to edge",
}
_BY_SIZE = frozenset(
    ("overjet", "overbite", "crowding", "midline_offset", "upper_midline_face", "lower_midline_face")
)
"""Quantities whose minus is a direction in words, so that more and less go by the size of the number."""


_WORKED_OUT = frozenset((("centreline", "midline_offset"), ("buccal", "posterior_open_bite")))
"""Rows of a form that score a share or a count of what was measured, so that their limits are not in its unit."""


def step_words(step: Step | None, line: Line, counted_in: str = "points") -> str:
    """`1 mm more (at 4 mm open) scores 4`, `just over 5 mm scores 3`; empty where there is no step.

    For codes `1 step on: end to end Class II scores 2`. A grade is given, not scored; 0 is no grade.
    """
    if step is None or all(_speaks_of_a_region(finding) for finding in line.findings):
        return ""
    scores = f"scores {minus(plain(step.points))}"
    if counted_in == "grade":
        scores = f"gives grade {plain(step.points)}" if step.points else "gives no grade"
    try:
        limit = Decimal(step.at)
    except InvalidOperation:
        return f"{_code_words(step, line)} {scores}"
    finding = read_number(step, line, limit)
    if finding is None:
        return f"{_count_words(step, line)} {scores}"
    if line.next_step == line.previous_step:
        # a rule in fractions of a point has no limit to name
        return f"changes with every part of a {'degree' if _unit(finding) == '°' else 'millimetre'}"
    place = _place(finding.quantity, step)
    distance = Decimal(step.distance)
    if not distance:
        return f"{_just(place)} {scores}"
    return f"{_apart(finding, limit, distance)} ({place}) {scores}"


def minus(text: str) -> str:
    """Numbers with a true minus sign instead of a hyphen."""
    return text.replace("-", "−")


def _just(place: str) -> str:
    return f"just {place}" if place.startswith(("over ", "under ")) else place


def read_number(step: Step, line: Line, limit: Decimal) -> Finding | None:
    """The finding whose number the step is counted from; None where several make one number, or were counted."""
    found = [finding for finding in line.findings if _is_number(finding)]
    if len(found) != 1 or (line.category, found[0].quantity) in _WORKED_OUT:
        return None
    (finding,) = found
    value = Decimal(0) if finding.value in ("none", "rest_none") else finding.number
    alone = finding.site == line.site or len(line.findings) == 1
    return finding if alone and abs(limit - value) == Decimal(step.distance) else None


def _is_number(finding: Finding) -> bool:
    """Whether a finding is one measured number, `none` at its own site included; counts are not."""
    quantity = QUANTITIES.get(finding.quantity)
    if quantity is None or quantity.whole or quantity.kind != "number" or _speaks_of_a_region(finding):
        return False
    return finding.value != "unknown"


def _speaks_of_a_region(finding: Finding) -> bool:
    """Whether a finding only says that a wider region is free; there is no step from that."""
    quantity = QUANTITIES.get(finding.quantity)
    own = quantity is not None and quantity.site.takes(finding.site)
    return finding.value == "rest_none" or (finding.is_statement and not own)


def _unit(finding: Finding) -> str:
    return UNIT_WORDS[QUANTITIES[finding.quantity].unit]


def _with_unit(number: Decimal, finding: Finding) -> str:
    unit = _unit(finding)
    return f"{plain(number)}{'' if unit in ('°', '') else ' '}{unit}"


def _place(quantity: str, step: Step) -> str:
    """The limit in words: `at 4 mm open`, `over 5 mm`, `under 3 mm open`, `any overlap`."""
    limit = Decimal(step.at)
    if not limit and (quantity, step.side) in _AT_ZERO:
        return _AT_ZERO[quantity, step.side]
    words = value_words(quantity, plain(limit))
    if not step.side:
        return f"at {words}"
    turned = quantity in _BY_SIZE and limit < 0
    side = {"over": "under", "under": "over"}[step.side] if turned else step.side
    return f"{side} {words}"


def _apart(finding: Finding, limit: Decimal, distance: Decimal) -> str:
    value = Decimal(0) if finding.value in ("none", "rest_none") else finding.number
    rises = limit > value
    if finding.quantity not in _BY_SIZE:
        word = ("more" if rises else "less") if _unit(finding) != "°" else ("greater" if rises else "smaller")
    elif value and (limit < 0) != (value < 0) and limit:
        word = "the other way"
    else:
        word = "more" if abs(limit) > abs(value) else "less"
    return f"{_with_unit(distance, finding)} {word}"


_COUNTED = {
    "supernumerary": ("extra tooth", "extra teeth"),
    "gap": ("spaced tooth", "spaced teeth"),
    "posterior_open_bite": ("open tooth", "open teeth"),
}
"""Quantities of which a line may count the teeth, and what one and several of these are called."""


def _count_words(step: Step, line: Line) -> str:
    """Teeth or other things counted together, or a number worked out from several findings."""
    quantities = {finding.quantity for finding in line.findings}
    counted = next((what for key, what in _COUNTED.items() if quantities == {key}), None)
    if counted is None:
        return _derived_words(step, line, "%" if "midline_offset" in quantities else " mm")
    number, in_all = int(Decimal(step.distance)), int(Decimal(step.at))
    if not number:
        # the count lies on its limit, so one thing more or fewer crosses it
        number, in_all = 1, in_all + (1 if step.side == "over" else -1)
    way = "more" if step == line.next_step else "fewer"
    return f"{number} {way} {counted[0] if number == 1 else counted[1]} ({in_all} in all)"


def _derived_words(step: Step, line: Line, unit: str) -> str:
    """`1.39 mm more in all (over 5 mm)`; a code that is a number has no distance to tell, only `at 6`."""
    quantity = QUANTITIES.get(line.findings[0].quantity)
    if quantity is not None and quantity.whole:
        return f"at {step.at}"
    place = f"{step.side or 'at'} {step.at}{unit}"
    if not Decimal(step.distance):
        return _just(place)
    way = "more" if step == line.next_step else "less"
    return f"{step.distance}{unit} {way} in all ({place})"


def _code_words(step: Step, line: Line) -> str:
    for finding in line.findings:
        quantity = QUANTITIES.get(finding.quantity)
        if quantity and (step.at in quantity.codes or step.at in quantity.code_labels):
            return value_words(finding.quantity, step.at)
    return step.at.replace("_", " ")
