"""How far a recorded number may be from the truth: the error of every quantity by method, and whose it is.  Pure.

Four figures can stand for the error of a finding, the first that there is counts: the deviation recorded with the
finding itself (with the named parts it is made of), the reader's own error from at least 20 pairs of repeats, a figure
that the portfolio has set with its source, the default of the quantity and method.  Every figure says where it comes from.  Nothing published fits every clinic, so
most defaults are our judgement and say so.

Codes have no deviation; how often they are mistaken stands in `portfolio.code_errors`.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from portfolio.finding_sheet import Finding
from portfolio.quantity import UNIT_WORDS, Unit
from portfolio.repeats import FEWEST_PAIRS_USED
from portfolio.vocabulary import METHODS, QUANTITIES

LEAST_SHARE_OF_DEFAULT = 0.1
"""An own error is never taken as less than this share of the default: repeats that agree were rounded, not exact."""

OFFSET_MM = 0.1
"""Deviation between careful examiners that all millimetres of one examiner share, from the mean difference of two
examiners (`error_widths`, derived)."""
OFFSET_SOURCE, OFFSET_CERTAINTY = "error_widths", "derived"
OFFSET_CAUSE = "examiner/offset"
"""Name of the error part that all lengths of one examiner share."""

MISSED = 0.02
"""Chance that something small is there where none was recorded, at one site (`error_judgement`)."""

JUDGEMENT = ("error_judgement", "practice")


@dataclass(frozen=True, slots=True)
class DefaultError:
    """The error taken where nothing else is known; `sd` is one standard deviation in `unit`."""

    sd: float
    unit: Unit
    source: str
    """A key of the bibliography."""
    certainty: str
    """read, memory, derived or practice."""


@dataclass(frozen=True, slots=True)
class OwnError:
    """A reader's own error of one quantity by one method, from `n` pairs of repeats.

    `sd` is the error of one measurement (Dahlberg), `bias` the mean of second minus first, both in the
    quantity's unit.  It stands in place of the default from 20 pairs on.
    """

    quantity: str
    method: str
    sd: float
    bias: float
    n: int
    source: str = ""
    """For a figure that a portfolio has set, without pairs: where it comes from."""

    @property
    def used(self) -> bool:
        return self.n >= FEWEST_PAIRS_USED or bool(self.source)


@dataclass(frozen=True, slots=True)
class FindingError:
    """The error of one recorded number: `sd` in `unit`, its named parts, where it comes from, and words for it.

    `parts` are pairs of a cause's name and the signed change of the value by one deviation of the cause; equal
    names, also of two findings, are one cause.  Empty parts: all of it is the finding's own.
    """

    sd: float
    unit: Unit
    source: str
    certainty: str
    words: str
    parts: tuple[tuple[str, float], ...] = ()
    given: bool = False
    """Whether the deviation was recorded with the finding, not taken by default or from repeats."""

    @property
    def certain(self) -> bool:
        return self.sd == 0


class NoNumber(ValueError):
    """A quantity that takes no number has no standard deviation."""


_SINGLE = {"ruler": 0.5, "eye": 0.7, "clinical": 0.5, "history": 1.0}
"""Millimetres at one tooth, contact or cusp; with caliper, gauge, picture or scan 0.3."""
_SINGLE_MM = 0.3
_FACE_MM = 0.5
_SPACE_MM = 0.7
_SPACE = {"eye": 1.0, "history": 2.0, "clinical": 1.5}
_ANGLE_DEGREES = 1.5
_LENGTH_MM = 1.0

_BY_QUANTITY: Mapping[str, tuple[float, str, str]] = {
    "anb": (0.7, "error_angles", "derived"),
    "sna": (0.7, "error_angles", "derived"),
    "snb": (0.7, "error_angles", "derived"),
    **dict.fromkeys(("sn_mp", "fma", "sn_go_gn", "sn_go_me", "pp_fh", "op_sn", "op_fh"), (1.2, *JUDGEMENT)),
    **dict.fromkeys(("impa", "fmia", "u1_sn", "u1_fh", "u1_na", "l1_nb", "interincisal"), (2.0, *JUDGEMENT)),
    "overbite_cover": (10.0, *JUDGEMENT),
    "midline_share": (10.0, *JUDGEMENT),
    "rotation": (5.0, *JUDGEMENT),
    "mouth_opening": (2.0, *JUDGEMENT),
    **dict.fromkeys(
        (
            "midline_offset",
            "upper_midline_face",
            "lower_midline_face",
            "functional_shift",
            "curve_of_spee",
            "chin_deviation",
            "occlusal_cant",
            "incisor_show_rest",
            "incisor_show_smile",
            "gum_show_smile",
            "intercanine_width",
            "intermolar_width",
            "arch_depth",
        ),
        (_FACE_MM, *JUDGEMENT),
    ),
    "arch_segment": (_SPACE_MM / 2, *JUDGEMENT),
    **dict.fromkeys(("arch_available", "support_zone", "crowding"), (_SPACE_MM, *JUDGEMENT)),
}
"""Quantity → deviation, source and certainty by the usual method; what is not named goes by its unit and group."""

_BY_METHOD: Mapping[tuple[str, str], tuple[float, str, str]] = {
    ("arch_available", "wire"): (1.0, "error_arch_space", "derived"),
    **{
        (key, method): (sd, *JUDGEMENT)
        for key in ("arch_available", "crowding")
        for method, sd in _SPACE.items()
    },
    ("overbite_cover", "picture"): (8.0, *JUDGEMENT),
    ("overbite_cover", "scan"): (5.0, *JUDGEMENT),
}


@cache
def default_error(quantity: str, method: str = "") -> DefaultError:
    """The error of a quantity by a method, the one offered first where none is named.

    KeyError for an unknown quantity; NoNumber for one without numbers; ValueError for an unknown method.
    """
    known = QUANTITIES[quantity]
    if known.kind != "number":
        raise NoNumber(f"{quantity} takes no number, so it has no standard deviation")
    if method and method not in METHODS:
        raise ValueError(f"{method!r} is not a method; allowed: {', '.join(METHODS)}")
    by = method or known.method
    found = _BY_METHOD.get((quantity, by)) or _BY_QUANTITY.get(quantity)
    if found is None:
        found = (_by_unit(known.unit, known.group, by), *JUDGEMENT)
    sd, source, certainty = found
    return DefaultError(sd, known.unit, source, certainty)


def _by_unit(unit: str, group: str, method: str) -> float:
    if group == "radiograph":
        return _ANGLE_DEGREES if unit == "deg" else _LENGTH_MM if unit == "mm" else 1.5
    if unit == "mm":
        return _SINGLE.get(method, _SINGLE_MM)
    return 5.0 if unit == "%" else 2.0 if unit == "deg" else 0.5


def default_errors() -> Mapping[str, DefaultError]:
    """Every quantity with numbers and its default by the usual method, in the order round the casts."""
    return {key: default_error(key) for key, known in QUANTITIES.items() if known.kind == "number"}


def own_error(own: Iterable[OwnError], quantity: str, method: str = "") -> OwnError | None:
    """The reader's own error of a quantity by a method, where it rests on enough pairs."""
    by = method or QUANTITIES[quantity].method
    return next((one for one in own if one.quantity == quantity and one.method == by and one.used), None)


