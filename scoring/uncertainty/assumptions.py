"""The assumptions behind a chance, in words that stand beside it.  Pure."""

from collections import Counter
from collections.abc import Iterable

from portfolio.errors import OFFSET_SOURCE
from portfolio.sources import cite
from scoring.uncertainty.model import ErrorModel, Question
from scoring.uncertainty.reading import Reading

RECORDED_COUNTS = "The recorded score is what counts; no chance changes it."
INDEPENDENT = "Errors of different findings are taken as independent, but for the causes named here."
NORMAL = "Errors of numbers are taken as normal around what was recorded, every truth as likely beforehand; this slightly favours higher scores."
SEEN = "That nothing was seen, or on which side of zero a front tooth stands, is taken as an observation and not as a measurement."
CODES = "How often a code is mistaken for its neighbour is our judgement, not published."
STANDING = "Which teeth stand, are missing or are left out is taken as certain, and so are plans."
FLOOR = "Findings are missing or cannot be told: everything here is of what was recorded, so at least."


def because(
    question: Question, errors: ErrorModel, readings: Iterable[Reading], complete: bool
) -> tuple[str, ...]:
    """The assumptions in force, the question first."""
    listed = tuple(one for r in readings for one in (r.made_of or (r,)))
    said = [f"Asked for: {question.words}.", RECORDED_COUNTS]
    if not complete:
        said.append(FLOOR)
    said += [INDEPENDENT, NORMAL]
    shapes = {reading.law.shape for reading in listed}
    if shapes & {"none", "some", "sided", "at_zero"}:
        said.append(f"{SEEN} Something small is missed in {errors.missed * 100:.2g} % of places.")
    if "code" in shapes:
        said.append(CODES)
    said.append(STANDING)
    said += _figures(listed)
    if any(reading.offset for reading in listed):
        said.append(
            f"All lengths of one examiner are off together by ± {errors.offset_mm:.2g} mm (derived from {cite(OFFSET_SOURCE)})."
        )
    shared = Counter(name.split("/")[0] for r in listed for name, _ in r.shared)
    if shared["tracing"]:
        said.append("Measures of one tracing share the errors of its landmarks.")
    if shared["scale"] or shared["view"] or shared["marks"]:
        said.append("Lengths of one picture share the error of its scale.")
    if any(reading.law.step for reading in listed):
        said.append(f"Readings were rounded to {errors.step}.")
    if any(reading.times > 1 for reading in listed):
        said.append(
            "Where a finding was read several times the mean counts, with its random error less by √readings."
        )
    return tuple(said)


def _figures(listed: Iterable[Reading]) -> list[str]:
    """Whose figures the deviations are."""
    by_kind = Counter(
        reading.error.source for reading in listed if reading.error is not None and not reading.error.certain
    )
    words = {
        "error_of_finding": "recorded with the finding",
        "error_own_repeats": "from your own repeats",
        "error_judgement": "our judgement, not published",
    }
    told = [f"{count} {words.get(key, f'from {cite(key)}')}" for key, count in sorted(by_kind.items())]
    return [f"Deviations of numbers: {'; '.join(told)}."] if told else []
