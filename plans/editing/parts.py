"""What the forms of a plan hold, section by section.  Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from plans.document import ORDERS
from plans.moments import MOMENTS
from plans.plan_reading import MOST, MOST_WINDOW_MONTHS
from plans.record_names import RECORDS
from plans.requirements import Field
from plans.requirements.scores import INDEX_OPTIONS
from plans.requirements.words import STAGE_RECORDS, STAGES
from portfolio.ages import OLDEST_MONTHS

SEVERAL_LINES = frozenset({"note", "about", "text"})
"""Texts that take several lines."""


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of entries that hold the same fields; `one` names a single entry."""

    key: str
    label: str
    one: str
    parts: tuple["Field | Rows", ...]
    help: str = ""

    @property
    def most(self) -> int:
        return MOST.get(self.key, len(ORDERS))


Part = Field | Rows


def is_age(part: Part) -> bool:
    """Whether whole months are an age, typed and shown as such: only ages reach so far."""
    return isinstance(part, Field) and part.takes == "months" and part.most == OLDEST_MONTHS


@dataclass(frozen=True, slots=True)
class Section:
    """One kind of entry of a plan: its key in the plan file, its words, and the parts of its form."""

    key: str
    heading: str
    one: str
    about: str
    parts: tuple[Part, ...]


CONDITION = Field(
    "condition", "Condition", "condition", required=False, help="Without a condition any case may stand here."
)
RECORD_PARTS: tuple[Part, ...] = (
    Field("stage", "Stage", "choice", STAGES, default="initial"),
    Field(
        "records",
        "Records",
        "choices",
        tuple(RECORDS.items()),
        help="A radiograph counts as told where the case says why none was taken. It is never taken for a plan.",
    ),
    Field(
        "when",
        "Only if",
        "condition",
        required=False,
        help="Without a condition they are asked of every case.",
    ),
)
SLOT = Section(
    "slots",
    "Slots",
    "slot",
    "Each slot takes one case; a patient fills one slot at most.",
    (
        Field(
            "label",
            "Label",
            "text",
            help="As the instructions call it, such as “Class II, without extraction”.",
        ),
        CONDITION,
        Rows("records", "Records asked of this slot alone", "record rule", RECORD_PARTS),
        Field("note", "Note", "text", required=False, help="What else the instructions say of this slot."),
    ),
)
GROUP = Section(
    "groups",
    "Rules over the choice",
    "rule",
    "How many of all chosen cases have to meet a condition, whatever their slots.",
    (
        Field("label", "Label", "text", required=False),
        Field(
            "at_least", "At least so many cases", "whole", required=False, least=Decimal(0), most=Decimal(40)
        ),
        Field(
            "at_most", "At most so many cases", "whole", required=False, least=Decimal(0), most=Decimal(40)
        ),
        Field("condition", "Condition", "condition"),
    ),
)


def _months(key: str, label: str, most: int, help: str = "") -> Field:
    return Field(
        key, label, "months", required=False, unit="months", least=Decimal(0), most=Decimal(most), help=help
    )


LIMITS = Rows(
    "limits",
    "How long",
    "limit",
    (
        _months("at_least_months", "At least", MOST_WINDOW_MONTHS),
        _months("at_most_months", "At most", MOST_WINDOW_MONTHS),
        _months("age_from", "From the age of", OLDEST_MONTHS, "Such as 12 y; empty: from birth."),
        _months("age_under", "Under the age of", OLDEST_MONTHS, "Such as 18 y; empty: open."),
    ),
    "One limit for everybody, or one for each age group.",
)
WINDOW = Section(
    "windows",
    "Windows",
    "window",
    "How much time may or must lie between two events of a case. The time line of due dates follows from them.",
    (
        Field("label", "Label", "text"),
        Field("start", "From", "choice", tuple(MOMENTS.items())),
        Field("end", "To", "choice", tuple(MOMENTS.items())),
        LIMITS,
        Field(
            "age_at",
            "Age groups go by the age at",
            "choice",
            tuple(STAGE_RECORDS.items()),
            default="initial",
            required=False,
        ),
    ),
)
RECORD = Section(
    "records", "Records of every case", "record rule", "What has to be there at a stage.", RECORD_PARTS
)
ABOUT = Section(
    "about",
    "The plan as a whole",
    "plan",
    "Its name, the order of cases, and what else the instructions say.",
    (
        Field("name", "Name", "text", help="Of your own, such as the examination and the year."),
        Field("about", "About", "text", required=False),
        Rows(
            "order",
            "Order of the chosen cases",
            "rule of order",
            (Field("by", "Cases stand", "choice", tuple(ORDERS.items())),),
            "Where the first leaves two cases equal, the next one decides.",
        ),
        Field("complexity", "Complexity is told by", "choice", INDEX_OPTIONS, default="discrepancy"),
        Field(
            "text",
            "Other instructions",
            "text",
            required=False,
            help="In your own words; nothing is checked by it.",
        ),
    ),
)
SECTIONS: Mapping[str, Section] = {one.key: one for one in (SLOT, GROUP, WINDOW, RECORD, ABOUT)}
