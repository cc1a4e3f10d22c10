"""Treatment events: what can happen in the course of a case, and the words for it.

Common practice, no source: the kinds, the families of appliances, and the reasons for extractions and operations.
A day is a date without time; a phase is counted from 1, and 0 says that none is stated.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

MOST_PHASES = 4

CANDIDATE, SUPERVISED, ANOTHER, NOT_STATED = "candidate", "supervised", "another", ""
HANDS: Mapping[str, str] = {
    CANDIDATE: "by the candidate",
    SUPERVISED: "by the candidate under supervision",
    ANOTHER: "by another",
}
"""Who did something, by key; an empty text is not stated."""

APPLIANCES: Mapping[str, str] = {
    "fixed_labial": "fixed appliance, labial",
    "fixed_lingual": "fixed appliance, lingual",
    "fixed_partial": "fixed appliance on some teeth",
    "aligners": "aligners",
    "removable": "removable appliance",
    "functional": "removable functional appliance",
    "fixed_functional": "fixed functional appliance",
    "expander": "expander",
    "headgear": "headgear",
    "facemask": "face mask",
    "chin_cup": "chin cup",
    "arch_holding": "lingual or palatal arch",
    "lip_bumper": "lip bumper",
    "skeletal_anchorage": "skeletal anchorage",
    "elastics": "elastics between the arches",
    "habit": "habit appliance",
    "space_maintainer": "space maintainer",
    "splint": "splint",
    "other_appliance": "another appliance",
}
RETAINERS: Mapping[str, str] = {
    "retainer_fixed": "bonded retainer",
    "retainer_removable": "removable retainer",
    "retainer_both": "bonded and removable retainers",
    "no_retainer": "no retainer",
}
EXTRACTION_REASONS: Mapping[str, str] = {
    "crowding": "lack of space",
    "protrusion": "front teeth to be moved back",
    "relation": "relation of the arches",
    "asymmetry": "asymmetry or midline",
    "guidance": "guidance of eruption",
    "retained": "retained primary tooth",
    "impacted": "impacted or displaced tooth",
    "malformed": "malformed tooth",
    "supernumerary": "supernumerary tooth",
    "prognosis": "poor prognosis of the tooth",
    "operation": "preparation for an operation",
    "other_reason": "another reason",
}
SUPERNUMERARY = "supernumerary"
"""A tooth beyond those that have a name: the teeth of such an event say where it stood and stay themselves."""
OPERATIONS: Mapping[str, str] = {
    "both_jaws": "operation on both jaws",
    "upper_jaw": "operation on the upper jaw",
    "lower_jaw": "operation on the lower jaw",
    "assisted_expansion": "surgically assisted expansion",
    "exposure": "exposure of an unerupted tooth",
    "soft_tissue": "soft tissue only",
    "other_operation": "another operation",
}
JAW_OPERATIONS = ("both_jaws", "upper_jaw", "lower_jaw", "assisted_expansion")
"""Those that make a treatment a surgical one."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of event. `details` are the choices it takes, `detail_label` what they are called.

    `needs_teeth`, `needs_detail`, `needs_phase`: what cannot be left out. `takes_over`: whoever does it has the
    treatment in hand from that day on. `active`: it belongs before the end of active treatment.
    """

    key: str
    label: str
    detail_label: str = ""
    details: Mapping[str, str] | None = None
    needs_detail: bool = False
    teeth: bool = False
    needs_teeth: bool = False
    needs_phase: bool = False
    takes_over: bool = False
    active: bool = False


KINDS: tuple[Kind, ...] = (
    Kind("start", "Start of treatment", takes_over=True, active=True),
    Kind("phase_start", "Phase begins", needs_phase=True, takes_over=True, active=True),
    Kind("phase_end", "Phase ends", needs_phase=True),
    Kind(
        "appliances_on",
        "Appliances on",
        "Appliance",
        APPLIANCES,
        needs_detail=True,
        teeth=True,
        takes_over=True,
        active=True,
    ),
    Kind("appliances_off", "Appliances off", "Appliance", APPLIANCES, teeth=True),
    Kind(
        "appliance",
        "Appliance used as well",
        "Appliance",
        APPLIANCES,
        needs_detail=True,
        teeth=True,
        active=True,
    ),
    Kind("extraction", "Extraction", "Reason", EXTRACTION_REASONS, teeth=True, needs_teeth=True),
    Kind("surgery", "Surgery", "Operation", OPERATIONS, needs_detail=True, teeth=True),
    Kind("break", "Break", active=True),
    Kind("resumed", "Resumed after a break", takes_over=True, active=True),
    Kind("missed", "Missed appointment"),
    Kind("unplanned", "Unplanned visit", teeth=True),
    Kind("transfer_in", "Taken over from another office", takes_over=True, active=True),
    Kind("transfer_out", "Handed over to another office"),
    Kind("end", "End of active treatment"),
    Kind("retention_start", "Retention begins", "Retainer", RETAINERS),
    Kind("retention_check", "Retention check", teeth=True),
    Kind("discontinued", "Treatment discontinued"),
    Kind("note", "Note", teeth=True),
)
BY_KEY: Mapping[str, Kind] = {kind.key: kind for kind in KINDS}
_WITHIN_A_DAY = (
    "transfer_in",
    "start",
    "phase_end",
    "resumed",
    "phase_start",
    "missed",
    "unplanned",
    "extraction",
    "surgery",
    "appliances_off",
    "appliances_on",
    "appliance",
    "break",
    "end",
    "discontinued",
    "transfer_out",
    "retention_start",
    "retention_check",
    "note",
)
"""In which order things of one day are taken to have happened."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event. `teeth` are ISO 3950; `detail` is a key of its kind's details or empty; `note` is free text."""

    on: date
    kind: str
    teeth: tuple[str, ...] = ()
    detail: str = ""
    phase: int = 0
    done_by: str = NOT_STATED
    note: str = ""


def in_order(events: Iterable[Event]) -> list[Event]:
    """By day; of one day in the order in which such things happen."""
    return sorted(events, key=order)


def order(event: Event) -> tuple[date, int, int]:
    """The sort key of `in_order`."""
    return event.on, order_within_day(event.kind), event.phase


def order_within_day(kind: str) -> int:
    """Where a kind stands among those of one day; an unknown one last."""
    return _WITHIN_A_DAY.index(kind) if kind in BY_KEY else len(_WITHIN_A_DAY)


def label(event: Event) -> str:
    """`Phase 2 begins`, `Appliances on`, `Extraction`."""
    words = BY_KEY[event.kind].label if event.kind in BY_KEY else event.kind
    return words.replace("Phase", f"Phase {event.phase}") if event.kind.startswith("phase_") else words


def detail_words(event: Event) -> str:
    """The detail in words; empty where there is none, the key itself where its kind no longer knows it."""
    kind = BY_KEY.get(event.kind)
    return (kind.details if kind and kind.details else {}).get(event.detail, event.detail)
