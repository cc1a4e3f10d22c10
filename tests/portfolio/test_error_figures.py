"""Errors that a portfolio sets: shown beside the default and its source, used by every law, undone, and never lost."""

from __future__ import annotations

import html
import re
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import User
from portfolio.error_figures import services
from portfolio.error_figures.selectors import error_tables, errors_in_force, figures_of
from portfolio.errors import OwnError, default_error, error_of
from portfolio.finding_sheet import Finding
from portfolio.models import ErrorFigure, Sheet
from portfolio.selectors import reading
from portfolio.services import ChangedMeanwhile
from scoring import registry
from scoring.uncertainty import ErrorModel, Question, law_of, percent
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON
from tests.factories.scoring import OPEN_FRONT, measured_sheet

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
SOURCE = "Northmoor clinic, 40 casts in 2024"


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def sheet(owner: User) -> Sheet:
    return measured_sheet(owner, *OPEN_FRONT)


@pytest.fixture
def browser(owner: User) -> Client:
    return signed_in(owner)


def address(sheet: Sheet, name: str = "error_figures", *more: str) -> str:
    return reverse(f"portfolio:{name}", args=[sheet.record_set.case.patient.portfolio.public_id, *more])


def words(browser: Client, where: str, status: int = 200, **data: str) -> str:
    answer = browser.post(where, data, follow=True) if data else browser.get(where)
    assert answer.status_code == status, answer.content.decode()
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())))


def test_an_own_figure_counts_in_every_law_until_the_default_is_taken_back(
    sheet: Sheet, browser: Client, owner: User
) -> None:
    portfolio = sheet.record_set.case.patient.portfolio
    sure = reverse("desk:how_sure", args=[sheet.public_id, "discrepancy"]) + "?thresholds=36"
    points = reverse("desk:points", args=[sheet.public_id, "discrepancy"])
    said = words(browser, address(sheet))
    assert "Overbite caliper ± 0.3 mm Our judgement, not published" in said
    assert "1.86° for SNA, SNB and ANB" in said, "a published default names its source"
    before = words(browser, sure)

    said = words(
        browser, address(sheet, "error_figure", "overbite-caliper"), sd="0,9 mm", source=SOURCE, version="0"
    )
    assert f"± 0.9 mm counts {SOURCE}" in said
    (mine,) = errors_in_force(owner, portfolio.pk)
    assert (mine.quantity, mine.method, mine.sd, mine.source) == ("overbite", "caliper", 0.9, SOURCE)
    after = words(browser, sure)
    told = percent(
        law_of(
            registry.index("discrepancy"),
            reading(sheet),
            ErrorModel(own=(mine,), step=Decimal(sheet.step)),
            Question.TRUE_SCORE,
        ).total.at_least(36)
    )
    assert f"36 or more {told}" in after
    assert f"36 or more {told}" not in before
    assert f"± 0.9 mm (set in this portfolio: {SOURCE})" in words(browser, points)

    turn = address(sheet, "error_default", "overbite-caliper")
    assert "The default counts again" in words(browser, turn, version="1")
    assert errors_in_force(owner, portfolio.pk) == ()
    assert words(browser, sure) == before
    assert "± 0.9 mm set aside" in words(browser, address(sheet))
    assert "Your figure counts again" in words(
        browser, address(sheet, "error_own_again", "overbite-caliper"), version="2"
    )
    assert errors_in_force(owner, portfolio.pk) == (mine,)
    history = words(browser, address(sheet, "error_figure", "overbite-caliper"))
    assert history.count(SOURCE) >= 2
    assert "back to the default" in history
    assert [one.sd for one in figures_of(portfolio, "overbite", "caliper")] == ["0.9", "", "0.9"]
    with pytest.raises(TypeError, match="append-only"):
        ErrorFigure.objects.update(sd="0.1")


