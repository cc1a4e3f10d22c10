"""The course of a case, worked out from its events: when it began and ended, active time, phases, appliances, hands.

Active treatment runs from the start of treatment to the end of active treatment; where one of them is not recorded, the
next best event stands for it and is named. Where phases are stated, active time is that of the phases. Breaks count to
nothing. Months are completed calendar months (`treatment.spans`). Common practice, no source: that breaks and the time
between phases are not counted.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from portfolio.ages import months_between
from portfolio.events import (
    ANOTHER,
    APPLIANCES,
    BY_KEY,
    JAW_OPERATIONS,
    NOT_STATED,
    SUPERNUMERARY,
    Event,
    in_order,
)
from portfolio.teeth import in_order as teeth_in_order
from portfolio.treatment.spans import Span, common, days_of, joined, months_of, span, without

STARTS = ("transfer_in", "phase_start", "appliances_on")
"""What stands for the start of treatment where none is recorded: the earliest."""
ENDS = ("end", "discontinued")


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase: when it began, when it ended (None while it goes on), its active time without breaks."""

    number: int
    first: date
    until: date | None
    days: int
    months: int


@dataclass(frozen=True, slots=True)
class Wear:
    """One appliance from the day it went on; `months` is None until it is off."""

    family: str
    on: date
    off: date | None = None
    as_well: bool = False
    """Used beside others, so that nobody has to say when it came off."""

    @property
    def months(self) -> int | None:
        return months_between(self.on, self.off) if self.off else None

    @property
    def words(self) -> str:
        return APPLIANCES.get(self.family, self.family)


@dataclass(frozen=True, slots=True)
class Share:
    """Whose hands active treatment was in, and for which share of its days; an empty key is not stated."""

    done_by: str
    days: int
    share: Fraction


