"""A calendar file of days, by RFC 5545 (iCalendar): all-day events, one for each day that is due.  Pure.

Lines end with CR LF and are folded at 75 octets (section 3.1), never inside a character; texts are escaped (3.3.11);
an event whose start is a date lasts that day (3.6.1).  The identifier is a UUID (RFC 7986, section 5.3) made of what the
day is for, so that the same day sent again replaces itself.  Events are private (3.8.1.3) and leave the day
free (3.8.2.7).  Nobody's name is in it: cases are told by their codes.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from uuid import UUID, uuid5

from plans.windows import STILL_TO_COME, Due

PRODUCT = "-//Foliowright//Due by the plan//EN"
MOST_OCTETS = 75
_NAMESPACE = UUID("6f2f1c52-6d0b-5d0a-9a55-0d3c0f6c6f10")


@dataclass(frozen=True, slots=True)
class Day:
    """One all-day entry; `about` tells what it is for and makes its identifier."""

    about: str
    on: date
    summary: str
    description: str = ""


def days_due(due: Iterable[Due], about: str) -> tuple[Day, ...]:
    """What is still to come, each on its last day, or on its first where it has no last one.

    `about` names the list (a public id), so that two portfolios do not share identifiers.
    """
    dated = ((one, one.last or one.first) for one in due if one.state in STILL_TO_COME)
    return tuple(
        Day(f"{about}/{one.case}/{one.window}", day, f"Case {one.case}: {one.label}", one.says)
        for one, day in dated
        if day is not None
    )


def write(days: Iterable[Day], stamp: datetime) -> str:
    """The text of the file; `stamp` (with a time zone) is when it was made.

    ValueError without days: a calendar holds at least one (section 3.6).
    """
    every = tuple(days)
    if not every:
        raise ValueError("a calendar file needs at least one day")
    made = f"{stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}"]
    for day in every:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uuid5(_NAMESPACE, day.about)}",
            f"DTSTAMP:{made}",
            f"DTSTART;VALUE=DATE:{day.on:%Y%m%d}",
            f"SUMMARY:{escaped(day.summary)}",
            *([f"DESCRIPTION:{escaped(day.description)}"] if day.description else []),
            "CLASS:PRIVATE",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(folded(line) for line in lines)


def escaped(text: str) -> str:
    """A text value: backslash, semicolon and comma escaped, line ends as `\\n`, other control characters dropped."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    plain = ("".join(c for c in line if c == "\t" or (c >= " " and c != "\x7f")) for line in lines)
    return "\\n".join(line.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,") for line in plain)


def folded(line: str) -> str:
    """A content line with its end, cut so that no line is longer than 75 octets; later ones begin with a blank."""
    rows: list[str] = []
    row, octets = "", 0
    for character in line:
        size = len(character.encode())
        if octets + size > MOST_OCTETS:
            rows.append(row)
            row, octets = " ", 1
        row += character
        octets += size
    rows.append(row)
    return "".join(f"{one}\r\n" for one in rows)
