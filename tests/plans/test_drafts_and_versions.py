"""Plans in the database: drafts that no window overwrites, versions that never change, what a portfolio is held against."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from accounts.models import User
from plans import plan_file, services
from plans.access import visible_placements, visible_plans, visible_portfolio_plans, visible_versions
from plans.document import Plan, Slot
from plans.models import Placement, PlanVersion, PortfolioPlan
from plans.models import Plan as PlanRow
from plans.selectors import HeldPlan, held_plan, placed_cases
from plans.selectors.plans import plan_lines, plan_shown
from plans.services import NothingNew
from plans.shipped import shipped
from portfolio.models import Portfolio
from portfolio.services.cases import delete_case
from portfolio.services.saving import ChangedMeanwhile, OutOfDate
from tests.factories.accounts import person
from tests.factories.plans import plan, plan_of, version_of
from tests.factories.portfolio import NOON, PortfolioFactory, case_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person()


def kept(owner: User, row: PlanRow, note: str = "") -> PlanVersion:
    return services.keep_version(owner, row, row.version, note, NOON)


def with_label(row: PlanRow, label: str) -> Plan:
    found = plan_file.read_plan(row.draft)
    return replace(found, slots=(replace(found.slots[0], label=label), *found.slots[1:]))


def held(owner: User, portfolio: Portfolio) -> HeldPlan:
    found = held_plan(owner, portfolio)
    assert found
    return found


def fixed(owner: User, portfolio: Portfolio, slot: str) -> Placement:
    row = PortfolioPlan.objects.get(portfolio=portfolio)
    case = case_of(owner)
    kind = "fixed" if slot else "excluded"
    return Placement.objects.create(
        case=case, portfolio_plan=row, slot=slot, kind=kind, reason="Faces", at=NOON
    )


def test_of_two_windows_the_second_is_told_and_nothing_is_overwritten(owner: User) -> None:
    row = plan_of(owner)
    mine, theirs = PlanRow.objects.get(pk=row.pk), PlanRow.objects.get(pk=row.pk)
    assert services.edit_draft(theirs, 1, with_label(theirs, "Theirs"), "slot changed")
    with pytest.raises(ChangedMeanwhile):
        services.edit_draft(mine, 1, with_label(mine, "Mine"), "slot changed")
    row.refresh_from_db()
    assert row.draft["slots"][0]["label"] == "Theirs"
    assert row.version == 2
    assert not services.edit_draft(row, 2, with_label(row, "Theirs"), "nothing"), (
        "the same again is no change"
    )
    with pytest.raises(ChangedMeanwhile):
        kept(owner, mine)
    with pytest.raises(ChangedMeanwhile):
        services.take_back(mine, 1)


def test_the_last_change_is_taken_back_and_done_again(owner: User) -> None:
    row = plan_of(owner)
    with pytest.raises(ChangedMeanwhile):
        services.take_back(row, row.version)
    services.edit_draft(
        row, row.version, replace(with_label(row, "Other"), name="Renamed"), "slot “Hard” changed"
    )
    assert services.take_back(row, row.version) == "taken back: slot “Hard” changed"
    row.refresh_from_db()
    assert (row.name, row.draft) == ("Quay examination", plan_file.as_json(plan()))
    shown = plan_shown(owner, row)
    assert (shown.undo, shown.undone) == ("slot “Hard” changed", True)
    assert services.take_back(row, row.version) == "slot “Hard” changed"
    row.refresh_from_db()
    assert (row.name, row.draft["slots"][0]["label"]) == ("Renamed", "Other")


def test_versions_are_numbered_hold_their_digest_and_never_change(owner: User) -> None:
    row = plan_of(owner)
    first = kept(owner, row, "as printed")
    assert (first.number, first.note) == (1, "as printed")
    assert first.digest == plan_file.digest(plan())
    with pytest.raises(NothingNew) as same:
        kept(owner, row)
    assert same.value.version == first
    services.edit_draft(row, row.version, with_label(row, "Harder"), "slot changed")
    assert kept(owner, row).number == 2
    first.refresh_from_db()
    assert first.document == plan_file.as_json(plan())
    with pytest.raises(TypeError, match="append-only"):
        PlanVersion.objects.filter(pk=first.pk).update(note="else")
    with pytest.raises(TypeError, match="append-only"):
        PlanVersion.objects.filter(pk=first.pk).delete()


def test_the_same_form_sent_twice_makes_one_plan_and_a_strangers_key_none(owner: User) -> None:
    key = uuid.uuid4()
    assert services.make_plan(owner, plan(), key) == services.make_plan(owner, plan(), key)
    again = services.make_shipped(owner, shipped()["larkmoor_six"], "larkmoor_six", uuid.uuid4(), NOON)
    assert [version.number for version in again.versions.all()] == [1]
    with pytest.raises(OutOfDate):
        services.make_plan(person(), plan(), key)
    copied = services.copy_plan(owner, again, uuid.uuid4())
    assert (copied.name, copied.made_from) == ("Larkmoor six copy", str(again.public_id))
    assert not copied.versions.exists()


def test_a_portfolio_keeps_its_version_until_it_is_moved_and_later_ones_are_told(owner: User) -> None:
    row = plan_of(owner)
    first = kept(owner, row)
    portfolio = PortfolioFactory(owner=owner)
    assert held_plan(owner, portfolio) is None
    assert services.choose_version(owner, portfolio, first, None, NOON) == 0
    services.edit_draft(row, row.version, with_label(row, "Harder"), "slot changed")
    second = kept(owner, row)
    found = held(owner, portfolio)
    assert (found.number, found.plan, found.newest, found.newest_id) == (1, plan(), 2, second.public_id)
    assert not found.is_newest
    with pytest.raises(ChangedMeanwhile):
        services.choose_version(owner, portfolio, second, None, NOON)
    services.choose_version(owner, portfolio, second, first.public_id, NOON + timedelta(days=1))
    assert held(owner, portfolio).is_newest
    assert held(owner, portfolio).pk == found.pk, "placements stay with their portfolio"
    services.archive(row, NOON)
    assert held(owner, portfolio).number == 2, "a plan that was put away still holds"
    assert plan_lines(owner) == ()
    (line,) = plan_lines(owner, archived=True)
    assert (line.number, [one.name for one in line.holders]) == (2, ["Harbour portfolio"])


def test_a_move_lets_go_of_cases_fixed_to_slots_that_are_gone_and_of_all_on_another_plan(owner: User) -> None:
    row = plan_of(owner)
    first = kept(owner, row)
    portfolio = PortfolioFactory(owner=owner)
    services.choose_version(owner, portfolio, first, None, NOON)
    stays, goes, out = (fixed(owner, portfolio, slot) for slot in ("slot-1", "slot-2", ""))
    one_slot = plan(slots=(Slot("slot-1", "Hard"),))
    services.edit_draft(row, row.version, one_slot, "slot removed")
    second = kept(owner, row)
    assert services.choose_version(owner, portfolio, second, first.public_id, NOON) == 1
    placed = placed_cases(owner, held(owner, portfolio))
    assert {one.case_pk: (one.slot, one.fixed) for one in placed} == {
        stays.case_id: ("slot-1", True),
        out.case_id: ("", False),
    }
    assert goes.case_id not in {one.case_pk for one in placed}
    other = version_of(owner, plan("Elsewhere"))
    assert services.choose_version(owner, portfolio, other, second.public_id, NOON) == 1
    assert [one.case_pk for one in placed_cases(owner, held(owner, portfolio))] == [out.case_id]
    with pytest.raises(ChangedMeanwhile):
        services.take_no_plan(portfolio, second.public_id)
    services.take_no_plan(portfolio, other.public_id)
    assert held_plan(owner, portfolio) is None
    assert not Placement.objects.exists()


def test_a_case_stands_once_and_a_slot_takes_one_case(owner: User) -> None:
    portfolio = PortfolioFactory(owner=owner)
    services.choose_version(owner, portfolio, version_of(owner), None, NOON)
    there = fixed(owner, portfolio, "slot-1")
    with pytest.raises(IntegrityError), transaction.atomic():
        fixed(owner, portfolio, "slot-1")
    for slot, kind in (("", "fixed"), ("slot-2", "excluded"), ("slot-2", "else")):
        broken = Placement(
            case=case_of(owner), portfolio_plan=there.portfolio_plan, slot=slot, kind=kind, at=NOON
        )
        with pytest.raises(ValidationError):
            broken.full_clean()
    delete_case(there.case, NOON)
    assert placed_cases(owner, held(owner, portfolio)) == (), "deleted cases are not among them"


def test_nobody_but_the_owner_sees_plans_versions_and_what_is_held_against_them(owner: User) -> None:
    portfolio = PortfolioFactory(owner=owner)
    services.choose_version(owner, portfolio, version_of(owner), None, NOON)
    fixed(owner, portfolio, "slot-1")
    doors = (visible_plans, visible_versions, visible_portfolio_plans, visible_placements)
    assert [door(owner).count() for door in doors] == [1, 1, 1, 1]
    for stranger in (person(), person(administrator=True), person(is_active=False)):
        assert [door(stranger).count() for door in doors] == [0, 0, 0, 0]
    assert held_plan(person(), portfolio) is None
