"""The answers of one row of the case log: what may be said, how it is typed, how it is kept and shown.

Numbers are kept as decimal text in the signs of the findings they stand for (reverse and open are minus), so
that the rules of an index read them like a finding.  An empty text means that nothing was said.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from typing import Literal

from portfolio.ages import OLDEST_MONTHS, AgeRefused, age_text, read_age
from portfolio.quantities.occlusion import MOLAR_LABELS
from portfolio.quantities.radiograph import PLANES
from portfolio.typed import TypedRefused, typed
from portfolio.vocabulary import QUANTITIES

Kind = Literal["age", "choice", "number", "count"]

MOST_CROSSBITES = 8
"""Upper teeth from the first premolars to the second molars, both sides."""
FRONT_TEETH = 6
_COUNT = re.compile(r"[0-9]{1,3}\Z", re.ASCII)
_MONTHS = re.compile(r"[0-9]{1,4}\Z", re.ASCII)

DENTITION_LABELS = {"permanent": "permanent", "mixed": "mixed", "primary": "primary"}
MOLAR_WORDS = {
    "class1": "Class I",
    "toward2": "toward II",
    "end2": "end to end II",
    "full2": "full step II",
    "beyond2": "beyond full II",
    "toward3": "toward III",
    "end3": "end to end III",
    "full3": "full step III",
    "beyond3": "beyond full III",
}
"""The codes of the molar relation, short enough for a column."""


class AnswerRefused(ValueError):
    """A text that is no answer; the message says what was met and what is allowed."""


@dataclass(frozen=True, slots=True)
class LogField:
    """One column of the log.  `quantity` and `site` name the finding that a number stands for."""

    key: str
    label: str
    kind: Kind
    definition: str
    quantity: str = ""
    site: str = ""
    unit: str = ""
    least: int = 0
    most: int = 0
    words: tuple[tuple[str, str], ...] = ()
    """Code and words of a choice, in the order offered."""


_MOLAR_HELP = (
    "Mesiobuccal cusp of the upper first molar against the lower first molar, on the patient's {side}. "
    "Between end to end and a full step counts as end to end."
)
FIELDS: tuple[LogField, ...] = (
    LogField(
        "age_months",
        "Age",
        "age",
        "Age before treatment in years and months: 13 y 8 m, 13;8 or 164 m. It moves no points.",
    ),
    LogField(
        "dentition",
        "Dentition",
        "choice",
        "Before treatment. The index is not meant for the primary dentition.",
        words=tuple(DENTITION_LABELS.items()),
    ),
    LogField(
        "overjet",
        "Overjet",
        "number",
        "The greatest overjet of the upper incisors, the one in reverse if that is greater: x 3 is 3 mm in reverse, "
        "e edge to edge. Teeth that are blocked out or not fully erupted are left out.",
        "overjet",
        "11",
        "mm",
    ),
    LogField(
        "overbite",
        "Overbite",
        "number",
        "The greatest overbite of the upper incisors; where any upper front tooth is open or edge to edge, the "
        "greatest opening: o 2 is 2 mm open, e edge to edge. Teeth that are blocked out or not fully erupted are left out.",
        "overbite",
        "11",
        "mm",
    ),
    LogField(
        "open_teeth",
        "Open teeth",
        "count",
        "Number of upper front teeth, canine to canine, that are open or edge to edge vertically.",
        least=1,
        most=FRONT_TEETH,
    ),
    LogField(
        "molar_right",
        "Molar right",
        "choice",
        _MOLAR_HELP.format(side="right"),
        "molar_relation",
        "right",
        words=tuple(MOLAR_WORDS.items()),
    ),
    LogField(
        "molar_left",
        "Molar left",
        "choice",
        _MOLAR_HELP.format(side="left"),
        "molar_relation",
        "left",
        words=tuple(MOLAR_WORDS.items()),
    ),
    LogField(
        "crowding",
        "Crowding",
        "number",
        "Of the more crowded arch, first molar to first molar: millimetres short of space. An arch that fits or is "
        "spaced is 0.",
        "crowding",
        "upper",
        "mm",
    ),
    LogField(
        "crossbite_inside",
        "Crossbite inside",
        "count",
        "Number of upper teeth, first premolar to second molar, whose buccal cusp lies inside the lower buccal cusp.",
        most=MOST_CROSSBITES,
    ),
    LogField(
        "crossbite_outside",
        "Crossbite outside",
        "count",
        "Number of upper teeth, first premolar to second molar, whose palatal cusp lies outside the lower buccal cusp.",
        most=MOST_CROSSBITES,
    ),
    LogField("anb", "ANB", "number", QUANTITIES["anb"].definition + " If known.", "anb", "mouth", "°"),
    LogField(
        "sn_mp", "SN–MP", "number", QUANTITIES["sn_mp"].definition + " If known.", "sn_mp", "mouth", "°"
    ),
)
BY_KEY: dict[str, LogField] = {field.key: field for field in FIELDS}


@dataclass(frozen=True, slots=True)
class Answers:
    """What one row says.  `plane` is the mandibular plane of `sn_mp`; empty for the one in force."""

    age_months: str = ""
    dentition: str = ""
    overjet: str = ""
    overbite: str = ""
    open_teeth: str = ""
    molar_right: str = ""
    molar_left: str = ""
    crowding: str = ""
    crossbite_inside: str = ""
    crossbite_outside: str = ""
    anb: str = ""
    sn_mp: str = ""
    plane: str = ""

    def text(self, key: str) -> str:
        """The stored text of a field."""
        return str(getattr(self, key))

    def number(self, key: str) -> Decimal | None:
        """The stored number of a field, None where nothing was said."""
        text = self.text(key)
        return Decimal(text) if text else None

    @property
    def is_open(self) -> bool:
        """Whether the bite is open or edge to edge in front."""
        return bool(self.overbite) and Decimal(self.overbite) <= 0

    @property
    def says_nothing(self) -> bool:
        return self == Answers()

    def as_json(self) -> dict[str, str]:
        """What is stored: only what was said."""
        return {one.name: text for one in fields(self) if (text := self.text(one.name))}


EMPTY = Answers()


@dataclass(frozen=True, slots=True)
class Answered:
    """A value as it is stored, and whether a number was rounded to the step."""

    value: str
    was_rounded: bool = False


def answered(key: str, text: str, step: str = "0.1") -> Answered:
    """The stored value of a text typed into a field, empty for an empty text.

    Numbers take `3,5 mm` and the sense keys as in measuring; choices take their code or their words.  Raises
    AnswerRefused, and KeyError for an unknown field.
    """
    field, plain = BY_KEY[key], " ".join(text.split())
    if not plain:
        return Answered("")
    match field.kind:
        case "age":
            return Answered(_age(plain))
        case "choice":
            return Answered(_choice(field, plain))
        case "count":
            return Answered(_counted(field, plain))
    try:
        found = typed(field.quantity, field.site, plain, step)
    except TypedRefused as refusal:
        raise AnswerRefused(f"{refusal}.") from refusal
    value = _plain(found.value)
    if fault := field_fault(key, value):
        raise AnswerRefused(fault)
    return Answered(value, found.was_rounded)


def _age(plain: str) -> str:
    try:
        return str(read_age(plain))
    except AgeRefused as refusal:
        raise AnswerRefused(str(refusal)) from refusal


def _choice(field: LogField, plain: str) -> str:
    lowered = plain.casefold()
    for code, words in field.words:
        if lowered in (code, words.casefold(), MOLAR_LABELS.get(code, words).casefold()):
            return code
    allowed = ", ".join(words for _, words in field.words)
    raise AnswerRefused(f'"{plain[:40]}" is not known here; allowed: {allowed}.')


def _counted(field: LogField, plain: str) -> str:
    if plain.casefold() == "none" and not field.least:
        return "0"
    value = str(int(plain)) if _COUNT.match(plain) else plain
    if fault := field_fault(field.key, value):
        raise AnswerRefused(fault)
    return value


def field_fault(key: str, value: str) -> str:
    """What is wrong with a stored value in words, or an empty text."""
    field = BY_KEY[key]
    match field.kind:
        case "age":
            return "" if _MONTHS.match(value) and int(value) <= OLDEST_MONTHS else "This is not an age."
        case "choice":
            return "" if value in dict(field.words) else f'"{value[:40]}" is not known here.'
        case "count":
            if _COUNT.match(value) and field.least <= int(value) <= field.most:
                return ""
            return f'"{value[:40]}" is not taken; {field.label.lower()} is a whole number from {field.least} to {field.most}.'
    if value == "none":
        value = "0"
    if fault := QUANTITIES[field.quantity].fault(value):
        return f"{fault}."
    if key == "crowding" and Decimal(value) < 0:
        return "Only crowding is asked for: write the millimetres short of space, or 0 for an arch that fits or is spaced."
    return ""


def _plain(value: str) -> str:
    """A number without trailing zeros; `none` is 0."""
    if value == "none":
        return "0"
    text = value.rstrip("0").rstrip(".") if "." in value else value
    return "0" if text in ("-0", "") else text


def contradictions(answers: Answers) -> Iterator[tuple[str, str]]:
    """Field and words for answers that cannot both be right."""
    if answers.open_teeth and not answers.is_open:
        yield (
            "open_teeth",
            "Open teeth are counted only where the bite is open or edge to edge: write the overbite as o 2 or e first.",
        )
    inside, outside = (int(answers.text(f"crossbite_{side}") or 0) for side in ("inside", "outside"))
    if inside + outside > MOST_CROSSBITES:
        yield (
            "crossbite_outside",
            f"{inside} inside and {outside} outside are more than the {MOST_CROSSBITES} upper teeth from first "
            "premolar to second molar.",
        )


def put_in(answers: Answers, key: str, value: str, plane: str = "") -> Answers:
    """The answers with one field changed.

    The number of open teeth goes with an open bite, and `plane`, the one in force, comes with SN–MP.
    """
    changed = replace(answers, **{key: value})
    if key == "overbite" and not changed.is_open:
        changed = replace(changed, open_teeth="")
    if key == "sn_mp":
        changed = replace(changed, plane=plane if value else "")
    return changed


def read_answers(stored: object) -> tuple[Answers, tuple[str, ...]]:
    """The answers of a stored row, and the labels of fields whose stored text cannot be read.

    Whatever is stored, this gives answers: what cannot be read counts as not said.
    """
    if stored is None:
        return EMPTY, ()
    if not isinstance(stored, Mapping):
        return EMPTY, ("the whole row",)
    found: dict[str, str] = {}
    broken: list[str] = []
    for field in FIELDS:
        value = stored.get(field.key, "")
        if not value and isinstance(value, str):
            continue
        if isinstance(value, str) and not field_fault(field.key, value):
            found[field.key] = value
        else:
            broken.append(field.label)
    plane = stored.get("plane", "")
    if plane in PLANES and "sn_mp" in found:
        found["plane"] = str(plane)
    answers = Answers(**found)
    for key, _ in contradictions(answers):
        broken.append(BY_KEY[key].label)
        answers = replace(answers, **{key: ""})
    return answers, tuple(dict.fromkeys(broken))


def shown(key: str, value: str) -> str:
    """A stored value as it stands in its field and may be typed again: `x 3`, `e`, `13 y 8 m`, `end2`."""
    field = BY_KEY[key]
    if not value or field.kind in ("choice", "count"):
        return value
    if field.kind == "age":
        return age_text(int(value))
    senses = QUANTITIES[field.quantity].senses
    if "e" in senses and not Decimal(value):
        return "e"
    if senses and value.startswith("-"):
        return f"{senses[0]} {value[1:]}"
    return value.replace("-", "−")


def in_words(key: str, value: str) -> str:
    """A stored value as a sentence goes on with it: `3 mm in reverse`, `end to end II`, `nothing`."""
    field = BY_KEY[key]
    if not value:
        return "nothing"
    if field.kind == "choice":
        return dict(field.words)[value]
    if field.kind != "number":
        return shown(key, value)
    unit = field.unit if field.unit == "°" else f" {field.unit}"
    senses = QUANTITIES[field.quantity].senses
    if "e" in senses and not Decimal(value):
        return "edge to edge"
    if senses and value.startswith("-"):
        return f"{value[1:]}{unit} {'in reverse' if senses[0] == 'x' else 'open'}"
    return f"{value.replace('-', '−')}{unit}"
