"""The course as a drawing: months from the start to the right, one row for each thing that lasts. Pure geometry.

Places are in units of the drawing, x to the right and y downwards; one unit is a pixel at full size.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from portfolio.ages import months_between
from portfolio.events import JAW_OPERATIONS, Event
from portfolio.treatment.course import Course, Wear
from portfolio.treatment.spans import Span, span, without

WIDTH = 760
LEFT, RIGHT, TOP, ROW, BELOW = 190, 16, 8, 30, 40
BAR = 16
ROOM_FOR_WORDS = 60
MOST_TICKS = 10
STEPS = (1, 2, 3, 6, 12, 24, 36, 60, 120)


@dataclass(frozen=True, slots=True)
class Bar:
    """Something that lasts, from its upper left corner; `open` where its end is not recorded."""

    x: float
    y: float
    width: float
    words: str
    open: bool = False

    @property
    def middle(self) -> float:
        return round(self.x + self.width / 2, 1)

    @property
    def inside(self) -> str:
        """What is written into the bar where there is room."""
        return self.words if self.words.startswith("phase") and self.width > ROOM_FOR_WORDS else ""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something of one day."""

    x: float
    words: str


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the drawing: its name, the middle of its height, what stands in it."""

    label: str
    y: float
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class AxisTick:
    """One place on the axis of months."""

    x: float
    text: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """The drawing and what it shows in words, for those who do not see it."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    bar: int
    rows: tuple[Row, ...]
    ticks: tuple[AxisTick, ...]
    words: str


@dataclass(frozen=True, slots=True)
class _Scale:
    """Days on the axis, from the first one shown to the last one."""

    first: date
    last: date

    def x(self, day: date) -> float:
        whole = max((self.last - self.first).days, 1)
        share = (min(max(day, self.first), self.last) - self.first).days / whole
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def bar(self, one: Span, words: str, *, is_open: bool = False) -> Bar:
        width = round(self.x(one.until) - self.x(one.first), 1)
        return Bar(self.x(one.first), 0, width, words, is_open)


def timeline(course: Course, today: date) -> Timeline | None:
    """The drawing of a course; None where nothing stands for its start or it covers less than a month."""
    days = [one.on for one in course.events if one.kind != "note"]
    if course.start is None or not days:
        return None
    last = max([*days, *([] if course.end else [today])])
    if months_between(course.start, last) < 1:
        return None
    scale = _Scale(min(days), last)
    rows = tuple(
        _row(TOP + ROW * (number + 0.5), *found) for number, found in enumerate(_rows(course, scale))
    )
    bottom = TOP + ROW * len(rows)
    return Timeline(
        width=WIDTH,
        height=bottom + BELOW,
        left=LEFT,
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=bottom,
        bar=BAR,
        rows=rows,
        ticks=tuple(_ticks(course.start, scale)),
        words="; ".join(_row_words(row) for row in rows),
    )


def _row(y: float, label: str, bars: Sequence[Bar], marks: Sequence[Mark]) -> Row:
    return Row(label, y, tuple(replace(bar, y=y - BAR / 2) for bar in bars), tuple(marks))


def _row_words(row: Row) -> str:
    words = [*(bar.words for bar in row.bars), *(mark.words for mark in row.marks)]
    return f"{row.label}: {', '.join(dict.fromkeys(words))}"


_Found = tuple[str, Sequence[Bar], Sequence[Mark]]


def _rows(course: Course, scale: _Scale) -> Iterator[_Found]:
    until = course.end or scale.last
    yield "Active treatment", tuple(_active(course, scale, until)), ()
    for wears in _by_family(course.wears):
        bars = [
            scale.bar(worn, wears[0].words, is_open=one.off is None)
            for one in wears
            if (worn := span(one.on, one.off or max(until, one.on)))
        ]
        yield wears[0].words.capitalize(), bars, ()
    if course.extractions:
        yield "Extractions", (), [Mark(scale.x(one.on), _month(course, one)) for one in course.extractions]
    if course.operations:
        yield "Surgery", (), [Mark(scale.x(one.on), _month(course, one)) for one in course.operations]
    if course.retention_start and (kept := span(course.retention_start, scale.last)):
        yield "Retention", [scale.bar(kept, "retention", is_open=True)], ()


def _active(course: Course, scale: _Scale, until: date) -> Iterator[Bar]:
    if course.phases:
        for phase in course.phases:
            whole = span(phase.first, phase.until or max(until, phase.first))
            for part in without([whole] if whole else (), course.breaks):
                yield scale.bar(part, f"phase {phase.number}", is_open=phase.until is None and course.so_far)
    elif course.start and (whole := span(course.start, until)):
        for part in without([whole], course.breaks):
            yield scale.bar(part, "active treatment", is_open=course.so_far and part.until == until)


def _by_family(wears: Sequence[Wear]) -> list[list[Wear]]:
    found: dict[str, list[Wear]] = {}
    for one in wears:
        found.setdefault(one.family, []).append(one)
    return list(found.values())


def _month(course: Course, event: Event) -> str:
    jaw = "jaw operation, " if event.detail in JAW_OPERATIONS else ""
    return f"{jaw}month {course.months_since_start(event.on)}"


def _ticks(start: date, scale: _Scale) -> Iterator[AxisTick]:
    """Whole months from the start, as many as can be read."""
    first, last = months_between(start, scale.first), months_between(start, scale.last)
    step = next((one for one in STEPS if (last - first) / one <= MOST_TICKS), STEPS[-1])
    for month in range(first - first % step, last + 1, step):
        day = _day_of_month(start, month)
        if scale.first <= day <= scale.last:
            yield AxisTick(scale.x(day), f"{month}".replace("-", "−"))


def _day_of_month(start: date, month: int) -> date:
    """The day on which so many months are complete, near enough for a drawing."""
    whole = start.year * 12 + start.month - 1 + month
    return date(whole // 12, whole % 12 + 1, min(start.day, 28))
