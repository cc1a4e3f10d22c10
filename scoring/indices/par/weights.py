"""Weights of PAR by category: the published sets, and sets of a site's own."""

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache

from scoring.index import ChoiceRefused

CATEGORIES = {
    "upper_anterior": "Upper front segment",
    "lower_anterior": "Lower front segment",
    "buccal": "Buccal occlusion",
    "overjet": "Overjet",
    "overbite": "Overbite",
    "centreline": "Centreline",
}


def _set(*weights: str) -> dict[str, Decimal]:
    return dict(zip(CATEGORIES, map(Decimal, weights), strict=True))


WEIGHT_SETS = {
    # Richmond et al. 1992, read on the form for PAR evaluation
    "uk1992": _set("1", "1", "1", "6", "2", "4"),
    # DeGuzman et al. 1995, from memory; other papers quote 4.5 and 3.5 for overjet and centreline
    "us1995": _set("1", "0", "2", "5", "3", "3"),
}
EDITION_LABELS = {
    "uk1992": "PAR, weights of 1992 (UK)",
    "us1995": "PAR, US weights of 1995 (5/3/3, from memory)",
}
MOST = 20
_OWN = re.compile(r"site:(?P<name>[^:]*)(?::(?P<weights>.*))?\Z", re.DOTALL)
_NAME = re.compile(r"[A-Za-z0-9_-]{1,20}\Z")
_WEIGHT = re.compile(r"[0-9]{1,2}(\.[0-9]{1,2})?\Z", re.ASCII)
_ORDER_OF_SIX = "upper anterior, lower anterior, buccal, overjet, overbite, centreline"
_ORDER_OF_FIVE = "anterior (both arches), buccal, overjet, overbite, centreline"
_HOW = (
    f"write site:NAME:WEIGHTS with five weights ({_ORDER_OF_FIVE}) or six ({_ORDER_OF_SIX}), "
    "separated by commas, such as site:clinic:1,2,4.5,3,3.5"
)


@lru_cache(maxsize=64)
def own_weights(edition: str) -> Mapping[str, Decimal]:
    """The weights of `site:NAME:WEIGHTS`.

    NAME: up to 20 letters, digits, - and _.  WEIGHTS: five or six numbers of 0 to 20 with at most two
    decimals.  Raises ChoiceRefused in words for anything else.
    """
    found = _OWN.match(edition)
    name = found["name"] if found else ""
    if not found or not _NAME.match(name):
        raise ChoiceRefused(
            f"par: {_shown(name)} is not a name of own weights; it takes up to 20 letters, digits, - and _; {_HOW}"
        )
    if not found["weights"]:
        raise ChoiceRefused(f"par has no weights for site:{name}; {_HOW}")
    weights = found["weights"].split(",")
    wrong = [w for w in weights if not _WEIGHT.match(w) or Decimal(w) > MOST]
    if wrong:
        raise ChoiceRefused(
            f"par: {_shown(wrong[0])} is not a weight; it takes a number of 0 to {MOST} with at most two decimals; {_HOW}"
        )
    if len(weights) == len(CATEGORIES) - 1:
        weights = [weights[0], *weights]
    if len(weights) != len(CATEGORIES):
        raise ChoiceRefused(f"par: site:{name} has {len(weights)} weights; {_HOW}")
    return _set(*weights)


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")
