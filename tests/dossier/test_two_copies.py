"""Whatever the candidate's copy holds beyond the examiner's is looked for in the examiner's printed file, and not found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from django.utils import timezone

from dossier.case_file import CANDIDATE, EXAMINER, CaseFile
from dossier.selectors import Wanted, printable
from portfolio.ages import latest_day
from portfolio.models import Case, Finding, RecordSet
from scoring import services as scoring_services
from tests.factories.accounts import person
from tests.factories.dossier import printed
from tests.factories.scoring import OPEN_FRONT, measured_sheet
from tests.press.printed import everything_in, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def texts_of(thing: object) -> Iterator[str]:
    """Every text in a frozen value, however deep."""
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, tuple):
        for one in thing:
            yield from texts_of(one)
    elif is_dataclass(thing):
        for one in fields(thing):
            yield from texts_of(getattr(thing, one.name))


def squeezed(text: str) -> str:
    return "".join(text.split())


def test_nothing_that_only_the_candidates_file_holds_is_printed_for_the_examiner(tmp_path: Path) -> None:
    sheet = measured_sheet(person(name="QZQZREADERQZQZ"), *OPEN_FRONT)
    case = sheet.record_set.case
    for number, row in enumerate(Finding.objects.filter(sheet=sheet)):
        Finding.objects.filter(pk=row.pk).update(note=f"QZQZ{number}QZQZ")
    Case.objects.filter(pk=case.pk).update(
        note="QZQZNOTEQZQZ", estimate={"QZQZGUESSQZQZ": 7}, searchable="QZQZFOLDEDQZQZ"
    )
    RecordSet.objects.filter(case=case).update(reason="QZQZREASONQZQZ")
    scoring_services.keep_score(sheet.reader, sheet, "discrepancy", timezone.now())
    case.refresh_from_db()

    def file(edition: str) -> CaseFile:
        return printable(sheet.reader, case, Wanted(edition, "a4"), latest_day(timezone.now())).file

    only = set(texts_of(file(CANDIDATE))) - set(texts_of(file(EXAMINER))) - {CANDIDATE, ""}
    assert {"QZQZNOTEQZQZ", "QZQZREASONQZQZ", "QZQZ0QZQZ"} <= only
    assert sum(": 41" in one for one in only) >= 1, "other totals"
    assert sum("scores" in one or "point" in one for one in only) >= 3, "distances to the next step"
    assert sum(one.endswith(" SD") for one in only) >= 2, "the weakest lines"
    assert sum(one.endswith(" SD away") for one in only) >= 3, "margins of single lines"
    assert any("read as" in one and "the line would" in one for one in only), "other readings of a line"

    examiner, candidate = (printed(case, tmp_path, one) for one in (EXAMINER, CANDIDATE))
    shown, other = squeezed(words_of(examiner)), everything_in(examiner)
    assert [one for one in only if squeezed(one) in shown] == []
    assert b"QZQZ" not in other
    in_candidates = squeezed(words_of(candidate))
    assert all(one in in_candidates for one in ("QZQZNOTEQZQZ", "QZQZREASONQZQZ", "QZQZ0QZQZ"))
    points = ("point by point", "Taken from the", "Weakest lines", "Examiner’s", "standard deviations (SD)")
    assert all(squeezed(one) in in_candidates and squeezed(one) not in shown for one in points)
    assert b"point-box" not in other
    for never in ("QZQZREADERQZQZ", "QZQZGUESSQZQZ", "QZQZFOLDEDQZQZ"):
        assert never.encode() not in everything_in(candidate)