@dataclass(frozen=True, slots=True)
class Course:
    """What follows from the events of a case. Days are the owner's; others see months since the start.

    `start_by` and `end_by` are the kinds that stand for start and end, empty where nothing does. `active_months` is
    None before treatment has begun; while it goes on (`so_far`) it counts to the day asked for.
    """

    events: tuple[Event, ...] = ()
    start: date | None = None
    start_by: str = ""
    end: date | None = None
    end_by: str = ""
    so_far: bool = False
    active_days: int = 0
    active_months: int | None = None
    break_days: int = 0
    break_months: int = 0
    phases: tuple[Phase, ...] = ()
    breaks: tuple[Span, ...] = ()
    wears: tuple[Wear, ...] = ()
    shares: tuple[Share, ...] = ()
    extractions: tuple[Event, ...] = ()
    """Without supernumerary teeth."""
    supernumeraries: int = 0
    operations: tuple[Event, ...] = ()
    transfers_in: tuple[date, ...] = ()
    transfers_out: tuple[date, ...] = ()
    discontinued: bool = False
    missed: int = 0
    unplanned: int = 0
    retention_start: date | None = None
    retainer: str = ""
    """The retainer named where retention begins, by key."""
    last_check: date | None = None
    hands: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Kind of event → who did it, each time it was stated."""

    @property
    def extracted(self) -> tuple[str, ...]:
        """Teeth taken out, ISO 3950, in reading order, each once."""
        return teeth_in_order({tooth for one in self.extractions for tooth in one.teeth})

    @property
    def whole_months(self) -> int | None:
        """Completed months from start to end with breaks and gaps; None while treatment goes on."""
        return months_between(self.start, self.end) if self.start and self.end else None

    @property
    def surgical(self) -> bool:
        """Whether a jaw was operated on."""
        return any(one.detail in JAW_OPERATIONS for one in self.operations)

    @property
    def families(self) -> tuple[str, ...]:
        """Appliance families in the order in which they were first used."""
        return tuple(dict.fromkeys(one.family for one in self.wears))

    def share(self, *hands: str) -> Fraction | None:
        """The share of active days in these hands together; None before there are any active days."""
        if not self.active_days:
            return None
        return sum((one.share for one in self.shares if one.done_by in hands), Fraction(0))

    def months_since_start(self, on: date) -> int | None:
        """Completed months from the start, negative before it; None where nothing stands for the start."""
        return months_between(self.start, on) if self.start else None

    def months_since_end(self, on: date) -> int | None:
        """Completed months from the end of active treatment; None where nothing stands for the end."""
        return months_between(self.end, on) if self.end else None


def course_of(events: Iterable[Event], today: date) -> Course:
    """The course that the events make; what has not ended is counted to `today`."""
    ordered = tuple(in_order(events))
    start = _start(ordered)
    wears = _wears(ordered)
    end = _end(ordered, wears)
    until = end.on if end else today
    phases = _phase_days(ordered, until)
    whole = span(start.on, until) if start else None
    gross = joined(one for _, one in phases if one) if phases else ((whole,) if whole else ())
    breaks = common(_breaks(ordered, until), gross)
    active = without(gross, breaks)
    taken_out, retention = _of(ordered, "extraction"), _of(ordered, "retention_start")
    return Course(
        events=ordered,
        start=start.on if start else None,
        start_by=start.kind if start else "",
        end=end.on if end else None,
        end_by=end.kind if end else "",
        so_far=start is not None and end is None,
        active_days=days_of(active),
        active_months=months_of(active) if start else None,
        break_days=days_of(breaks),
        break_months=months_of(breaks),
        phases=_phases(ordered, phases, breaks),
        breaks=breaks,
        wears=wears,
        shares=_shares(ordered, active, until),
        extractions=tuple(one for one in taken_out if one.detail != SUPERNUMERARY),
        supernumeraries=sum(one.detail == SUPERNUMERARY for one in taken_out),
        operations=_of(ordered, "surgery"),
        transfers_in=tuple(one.on for one in _of(ordered, "transfer_in")),
        transfers_out=tuple(one.on for one in _of(ordered, "transfer_out")),
        discontinued=bool(_of(ordered, "discontinued")),
        missed=len(_of(ordered, "missed")),
        unplanned=len(_of(ordered, "unplanned")),
        retention_start=next((one.on for one in retention), None),
        retainer=next((one.detail for one in retention if one.detail), ""),
        last_check=next((one.on for one in reversed(_of(ordered, "retention_check"))), None),
        hands=_hands(ordered),
    )


def _of(events: Sequence[Event], *kinds: str) -> tuple[Event, ...]:
    return tuple(one for one in events if one.kind in kinds)


def _start(events: Sequence[Event]) -> Event | None:
    found = _of(events, "start") or _of(events, *STARTS)
    return found[0] if found else None


def _end(events: Sequence[Event], wears: Sequence[Wear]) -> Event | None:
    """The last recorded end, else what stands for it: the last phase over, all appliances off, handed over for good."""
    if found := _of(events, *ENDS):
        return found[-1]
    begun = {one.phase for one in _of(events, "phase_start")}
    over = _of(events, "phase_end")
    if begun:
        closed = begun <= {one.phase for one in over}
        return over[-1] if closed else _handed_over(events)
    worn = [one for one in wears if not one.as_well]
    if worn and all(one.off for one in worn):
        return _of(events, "appliances_off")[-1]
    return _handed_over(events)


def _handed_over(events: Sequence[Event]) -> Event | None:
    moves = _of(events, "transfer_in", "transfer_out")
    return moves[-1] if moves and moves[-1].kind == "transfer_out" else None


def _phase_days(events: Sequence[Event], until: date) -> list[tuple[int, Span | None]]:
    """Each phase that has begun with its days; one without an end goes on to the next one, the last to `until`."""
    starts: dict[int, date] = {}
    for one in _of(events, "phase_start"):
        starts.setdefault(one.phase, one.on)
    ends = {one.phase: one.on for one in _of(events, "phase_end")}
    found = []
    for number, first in sorted(starts.items()):
        later = [day for other, day in starts.items() if other > number and day > first]
        found.append((number, span(first, ends.get(number) or min(later, default=max(until, first)))))
    return found


def _phases(
    events: Sequence[Event], days: Sequence[tuple[int, Span | None]], breaks: Sequence[Span]
) -> tuple[Phase, ...]:
    starts = {one.phase: one.on for one in reversed(_of(events, "phase_start"))}
    ends = {one.phase: one.on for one in _of(events, "phase_end")}
    made = []
    for number, whole in days:
        active = without([whole], breaks) if whole else ()
        made.append(
            Phase(number, starts[number], ends.get(number), days_of(active), months_of(active)),
        )
    return tuple(made)


def _breaks(events: Sequence[Event], until: date) -> list[Span]:
    """From each break to what resumes it, else to the end."""
    found: list[Span | None] = []
    since: date | None = None
    for one in _of(events, "break", "resumed"):
        if one.kind == "break":
            since = since or one.on
        elif since:
            found.append(span(since, one.on))
            since = None
    if since:
        found.append(span(since, until))
    return [one for one in found if one]


def _wears(events: Sequence[Event]) -> tuple[Wear, ...]:
    """Appliances with the day each came off; an event that names none takes off whatever is on."""
    found: list[Wear] = []
    for one in events:
        if one.kind in ("appliances_on", "appliance"):
            found.append(Wear(one.detail, one.on, as_well=one.kind == "appliance"))
        elif one.kind == "appliances_off":
            for number, wear in enumerate(found):
                if wear.off is None and one.detail in ("", wear.family):
                    found[number] = Wear(wear.family, wear.on, one.on, wear.as_well)
    return tuple(found)


def _shares(events: Sequence[Event], active: Sequence[Span], until: date) -> tuple[Share, ...]:
    """In whose hands the active days lay: whoever did the latest event that takes the treatment over."""
    total = days_of(active)
    if not total:
        return ()
    days: dict[str, int] = {}
    now, since = NOT_STATED, min(one.first for one in active)
    last = max(until, max(one.until for one in active))
    for one in (*events, None):
        if one is not None and not (one.kind == "transfer_out" or _takes_over(one)):
            continue
        here = span(since, one.on if one else last)
        if here:
            days[now] = days.get(now, 0) + days_of(common(active, [here]))
            since = here.until
        if one is not None:
            now = ANOTHER if one.kind == "transfer_out" else one.done_by
    return tuple(Share(key, count, Fraction(count, total)) for key, count in days.items() if count)


def _takes_over(event: Event) -> bool:
    kind = BY_KEY.get(event.kind)
    return kind is not None and kind.takes_over and event.done_by != NOT_STATED


def _hands(events: Sequence[Event]) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for one in events:
        if one.done_by:
            found.setdefault(one.kind, []).append(one.done_by)
    return {kind: tuple(hands) for kind, hands in found.items()}
