"""Kept scores: once a state, never changed, and honest about what has moved since."""

from __future__ import annotations

from datetime import timedelta

import pytest

from accounts.models import User
from portfolio import readings
from portfolio.models import Sheet
from portfolio.selectors import reading
from portfolio.services import erase_case
from scoring import selectors, services
from scoring.access import visible_runs, visible_tallies
from scoring.models import ScoreRun, TypedTally
from scoring.services import SheetMoved
from tests.factories.accounts import person
from tests.factories.portfolio import NOON
from tests.factories.scoring import OPEN_FRONT, change, loaded, measured_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return measured_sheet(owner, *OPEN_FRONT)


def keep(sheet: Sheet, **seen: object) -> services.Kept:
    return services.keep_score(sheet.reader, sheet, "discrepancy", NOON, **seen)  # type: ignore[arg-type]


def rows(sheet: Sheet) -> tuple[selectors.KeptRow, ...]:
    sheet = loaded(sheet)
    return selectors.kept_rows(sheet, selectors.scored(sheet, "discrepancy"))


def test_a_kept_score_holds_everything_it_was_made_from(sheet: Sheet) -> None:
    run = keep(sheet).run
    kept = selectors.then(run)
    now = selectors.scored(loaded(sheet), "discrepancy")
    assert kept.score == now.score
    assert kept.findings == now.reading.findings
    assert (run.edition, run.sheet_version, run.choices) == ("worksheet", sheet.version, now.score.choices)
    assert (run.kept_by, run.kept_at) == (sheet.reader, NOON)


def test_a_double_click_keeps_one_score(sheet: Sheet) -> None:
    first, second = keep(sheet), keep(sheet)
    assert (first.again, second.again) == (False, True)
    assert first.run == second.run
    assert ScoreRun.objects.count() == 1


def test_the_same_values_after_a_detour_are_kept_anew(sheet: Sheet) -> None:
    keep(sheet)
    change(sheet, "overbite", "13", "o 5")
    change(sheet, "overbite", "13", "o 3")
    assert not keep(loaded(sheet)).again
    assert [row.moved for row in rows(sheet)] == [(), ()]


def test_a_score_the_page_had_not_shown_is_not_kept(sheet: Sheet) -> None:
    seen = selectors.scored(sheet, "discrepancy")
    change(sheet, "overbite", "13", "o 5")
    with pytest.raises(SheetMoved):
        keep(sheet, seen_version=seen.sheet_version, seen_choices=seen.chosen.digest)
    now = selectors.scored(loaded(sheet), "discrepancy")
    services.choose_set(sheet.record_set.case.patient.portfolio, "discrepancy", "as_printed")
    with pytest.raises(SheetMoved):
        keep(sheet, seen_version=now.sheet_version, seen_choices=now.chosen.digest)
    assert not ScoreRun.objects.exists()


def test_a_finding_saved_while_a_score_is_worked_out_makes_it_be_worked_out_anew(
    sheet: Sheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    pending = ["o 5"]

    def read_then_changed(row: Sheet) -> readings.Sheet:
        found = reading(row)
        if pending:
            change(sheet, "overbite", "13", pending.pop())
        return found

    monkeypatch.setattr("scoring.services.reading", read_then_changed)
    run = keep(loaded(sheet)).run
    assert selectors.then(run).score.total == 37
    assert run.sheet_version == loaded(sheet).version


def test_a_kept_score_stays_when_findings_and_choices_change(sheet: Sheet) -> None:
    run = keep(sheet).run
    before = selectors.then(ScoreRun.objects.get(pk=run.pk)).score
    change(sheet, "overbite", "13", "o 5")
    services.choose_set(sheet.record_set.case.patient.portfolio, "discrepancy", "as_printed")
    assert selectors.then(ScoreRun.objects.get(pk=run.pk)).score == before
    (row,) = rows(sheet)
    assert (row.total, row.total_now) == ("35", "43")
    assert row.moved == ("1 finding changed since", "other rule choices")


def test_other_rules_make_a_kept_score_stale(sheet: Sheet, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(sheet)
    monkeypatch.setattr("scoring.registry.rules_digest", lambda key: "another")
    assert rows(sheet)[0].moved == ("the rules themselves changed",)
    assert not keep(sheet).again


def test_kept_scores_are_never_changed_or_deleted_singly(sheet: Sheet) -> None:
    keep(sheet)
    with pytest.raises(TypeError, match="append-only"):
        ScoreRun.objects.update(sheet_version=0)
    with pytest.raises(TypeError, match="append-only"):
        ScoreRun.objects.all().delete()


def test_erasing_the_case_takes_kept_scores_and_tallies_with_it(sheet: Sheet) -> None:
    keep(sheet)
    services.type_tally(sheet.reader, sheet, "discrepancy", {"overjet": "2"}, "35", NOON)
    erase_case(sheet.record_set.case, sheet.record_set.case.code)
    assert not ScoreRun.objects.exists()
    assert not TypedTally.objects.exists()


def test_the_newest_kept_score_stands_first(sheet: Sheet) -> None:
    keep(sheet)
    change(sheet, "overbite", "13", "o 5")
    services.keep_score(sheet.reader, loaded(sheet), "discrepancy", NOON + timedelta(days=1))
    assert [row.total for row in rows(sheet)] == ["37", "35"]


def test_a_stranger_sees_neither_kept_scores_nor_tallies(sheet: Sheet) -> None:
    keep(sheet)
    services.type_tally(sheet.reader, sheet, "discrepancy", {}, "35", NOON)
    stranger = person(name="Piet Vandermeulen")
    assert not visible_runs(stranger).exists()
    assert not visible_tallies(stranger).exists()
    assert visible_runs(sheet.reader).count() == visible_tallies(sheet.reader).count() == 1


def test_the_same_tally_typed_twice_is_one_row(sheet: Sheet) -> None:
    for _ in range(2):
        services.type_tally(sheet.reader, sheet, "discrepancy", {"overjet": "2"}, "35", NOON)
    assert TypedTally.objects.count() == 1
    services.type_tally(sheet.reader, sheet, "discrepancy", {"overjet": "3"}, "35", NOON)
    assert [t.categories["overjet"] for t in selectors.typed_tallies(sheet, "discrepancy")] == ["3", "2"]
