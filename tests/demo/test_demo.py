"""The demo as its people see it, filled by the same services as the pages."""

from decimal import Decimal

import pytest
from django.test import Client

from accounts.models import User
from demo import scenario
from desk.change import rescoring
from desk.change.case import change_page
from desk.change.many import Wanted, many
from imaging import selectors
from portfolio import readings
from portfolio.access import visible_cases, visible_portfolios, visible_record_sets, visible_sheets
from portfolio.models import Portfolio, Sheet
from portfolio.selectors import reading
from scoring import registry
from scoring.hints import hints
from scoring.models import ScoreRun
from scoring.selectors import ways_of
from tests.demo.conftest import PASSWORD

pytestmark = pytest.mark.django_db


def _sheets(candidate: User) -> list[Sheet]:
    rows = visible_sheets(candidate).select_related("record_set__case__patient__portfolio")
    return list(rows.order_by("record_set__case__code", "record_set__ordinal", "pk"))


def test_the_candidate_has_all_cases_and_nobody_else_sees_them(candidate: User) -> None:
    by_portfolio = {row.patient.portfolio.name for row in visible_cases(candidate)}
    assert by_portfolio == {plan.name for plan in scenario.PORTFOLIOS}
    assert visible_cases(candidate).count() == 4 + 12 + 9
    for other in User.objects.exclude(pk=candidate.pk):
        assert not visible_cases(other).exists()


def test_no_sheet_contradicts_itself_and_none_asks_for_a_second_look(candidate: User) -> None:
    by_case: dict[int, list[readings.Sheet]] = {}
    for sheet in _sheets(candidate):
        by_case.setdefault(sheet.record_set.case_id, []).append(reading(sheet))
    for found in by_case.values():
        for one in found:
            assert readings.check(one) == []
            assert hints(one, [other for other in found if other is not one]) == ()


def test_every_record_is_measured_in_full_for_the_indices_of_its_stage_but_one_left_half_done(
    candidate: User,
) -> None:
    half_done = []
    for sheet in _sheets(candidate):
        found, portfolio = reading(sheet), sheet.record_set.case.patient.portfolio
        plan = next(plan for plan in scenario.PORTFOLIOS if plan.name == portfolio.name)
        keys = ways_of([portfolio.pk])[portfolio.pk].indices(found)
        assert set(keys) == set(plan.indices[found.stage])
        assert set(keys) <= set(registry.meant_for(found))
        if not all(registry.score(key, found).complete for key in keys):
            half_done.append((sheet.record_set.case.note, found.stage))
    assert half_done == [("Canine out of line, final casts half measured", "final")]


def test_the_fourth_case_began_under_22_points_and_keeps_what_was_typed(candidate: User) -> None:
    sheet = visible_sheets(candidate).get(
        record_set__case__note=scenario.CASES[3].note, record_set__stage="initial"
    )
    found = reading(sheet)
    totals = {key: registry.score(key, found).total for key in ("discrepancy", "par", "icon")}
    assert totals == {"discrepancy": Decimal(14), "par": Decimal(19), "icon": Decimal(73)}
    assert registry.score("iotn", found).extra["grade"] == "5i"
    rounded = sheet.findings.get(quantity="overjet", site="11")
    assert rounded.value == "5.0"
    typed = [item["typed"] for change in sheet.changes.all() for item in change.items if item["site"] == "11"]
    assert "5.02" in typed


def test_the_second_case_is_compared_with_a_caution_about_its_media(candidate: User) -> None:
    case = visible_cases(candidate).get(note=scenario.CASES[1].note)
    media = {
        row.record_set.stage: row.medium for row in visible_sheets(candidate).filter(record_set__case=case)
    }
    assert media == {"initial": "plaster", "final": "scan"}
    page = change_page(candidate, case, "", "", residual=False)
    told = {one.key: " ".join(one.cautions).lower() for one in page.changes}
    assert "measured on different media" in told["par"]
    assert "plaster casts before, digital casts after" in told["icon"]


def test_the_caseload_shows_every_verdict_and_names_the_case_it_leaves_out(candidate: User) -> None:
    wanted = Wanted(index="par", portfolio=str(_portfolio(candidate, scenario.PORTFOLIOS[1].name).public_id))
    rescoring.score_anew(candidate, "par", many(candidate, wanted).stale)
    found = many(candidate, wanted)
    assert found.par is not None
    assert found.par.counts == {
        "greatly_improved": 4,
        "improved": 3,
        "worse_or_no_different": 1,
        "undefined": 0,
    }
    assert dict(found.left_out) == {"final: not complete": 1}


def _portfolio(candidate: User, name: str) -> Portfolio:
    return visible_portfolios(candidate).get(name=name)


def test_a_kept_score_of_the_first_case_is_older_than_its_sheet(candidate: User) -> None:
    run = ScoreRun.objects.get(kept_by=candidate)
    assert run.sheet.version > run.sheet_version


def test_the_first_case_has_drawn_pictures_and_a_radiograph_in_both_stages(candidate: User) -> None:
    case = visible_cases(candidate).get(note=scenario.CASES[0].note)
    for record_set in visible_record_sets(candidate).filter(case=case).select_related("case"):
        board = selectors.board(candidate, record_set)
        assert (board.complete, board.unassigned) == (board.usual, ())
        printed = [one.view for one in selectors.print_pictures(candidate, record_set)]
        assert len(printed) - printed.count("witness") == 8 + 1


def test_everybody_signs_in_with_the_password_printed(filled: None, client: Client) -> None:
    for person in (scenario.MANAGER, scenario.CANDIDATE, scenario.COLLEAGUE):
        assert client.login(email=person.email, password=PASSWORD), person.email
        client.logout()


def test_the_scenario_names_no_real_domain() -> None:
    people = (scenario.MANAGER, scenario.CANDIDATE, scenario.COLLEAGUE)
    assert all(person.email.endswith(".example") for person in people)
