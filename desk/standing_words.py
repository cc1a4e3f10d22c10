"""The standing score of a sheet in words, for lists and the case page."""

from dataclasses import dataclass
from decimal import Decimal

from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import RecordSet
from portfolio.wording import quantity_words
from scoring import registry
from scoring.present import number_words
from scoring.selectors import Standing

LISTED = "discrepancy"
"""The index whose score stands in the list of cases."""


NO_RECORDS, NOT_CHOSEN = "no records before treatment", "not measured for it"


def has_a_meaning(record_set: RecordSet, index_key: str = LISTED) -> bool:
    """Whether the index has a meaning for records of this stage and dentition."""
    return not registry.index(index_key).outside(SheetReading(record_set.stage, record_set.dentition))


@dataclass(frozen=True, slots=True)
class StandingWords:
    """A standing score for the eye; `figure` is empty where there is nothing to show, `words` says why."""

    figure: str = ""
    at_least: bool = False
    words: str = ""
    missing: tuple[str, ...] = ()
    sort_key: Decimal = Decimal(-1)


def standing_words(standing: Standing | None, why_none: str = NO_RECORDS) -> StandingWords:
    """A standing score, `not measured`, or why the index has no meaning here."""
    if standing is None:
        return StandingWords(words=why_none)
    if standing.categories and all(points is None for points in standing.categories.values()):
        return StandingWords(words="not measured")
    if standing.total is None:
        told = any(isinstance(value, str | dict) and value for value in standing.extra.values())
        return StandingWords(words="told on its page" if told and standing.complete else "not complete")
    return StandingWords(
        figure=standing.grade or number_words(standing.total),
        at_least=not standing.complete,
        missing=tuple(quantity_words(key) for key in standing.missing),
        sort_key=standing.total,
    )
