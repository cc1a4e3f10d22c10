"""The calendar file against the rules and examples of RFC 5545 and RFC 7986, read back by an own reader of the rules."""

import re
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plans.calendar_file import Day, days_due, escaped, folded, write
from plans.windows import Due, DueState

STAMP = datetime(2026, 12, 1, 23, 30, tzinfo=timezone(timedelta(hours=-8)))
ONE = Day(
    "list/K7/final",
    date(2027, 2, 28),
    "Case K7: Final records",
    "due by 28 February 2027, by the plan; see it",
)
BEHIND: tuple[DueState, ...] = ("done", "late", "early", "planned")
TEXTS = st.text(st.characters(codec="utf-8"), max_size=200)


def unfolded(text: str) -> list[str]:
    """Content lines: a line end followed by one blank or tab is taken out (section 3.1)."""
    assert text.endswith("\r\n")
    return re.sub(r"\r\n[ \t]", "", text).split("\r\n")[:-1]


def unescaped(text: str) -> str:
    r"""A text value (section 3.3.11): `\\`, `\;`, `\,`, `\n` and `\N`."""
    return re.sub(r"\\([\\;,nN])", lambda found: "\n" if found[1] in "nN" else found[1], text)


def properties(text: str) -> list[tuple[str, str]]:
    return [(name, value) for name, _, value in (line.partition(":") for line in unfolded(text))]


def test_the_whole_of_a_small_file() -> None:
    uid = next(value for name, value in properties(write([ONE], STAMP)) if name == "UID")
    assert write([ONE], STAMP) == (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Foliowright//Due by the plan//EN\r\nBEGIN:VEVENT\r\n"
        f"UID:{uid}\r\nDTSTAMP:20261202T073000Z\r\nDTSTART;VALUE=DATE:20270228\r\nSUMMARY:Case K7: Final records\r\n"
        "DESCRIPTION:due by 28 February 2027\\, by the plan\\; see it\r\nCLASS:PRIVATE\r\nTRANSP:TRANSPARENT\r\n"
        "END:VEVENT\r\nEND:VCALENDAR\r\n"
    )


def test_the_published_example_of_a_text_value() -> None:
    # RFC 5545, section 3.3.11.
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert escaped(text) == "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."
    assert escaped("a\r\nb\rc") == "a\\nb\\nc"
    assert escaped("bell\x07, tab\t") == "bell\\, tab\t"


@given(TEXTS)
def test_no_line_is_longer_than_75_octets_and_no_character_is_cut(text: str) -> None:
    line = f"SUMMARY:{escaped(text)}"
    for row in folded(line).split("\r\n"):
        assert len(row.encode()) <= 75
    assert unfolded(folded(line)) == [line]


def test_folding_begins_at_the_76th_octet() -> None:
    assert folded("x" * 75) == "x" * 75 + "\r\n"
    assert folded("x" * 76) == "x" * 75 + "\r\n x\r\n"
    assert folded("ä" * 38) == "ä" * 37 + "\r\n ä\r\n"


@given(TEXTS, TEXTS)
def test_texts_come_back_as_they_were(summary: str, description: str) -> None:
    found = dict(properties(write([Day("a", date(2027, 1, 1), summary, description)], STAMP)))

    def kept(text: str) -> str:
        ends = text.replace("\r\n", "\n").replace("\r", "\n")
        return "".join(c for c in ends if c in "\t\n" or (c >= " " and c != "\x7f"))

    assert unescaped(found["SUMMARY"]) == kept(summary)
    assert unescaped(found.get("DESCRIPTION", "")) == kept(description)


def test_every_event_has_what_the_standard_requires_once() -> None:
    days = [ONE, Day("list/K8/final", date(2027, 3, 1), "Case K8: Final records")]
    events = write(days, STAMP).split("BEGIN:VEVENT\r\n")[1:]
    assert len(events) == 2
    for event in events:
        for name in ("UID:", "DTSTAMP:", "DTSTART;VALUE=DATE:", "SUMMARY:"):
            assert event.count(f"{name}") == 1, name
    names = {name for name, _ in properties(write(days, STAMP))}
    # A day off: no time, no end, nothing repeated, nobody invited.
    assert names.isdisjoint({"DTEND", "RRULE", "ATTENDEE", "ORGANIZER"})


def test_the_identifier_is_a_uuid_that_stays_and_differs_by_case_window_and_list() -> None:
    def uid(day: Day) -> str:
        return dict(properties(write([day], STAMP)))["UID"]

    moved = Day(ONE.about, date(2028, 1, 1), "other words")
    assert uid(ONE) == uid(moved)
    others = [uid(Day(about, ONE.on, "x")) for about in ("list/K8/final", "list/K7/start", "other/K7/final")]
    assert len({uid(ONE), *others}) == 4
    assert UUID(uid(ONE)).version == 5


def test_an_empty_calendar_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one day"):
        write([], datetime(2027, 1, 1, tzinfo=UTC))


def test_only_what_is_still_to_come_is_written_and_only_codes_name_cases() -> None:
    first, last = date(2027, 1, 1), date(2027, 2, 1)
    due = [
        Due("K1", "w", "Final records", "due", "says", first, last),
        Due("K2", "w", "Final records", "open", "says", first, None),
        Due("K3", "w", "Final records", "overdue", "says", first, last),
        Due("K4", "w", "Final records", "later", "says", first, last),
        *(Due(f"D{n}", "w", "x", state, "says", first, last, last) for n, state in enumerate(BEHIND)),
        Due("W1", "w", "x", "waiting", "says"),
    ]
    days = days_due(due, "list")
    assert [(one.summary, one.on) for one in days] == [
        ("Case K1: Final records", last),
        ("Case K2: Final records", first),
        ("Case K3: Final records", last),
        ("Case K4: Final records", last),
    ]
