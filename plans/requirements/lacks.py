"""What is not recorded, in words: measurements, events, statements.  Pure."""

from collections.abc import Sequence

from plans.answers import Answer, Lack, told
from plans.requirements.words import STAGE_WORDS, quantity_in_sentence
from portfolio import teeth


def measured_lack(quantity: str, stage: str, sites: Sequence[str] = (), notation: str = "iso3950") -> Lack:
    """That a quantity is not recorded at a stage, at some sites or at all."""
    where = f" at {', '.join(teeth.shown_site(site, notation) for site in sites)}" if sites else ""
    name = f"{quantity_in_sentence(quantity)}{where}"
    return Lack("measurement", quantity, stage, name, f"{name} is not recorded {STAGE_WORDS[stage]}")


def event_lack(key: str, name: str) -> Lack:
    return Lack("event", key, "", name, f"{name} not recorded")


def statement_lack(key: str, name: str) -> Lack:
    return Lack("statement", key, "", name, f"{name} not stated")


def so_far(held: bool, may_change: bool, over: bool, says: str) -> Answer:
    """The answer from what has happened so far; while treatment goes on, what may change is unknown."""
    if may_change and not over:
        return Answer("unknown", f"{says} so far", lacks=(event_lack("end", "end of active treatment"),))
    return told(held, says)