def test_what_is_wrong_is_told_beside_its_field_and_nothing_is_kept(sheet: Sheet, browser: Client) -> None:
    where = address(sheet, "error_figure", "overjet-caliper")
    for sd, source, told in (
        ("", SOURCE, "This field is required"),
        ("none", SOURCE, "“none” is not a number; write 0.3 or 0,3"),
        ("0.02", SOURCE, "0.02 is out of range; allowed: 0.03 to 10."),
        ("-0.3", SOURCE, "is not a number"),
        ("10.01", SOURCE, "10.01 is out of range"),
        ("0.3", "", "an error without a source is not kept"),
    ):
        said = words(browser, where, 422, sd=sd, source=source, version="0")
        assert told in said, (sd, told)
    assert not ErrorFigure.objects.exists()
    for key in ("overjet-nothing", "molar_relation", "overjet", "no_such-caliper"):
        assert browser.get(address(sheet, "error_figure", key)).status_code == 404, key
    stranger = signed_in(person())
    assert stranger.get(where).status_code == 404
    assert stranger.post(where, {"sd": "0.3", "source": SOURCE, "version": "0"}).status_code == 404
    assert not ErrorFigure.objects.exists()


def test_two_windows_do_not_overwrite_each_other(sheet: Sheet, browser: Client, owner: User) -> None:
    portfolio = sheet.record_set.case.patient.portfolio
    where = address(sheet, "error_figure", "overjet-caliper")
    words(browser, where, sd="0.4", source="first", version="0")
    said = words(browser, where, 409, sd="0.5", source="second", version="0")
    assert "changed in another window" in said
    assert [one.source for one in figures_of(portfolio, "overjet", "caliper")] == ["first"]
    with pytest.raises(ChangedMeanwhile):
        services.back_to_default(owner, portfolio, "overjet", "caliper", 0, NOON)
    assert "Not done: this error was changed" in words(
        browser, address(sheet, "error_default", "overjet-caliper"), version="0"
    )
    assert len(figures_of(portfolio, "overjet", "caliper")) == 1


def test_own_repeats_come_before_a_figure_and_the_page_says_so(
    sheet: Sheet, owner: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    portfolio = sheet.record_set.case.patient.portfolio
    services.set_figure(owner, portfolio, "overjet", "caliper", "0.5", SOURCE, 0, NOON)
    finding = Finding("overjet", "11", "4.0", method="caliper")
    few, enough = (OwnError("overjet", "caliper", 0.2, 0.0, n) for n in (19, 20))
    selectors = "portfolio.error_figures.selectors.own_errors"
    monkeypatch.setattr(selectors, lambda reader: (few,))
    assert error_of(finding, errors_in_force(owner, portfolio.pk)).sd == 0.5
    line = {one.key: one for table in error_tables(owner, portfolio) for one in table.lines}[
        "overjet-caliper"
    ]
    assert (line.counts, line.repeats, line.own) == ("own", "", "± 0.5 mm")
    monkeypatch.setattr(selectors, lambda reader: (enough,))
    assert error_of(finding, errors_in_force(owner, portfolio.pk)).sd == 0.2
    said = words(signed_in(owner), address(sheet))
    assert "± 0.20 mm counts Your own error, from 20 pairs of repeats" in said
    assert "± 0.5 mm not used: repeats come first" in said
    recorded = Finding("overjet", "11", "4.0", method="caliper", sd="0.1")
    assert error_of(recorded, errors_in_force(owner, portfolio.pk)).sd == 0.1, (
        "the finding itself comes first"
    )


def test_every_number_has_its_default_with_certainty_and_source(sheet: Sheet, owner: User) -> None:
    tables = error_tables(owner, sheet.record_set.case.patient.portfolio)
    lines = [line for table in tables for line in table.lines]
    assert len({line.key for line in lines}) == len(lines)
    assert all(line.counts == "default" and line.default_certainty for line in lines)
    by_key = {line.key: line for line in lines}
    assert by_key["overjet-caliper"].default == f"± {default_error('overjet', 'caliper').sd:g} mm"
