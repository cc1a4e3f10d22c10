"""The candidate's copy tells how many repeats were averaged and which were not, with every written reason."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.utils import timezone

from dossier import pages
from dossier.case_file import CANDIDATE, EXAMINER
from dossier.selectors import Wanted, printable
from portfolio.models import Sheet
from portfolio.repeating import services
from tests.factories.accounts import person
from tests.factories.repeat_sheets import LATER, first_sheet_of, handed_in, repeat_sheet_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
AGAIN = {("overjet", "11"): "6.0", ("overjet", "21"): "6.5"}


def words(first: Sheet, edition: str) -> str:
    case = first.record_set.case
    file = printable(first.reader, case, Wanted(edition, "a4"), timezone.now().date()).file
    plain = html.unescape(re.sub(r"<[^>]+>", " ", pages.document(file)))
    return re.sub(r"\s+", " ", plain)


def test_repeats_that_count_and_those_that_do_not_are_told_with_their_reasons() -> None:
    owner = person()
    first = first_sheet_of(owner)
    assert "measured again" not in words(first, CANDIDATE)

    when = [LATER + timedelta(days=20 * n) for n in range(4)]
    handed_in(first, AGAIN, when[0])
    said = words(first, CANDIDATE)
    assert (
        "These records were measured again once, blind to the first; it counts. 2 numbers were read" in said
    )

    dropped = handed_in(first, {("overjet", "11"): "9.0"}, when[1])
    services.leave_out(owner, dropped, "The gauge was bent.", when[1])
    given_up = repeat_sheet_of(first, when[2])
    services.give_up(owner, given_up, "بدون نماذج", when[2])
    handed_in(first, {("overjet", "11"): "6.2"}, when[3])
    said = words(first, CANDIDATE)
    assert (
        "measured again 4 times, blind to the first; 2 of them count. 2 numbers were read more than once"
        in said
    )
    assert f"Repeat 2 was left out on {when[1]:%Y-%m-%d}: The gauge was bent." in said
    assert f"Repeat 3 was given up on {when[2]:%Y-%m-%d}: بدون نماذج" in said
    assert said.count("measured again") == 1, "once for a stage, not for each index"
    case = first.record_set.case
    file = printable(owner, case, Wanted(CANDIDATE, "a4"), timezone.now().date()).file
    assert '<span dir="rtl">' in pages.document(file)

    shown = words(first, EXAMINER)
    assert "measured again" not in shown
    assert "gauge was bent" not in shown

    services.count_again(owner, dropped, "It was not bent after all.", when[3])
    said = words(first, CANDIDATE)
    assert "3 of them count" in said
    assert "gauge was bent" not in said
