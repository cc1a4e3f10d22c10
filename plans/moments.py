"""Days that windows run between: events of treatment, days of records, the submission; and adding months.  Pure.

Months are added by the rule of `portfolio.ages`: a month is complete when its day is reached, in a month that is too
short for that day on the first of the next one.  So a month after 31 January is 1 March, and a year after
29 February 2024 is 1 March 2025: the first day on which `months_between` counts that many.
"""

from collections.abc import Mapping
from datetime import MAXYEAR, date

from plans.facts import CaseFacts

EVENTS: Mapping[str, str] = {
    "start": "start of treatment",
    "appliances_on": "appliances on",
    "appliances_off": "appliances off",
    "surgery": "surgery",
    "end": "end of active treatment",
    "retention_start": "start of retention",
    "retention_check": "last retention check",
}
"""Event → words; the days stand in `CourseFacts.days`."""
RECORD_DAYS: Mapping[str, str] = {
    "records_initial": "initial records",
    "records_interim": "interim records",
    "records_final": "final records",
    "records_retention": "retention records",
    "records_post_retention": "post-retention records",
}
SUBMISSION = "submission"
MOMENTS: Mapping[str, str] = {**EVENTS, **RECORD_DAYS, SUBMISSION: "submission"}
"""Every moment → words inside a sentence."""


def day_of(facts: CaseFacts, moment: str) -> date | None:
    """The day of a moment, None where it is not recorded; KeyError for a moment that is not known."""
    if moment in EVENTS:
        return facts.course.days.get(moment)
    if moment in RECORD_DAYS:
        stage = facts.stages.get(moment.removeprefix("records_"))
        return stage.taken_on if stage else None
    if moment == SUBMISSION:
        return facts.submission_on
    raise KeyError(moment)


def stage_of(moment: str) -> str:
    """The stage of a moment that is a day of records; empty for others."""
    return moment.removeprefix("records_") if moment in RECORD_DAYS else ""


def add_months(day: date, months: int) -> date:
    """The first day on which so many calendar months (0 or more) are complete.

    ValueError for negative months; OverflowError beyond the years of the calendar.
    """
    if months < 0:
        raise ValueError("months are added forwards only")
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > MAXYEAR:
        raise OverflowError(f"{months} months from {day} lie beyond the calendar")
    try:
        return date(year, month + 1, day.day)
    except ValueError:
        # Only months with fewer than 31 days get here, so the next month is in the same year.
        return date(year, month + 2, 1)