def error_of(finding: Finding, own: Iterable[OwnError] = ()) -> FindingError:
    """The error of a recorded number; NoNumber for a quantity without numbers.

    Statements (`none`, `rest_none`) have the error of their quantity.  A recorded deviation of 0 says that the
    value is certain.
    """
    default = default_error(finding.quantity, finding.method)
    if finding.sd:
        sd = float(finding.sd)
        parts = tuple((name, float(part)) for name, part in finding.error_parts)
        words = "recorded with the finding" if sd else "recorded as certain"
        return FindingError(sd, default.unit, "error_of_finding", "read", words, parts if sd else (), True)
    mine = own_error(own, finding.quantity, finding.method)
    if mine is not None and mine.source:
        return FindingError(
            max(mine.sd, LEAST_SHARE_OF_DEFAULT * default.sd),
            default.unit,
            "error_of_portfolio",
            "practice",
            f"set in this portfolio: {mine.source}",
        )
    if mine is not None:
        return FindingError(
            max(mine.sd, LEAST_SHARE_OF_DEFAULT * default.sd),
            default.unit,
            "error_own_repeats",
            "derived",
            f"your own error, from {mine.n} pairs of repeats",
        )
    judged = "our judgement, not published" if default.certainty == "practice" else "from a published study"
    by = finding.method or QUANTITIES[finding.quantity].method
    return FindingError(
        default.sd,
        default.unit,
        default.source,
        default.certainty,
        f"default{f' by {by}' if by else ''}: {judged}",
    )


def told(error: FindingError) -> str:
    """`± 0.3 mm (default by caliper: our judgement, not published)`."""
    unit = UNIT_WORDS[error.unit]
    spaced = f" {unit}" if unit and unit != "°" else unit
    return f"± {error.sd:.2g}{spaced} ({error.words})"


def parts_come_to(parts: Iterable[tuple[str, float]]) -> float:
    """The deviation that independent parts make together, √Σ part²."""
    return math.sqrt(math.fsum(part * part for _, part in parts))
