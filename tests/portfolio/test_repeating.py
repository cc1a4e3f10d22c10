"""Repeats of sheets: when one may begin, what is compared, sealing, what counts, a reader's own error."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from accounts.models import User
from portfolio import services as portfolio_services
from portfolio.access import visible_sheets
from portfolio.errors import own_error
from portfolio.finding_sheet import Finding
from portfolio.models import RepeatSheet, RepeatStatement, Sheet
from portfolio.readings import Sheet as Reading
from portfolio.repeating import services
from portfolio.repeating.access import first_sheets, visible_repeat_sheets
from portfolio.repeating.pairs import Occasion, measured_again, seen_again
from portfolio.repeating.selectors import counted, figures, kept, own_errors, records_to_repeat
from portfolio.services import Entry
from scoring.selectors import minimal_detectable_change, repeated_totals
from scoring.services import choose_indices
from tests.factories.accounts import person
from tests.factories.portfolio import NOON, case_of, record_set_of, recorded, refused, save, sheet_of, values
from tests.factories.repeat_sheets import (
    LATER,
    OVERJETS,
    first_sheet_of,
    handed_in,
    measured,
    repeat_sheet_of,
)

pytestmark = pytest.mark.django_db
FRONT = ("12", "11", "21", "22")
CANINES = ("13", "23")


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


def overjets(start: float) -> dict[tuple[str, str], str]:
    return {("overjet", tooth): f"{start + n / 2:.1f}" for n, tooth in enumerate(FRONT)}


def test_a_repeat_waits_fourteen_days_or_says_why(owner: User) -> None:
    first = first_sheet_of(owner)
    soon = NOON + timedelta(days=14) - timedelta(seconds=1)
    with pytest.raises(services.TooEarly):
        repeat_sheet_of(first, soon, "   ")
    assert not RepeatSheet.objects.exists()
    early = repeat_sheet_of(first, soon, "the casts go back to the laboratory")
    assert RepeatStatement.objects.get(repeat=early).reason == "the casts go back to the laboratory"
    on_time = first_sheet_of(owner)
    made = repeat_sheet_of(on_time, NOON + timedelta(days=14))
    assert not RepeatStatement.objects.filter(repeat=made).exists()
    portfolio = on_time.record_set.case.patient.portfolio
    services.set_wait(portfolio, 3)
    quick = first_sheet_of(owner)
    assert repeat_sheet_of(quick, NOON + timedelta(days=3)).pk
    for days in (-1, 366):
        with pytest.raises(ValueError, match="0 to 365"):
            services.set_wait(portfolio, days)
    # a third sheet waits after the second, handed in or given up
    measured(made.sheet, overjets(4))
    services.hand_in(made, LATER)
    last = services.due_at(on_time)
    assert last == NOON + timedelta(days=3)  # the test's values are all typed at one time
    services.give_up(owner, early, "mixed up", LATER)
    assert services.due_at(first_sheets(owner).get(pk=first.pk)) == LATER + timedelta(days=3)


def test_only_measured_working_sheets_of_the_reader_are_repeated_once_at_a_time(owner: User) -> None:
    with pytest.raises(services.CannotRepeat, match="Measure these records first"):
        repeat_sheet_of(sheet_of(owner))
    radiograph = first_sheet_of(owner, {("anb", "mouth"): "4.2"})
    with pytest.raises(services.CannotRepeat, match="Measure these records first"):
        repeat_sheet_of(radiograph)
    first = first_sheet_of(owner)
    one, same = repeat_sheet_of(first), repeat_sheet_of(first)
    assert one.pk == same.pk
    assert (one.sheet.occasion, one.sheet.medium, one.sheet.step) == (2, first.medium, first.step)
    with pytest.raises(services.CannotRepeat, match="your own working sheet"):
        services.begin(person(), first, uuid.uuid4(), LATER)
    assert not visible_repeat_sheets(person()).exists()
    assert list(visible_sheets(owner).filter(record_set=first.record_set)) == [first]


def test_a_repeat_handed_in_is_sealed_and_an_empty_one_is_not_taken(owner: User) -> None:
    first = first_sheet_of(owner)
    repeat = repeat_sheet_of(first)
    with pytest.raises(services.CannotRepeat, match="Nothing is measured"):
        services.hand_in(repeat, LATER)
    measured(repeat.sheet, OVERJETS)
    assert not counted(owner)
    services.hand_in(repeat, LATER)
    services.hand_in(repeat, LATER + timedelta(days=1))
    sheet = Sheet.objects.get(pk=repeat.sheet_id)
    assert (sheet.sealed, sheet.handed_in_at) == (True, LATER)
    answer = save(sheet, Entry("overjet", "11", typed="1", seen=sheet.version))
    assert "closed" in refused(answer).faults[0].message
    before = values(sheet)
    with pytest.raises(services.CannotRepeat, match="closed already"):
        services.give_up(owner, repeat, "no", LATER)
    assert values(sheet) == before
    assert [one.pk for one in counted(owner)] == [repeat.pk]


def test_the_first_counts_as_it_stood_when_the_repeat_was_begun(owner: User) -> None:
    first = first_sheet_of(owner, overjets(5))
    repeat = repeat_sheet_of(first)
    measured(repeat.sheet, overjets(6))
    services.hand_in(repeat, LATER)
    recorded(save(first, Entry("overjet", "11", typed="6.5", seen=first.version)))
    (found,) = figures(owner)
    assert [(place[0], place[1]) for place in found.places] == [
        (5.0, 6.0),
        (5.5, 6.5),
        (6.0, 7.0),
        (6.5, 7.5),
    ]


def test_repeats_are_left_out_and_counted_again_only_with_a_reason(owner: User) -> None:
    first = first_sheet_of(owner, overjets(5))
    repeat = handed_in(first, overjets(6))
    with pytest.raises(services.CannotRepeat, match="reason in writing"):
        services.leave_out(owner, repeat, "  ", LATER)
    services.leave_out(owner, repeat, "casts of two cases mixed up", LATER)
    assert not counted(owner)
    assert not own_errors(owner)
    told = kept(owner)
    assert (told.handed_in, told.left_out, told.given_up) == (0, 1, 0)
    assert told.reasons[0][1].reason == "casts of two cases mixed up"
    services.count_again(owner, repeat, "they were not", LATER)
    assert [one.pk for one in counted(owner)] == [repeat.pk]
    assert own_errors(owner)[0].bias == pytest.approx(1.0)
    with pytest.raises(services.CannotRepeat, match="300"):
        services.leave_out(owner, repeat, "x" * 301, LATER)
    open_one = repeat_sheet_of(first_sheet_of(owner))
    with pytest.raises(services.CannotRepeat, match="handed in"):
        services.leave_out(owner, open_one, "no", LATER)
    with pytest.raises(services.CannotRepeat, match="reason"):
        services.give_up(owner, open_one, "", LATER)
    services.give_up(owner, open_one, "interrupted", LATER)
    assert kept(owner).given_up == 1
    statements = RepeatStatement.objects.filter(repeat=repeat)
    with pytest.raises(TypeError, match="append-only"):
        statements.update(reason="other")
    with pytest.raises(TypeError, match="append-only"):
        statements.delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        RepeatStatement.objects.create(repeat=repeat, kind="left_out", reason="", by=owner, at=LATER)


def test_an_own_error_is_used_from_twenty_pairs_and_never_zero(owner: User) -> None:
    for number in range(4):
        handed_in(first_sheet_of(owner, overjets(2 + number)), overjets(2 + number))
    assert own_errors(owner)[0].n == 16
    assert own_error(own_errors(owner), "overjet") is None
    handed_in(first_sheet_of(owner, overjets(1)), overjets(1))
    (one,) = own_errors(owner)
    assert (one.quantity, one.method, one.n, one.bias) == ("overjet", "caliper", 20, 0.0)
    assert one.sd == pytest.approx(0.1 / 12**0.5)
    assert own_error(own_errors(owner), "overjet") == one
    assert not own_errors(person())


def test_a_third_sheet_adds_to_the_pairs_of_the_second(owner: User) -> None:
    first = first_sheet_of(owner, overjets(5))
    handed_in(first, overjets(5))
    third = handed_in(first, overjets(6), LATER + timedelta(days=20))
    assert third.sheet.occasion == 3
    (found,) = figures(owner)
    assert found.pairs == 8
    assert found.places[0] == (5.0, 5.0, 6.0)
    line = records_to_repeat(owner, first.record_set.case.patient.portfolio, LATER)[0]
    assert [one.number for one in line.repeats] == [1, 2]


def test_the_detectable_change_comes_from_repeated_totals(owner: User) -> None:
    """SEM = SD(d)/√2 of complete totals, MDC95 = 1.96·√2·SEM (Weir 2005, formula from memory); shown from 5 pairs."""
    offsets = ("0", "1.5", "0", "2.5", "1.5")
    for offset in offsets:
        assert minimal_detectable_change(owner, "par") is None
        first = _scored(sheet_of(owner), "0")
        choose_indices(first.record_set.case.patient.portfolio, "initial", ("par",))
        repeat = repeat_sheet_of(first)
        _scored(repeat.sheet, offset)
        services.hand_in(repeat, LATER)
    incomplete = repeat_sheet_of(_scored(sheet_of(owner), "0"))
    measured(incomplete.sheet, OVERJETS)
    services.hand_in(incomplete, LATER)
    (totals,) = repeated_totals(owner, ("par",))
    assert (totals.pairs, totals.incomplete) == (5, 1)
    # one contact in the upper front: over 1 mm one point, over 2 mm two (PAR, upper anterior)
    assert [again - before for before, again in totals.totals] == [0, 1, 0, 2, 1]
    told = minimal_detectable_change(owner, "par")
    assert told
    sem = (sum((d - 0.8) ** 2 for d in (0, 1, 0, 2, 1)) / 4 / 2) ** 0.5
    assert told.pairs == 5
    assert told.sem == pytest.approx(sem)
    assert told.mdc95 == pytest.approx(1.96 * 2**0.5 * sem)
    assert minimal_detectable_change(person(), "par") is None


CONTACTS = ("13-12", "12-11", "11-21", "21-22", "22-23", "43-42", "42-41", "41-31", "31-32", "32-33")
FREE = ("crossbite", "posterior_open_bite", "gap", "impacted", "missing")


def _scored(sheet: Sheet, offset: str) -> Sheet:
    """A sheet that PAR finds complete, with one contact out of line by so many millimetres."""
    values = {("contact_offset", c): "0" for c in CONTACTS} | {("contact_offset", "12-11"): offset}
    values |= {("overjet", t): "2" for t in (*FRONT, *CANINES)} | {("overbite", t): "2" for t in FRONT}
    values |= {("buccal_interdigitation", side): "fitted" for side in ("right", "left")}
    values |= {("overbite_cover", "mouth"): "30", ("midline_offset", "mouth"): "0"}
    measured(sheet, values)
    statements = [(quantity, "mouth") for quantity in FREE]
    recorded(portfolio_services.state_free(sheet.reader, sheet, statements, uuid.uuid4().hex, NOON))
    sheet.refresh_from_db()
    return sheet


def test_deleting_a_case_for_good_takes_its_repeats_along(owner: User) -> None:
    case = case_of(owner)
    first = measured(Sheet.objects.get(record_set=record_set_of(case)), OVERJETS)
    repeat = handed_in(first, OVERJETS)
    services.leave_out(owner, repeat, "no reason that matters", LATER)
    portfolio_services.delete_case(case, LATER)
    assert not visible_repeat_sheets(owner).exists()
    case.refresh_from_db()
    portfolio_services.erase_case(case, case.code)
    assert not RepeatSheet.objects.exists()
    assert not RepeatStatement.objects.exists()


def test_what_makes_a_pair() -> None:
    """Same place, method and plane; a number against a stated none is found once; codes agree or differ."""

    def sheet(*findings: Finding) -> Reading:
        return Reading(stage="initial", dentition="permanent", findings=findings)

    first = sheet(
        Finding("overjet", "11", "3"),
        Finding("overjet", "21", "4", method="ruler"),
        Finding("gap", "11-21", "1"),
        Finding("anb", "mouth", "5"),
        Finding("crossbite", "16", "edge"),
        Finding("crossbite", "mouth", "rest_none"),
        Finding("molar_relation", "right", "end2"),
    )
    again = sheet(
        Finding("overjet", "11", "3.4", method="caliper"),
        Finding("overjet", "21", "4"),
        Finding("gap", "mouth", "none"),
        Finding("anb", "mouth", "1"),
        Finding("crossbite", "mouth", "none"),
        Finding("crossbite", "26", "edge"),
        Finding("molar_relation", "right", "end2"),
    )
    found = {(one.quantity, one.method): one for one in measured_again([Occasion(first, (again,), 0.1)])}
    assert found["overjet", "caliper"].places == ((3.0, 3.4),)
    assert set(found) == {
        ("overjet", "caliper"),
        ("gap", found["gap", next(m for q, m in found if q == "gap")].method),
    }
    (gap,) = (one for (q, _), one in found.items() if q == "gap")
    assert (gap.pairs, gap.found_once) == (0, 1)
    codes = {one.quantity: (one.same, one.compared) for one in seen_again([Occasion(first, (again,), 0.1)])}
    assert codes == {"crossbite": (0, 2), "molar_relation": (1, 1)}
