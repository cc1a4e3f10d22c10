"""Fills the case log of the invented clinic as a person does at the desk."""

import uuid
from collections.abc import Mapping
from datetime import datetime, timedelta

from accounts.models import User
from demo.broken import DemoBroken
from demo.scenario import BY_EYE, CASES, POSSIBLE
from portfolio.access import visible_cases
from portfolio.case_log import services
from portfolio.case_log.rows import kept
from portfolio.models import Case, Portfolio
from scoring.selectors import choices

BETWEEN_ROWS = timedelta(minutes=2)


def write_down(by: User, portfolio: Portfolio, at: datetime) -> None:
    """Add the possible cases row by row, then what was seen of measured cases; `at` is the time of the latest."""
    begun = at - BETWEEN_ROWS * (len(POSSIBLE) + len(BY_EYE))
    for number, texts in enumerate(POSSIBLE):
        when = begun + BETWEEN_ROWS * number
        added = services.add_row(by, portfolio, uuid.uuid4(), "", f"demo-log-add-{number}", when)
        if isinstance(added, services.Refused):
            raise DemoBroken(f"row {number} of the case log: {added.faults}")
        _filled(by, added.case, texts, f"demo-log-{number}", when)
    for number, texts in BY_EYE.items():
        case = visible_cases(by).get(note=CASES[number].note)
        _filled(by, case, texts, f"demo-log-eye-{number}", at)


def _filled(by: User, case: Case, texts: Mapping[str, str], key: str, at: datetime) -> None:
    stands = kept(case.state, case.estimate)
    entries = [services.Entry(name, text, stands.get(name, "")) for name, text in texts.items()]
    plane = choices(case.patient.portfolio, "discrepancy")["mandibular_plane"]
    answer = services.save_fields(by, case, entries, plane, key, at)
    if not isinstance(answer, services.Saved):
        raise DemoBroken(f"{key}: {answer}")
