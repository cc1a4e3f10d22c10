"""What was done in the demo's cases, what is stated about them, and where their casts and papers lie; all invented."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from portfolio.events import ANOTHER, CANDIDATE, SUPERVISED, Event

Kept = Mapping[str, tuple[str, str, tuple[str, ...]]]
"""Record → state, where it lies or why there is none, quality ticks."""


@dataclass(frozen=True, slots=True)
class Treatment:
    """Events of a case, yes or no for what is stated about it, and its records without a file by stage."""

    events: tuple[Event, ...] = ()
    stated: Mapping[str, bool] = field(default_factory=dict)
    kept: Mapping[str, Kept] = field(default_factory=dict)


def _casts(where: str) -> Kept:
    return {
        "casts": ("present", where, ("whole", "trimmed", "bite", "labelled")),
        "panoramic": ("not_filed", "Practice film cabinet", ()),
        "history": ("present", "Practice file, red folder", ()),
    }


EXTRACTION = Treatment(
    events=(
        Event(date(2023, 9, 18), "start", done_by=SUPERVISED),
        Event(
            date(2023, 10, 3),
            "extraction",
            ("14", "24"),
            "protrusion",
            done_by=ANOTHER,
            note="At the family's dentist",
        ),
        Event(date(2023, 10, 23), "appliances_on", detail="fixed_labial", done_by=SUPERVISED),
        Event(date(2023, 10, 23), "appliance", detail="arch_holding", done_by=SUPERVISED),
        Event(date(2024, 5, 14), "missed"),
        Event(date(2024, 8, 5), "break", note="A term abroad"),
        Event(date(2024, 11, 11), "resumed", done_by=CANDIDATE),
        Event(date(2025, 2, 11), "unplanned", ("34",), note="Bracket loose"),
        Event(date(2025, 10, 20), "appliances_off", done_by=CANDIDATE),
        Event(date(2025, 10, 20), "end", done_by=CANDIDATE),
        Event(date(2025, 10, 20), "retention_start", detail="retainer_both", done_by=CANDIDATE),
        Event(date(2026, 4, 22), "retention_check", done_by=CANDIDATE),
    ),
    stated={"asymmetry": False, "surgical_plan": False, "presented_before": False},
    kept={"initial": _casts("Shelf 2, box 5"), "final": _casts("Shelf 2, box 6")},
)
OPEN_BITE = Treatment(
    events=(
        Event(date(2023, 8, 28), "start", done_by=CANDIDATE),
        Event(date(2023, 8, 28), "appliances_on", detail="fixed_labial", done_by=CANDIDATE),
        Event(date(2023, 11, 6), "appliance", detail="skeletal_anchorage", done_by=CANDIDATE),
        Event(date(2024, 4, 15), "appliance", detail="elastics", done_by=CANDIDATE),
        Event(date(2025, 10, 13), "appliances_off", done_by=CANDIDATE),
        Event(date(2025, 10, 13), "end", done_by=CANDIDATE),
        Event(date(2025, 10, 27), "retention_start", detail="retainer_removable", done_by=CANDIDATE),
    ),
    stated={"asymmetry": False, "surgical_plan": False, "presented_before": True},
    kept={
        "initial": _casts("Shelf 2, box 7"),
        "final": {
            "casts": ("not_taken", "scanned instead", ()),
            "panoramic": ("not_taken", "no clinical indication", ()),
        },
    },
)
REVERSE_OVERJET = Treatment(
    events=(
        Event(
            date(2026, 6, 22), "transfer_in", done_by=CANDIDATE, note="Begun in a practice that has closed"
        ),
        Event(date(2026, 7, 6), "appliances_on", detail="fixed_labial", done_by=CANDIDATE),
    ),
    stated={"asymmetry": False, "surgical_plan": True},
    kept={"initial": {"casts": ("not_filed", "With the former practice", ())}},
)
PALATAL_CANINE = Treatment(
    events=(
        Event(date(2022, 3, 7), "start", done_by=CANDIDATE),
        Event(date(2022, 3, 7), "phase_start", phase=1, done_by=CANDIDATE),
        Event(date(2022, 3, 7), "appliances_on", detail="expander", phase=1, done_by=CANDIDATE),
        Event(date(2022, 4, 19), "extraction", ("63",), "guidance", done_by=ANOTHER),
        Event(date(2022, 12, 12), "appliances_off", detail="expander", phase=1, done_by=CANDIDATE),
        Event(date(2022, 12, 12), "phase_end", phase=1, done_by=CANDIDATE),
        Event(date(2024, 2, 5), "phase_start", phase=2, done_by=CANDIDATE),
        Event(date(2024, 2, 5), "appliances_on", detail="fixed_labial", phase=2, done_by=CANDIDATE),
        Event(date(2024, 3, 12), "surgery", ("23",), "exposure", phase=2, done_by=ANOTHER),
        Event(date(2025, 8, 25), "appliances_off", phase=2, done_by=CANDIDATE),
        Event(date(2025, 8, 25), "phase_end", phase=2, done_by=CANDIDATE),
        Event(date(2025, 8, 25), "end", done_by=CANDIDATE),
        Event(date(2025, 9, 15), "retention_start", detail="retainer_fixed", done_by=CANDIDATE),
    ),
    stated={"asymmetry": False},
    kept={"initial": _casts("Shelf 3, box 4"), "final": _casts("Shelf 3, box 4")},
)


def short(number: int, months: int) -> Treatment:
    """A case of the year of results: fixed appliances for so many months, all by the candidate."""
    whole = 2026 * 12 - months
    start, end = date(whole // 12, whole % 12 + 1, number), date(2026, 1, number)
    return Treatment(
        events=(
            Event(start, "start", done_by=CANDIDATE),
            Event(start, "appliances_on", detail="fixed_labial", done_by=CANDIDATE),
            Event(end, "appliances_off", done_by=CANDIDATE),
            Event(end, "end", done_by=CANDIDATE),
        )
    )
