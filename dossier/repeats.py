"""What the candidate's copy says of records that were measured again: how many repeats count, and which do not and why."""

from collections.abc import Sequence
from dataclasses import dataclass

from dossier.reading_direction import direction
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Sheet
from portfolio.repeating.all_readings import all_readings
from portfolio.repeating.selectors import RepeatLine, repeats_of_sheet


@dataclass(frozen=True, slots=True)
class RepeatTold:
    """One sentence about repeats; `reason` is what the reader wrote, empty where nothing had to be."""

    words: str
    reason: str = ""

    @property
    def reason_direction(self) -> str:
        return direction(self.reason)


def repeats_told(sheet: Sheet, recorded: SheetReading) -> tuple[RepeatTold, ...]:
    """All repeats of a sheet that comes with its reader; none where there are none."""
    lines = repeats_of_sheet(sheet)
    if not lines:
        return ()
    counted = [line for line in lines if line.state == "handed in"]
    told = [RepeatTold(_counted_words(lines, counted, sheet, recorded))]
    for line in lines:
        if line.state in ("left out", "given up"):
            why = [one for one in line.said if one.words == line.state][-1]
            told.append(
                RepeatTold(f"Repeat {line.number} was {line.state} on {why.at:%Y-%m-%d}:", why.reason)
            )
    return tuple(told)


def _counted_words(
    lines: Sequence[RepeatLine], counted: Sequence[RepeatLine], sheet: Sheet, recorded: SheetReading
) -> str:
    count = (
        "none of them counts"
        if not counted
        else f"{len(counted)} of them count{'s' if len(counted) == 1 else ''}"
    )
    if len(lines) == 1:
        count = "it counts" if counted else "it does not count"
    began = f"These records were measured again {_times(len(lines))}, blind to the first; {count}."
    if not counted:
        return f"{began} Every number is a single reading."
    numbers = len(all_readings(sheet, recorded).by_place)
    return (
        f"{began} {numbers} number{'' if numbers == 1 else 's'} {'was' if numbers == 1 else 'were'} read more than once "
        f"and averaged for the chances; the recorded numbers stay."
    )


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")
