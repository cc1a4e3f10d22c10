"""The error of a recorded number: which figure counts, and that every figure names its source."""

import pytest

from portfolio.errors import (
    LEAST_SHARE_OF_DEFAULT,
    NoNumber,
    OwnError,
    default_error,
    default_errors,
    error_of,
    parts_come_to,
    told,
)
from portfolio.finding_sheet import Finding
from portfolio.sources import CERTAINTIES, SOURCES
from portfolio.vocabulary import METHODS, QUANTITIES


def test_every_number_has_a_default_above_zero_by_every_method_and_names_its_source() -> None:
    numbers = {key for key, quantity in QUANTITIES.items() if quantity.kind == "number"}
    assert set(default_errors()) == numbers
    for key in numbers:
        for method in ("", *METHODS):
            found = default_error(key, method)
            assert found.sd > 0
            assert found.source in SOURCES
            assert found.certainty in CERTAINTIES
            assert found.unit == QUANTITIES[key].unit


def test_suggested_starting_deviations_are_the_defaults() -> None:
    # agreement-uncertainty-selection 2.6: 0.3 mm single tooth, overjet, overbite; 0.7 mm space; 0.7, 1.2 and 2 degrees
    assert {
        k: default_error(k).sd for k in ("overjet", "overbite", "contact_offset", "tooth_width")
    } == dict.fromkeys(("overjet", "overbite", "contact_offset", "tooth_width"), 0.3)
    assert default_error("crowding", "segments").sd == 0.7
    assert [default_error(k).sd for k in ("anb", "sn_mp", "impa")] == [0.7, 1.2, 2.0]
    # the smallest detectable difference of 1.86 degrees is 1.96 √2 times the error of one measurement
    assert default_error("anb").sd == pytest.approx(1.86 / (1.96 * 2**0.5), abs=0.03)


def test_own_errors_count_from_twenty_pairs_on_and_are_never_zero() -> None:
    plain = Finding("overjet", "11", "3", method="caliper")
    few, enough = (OwnError("overjet", "caliper", 0.18, 0.01, n) for n in (19, 20))
    assert error_of(plain, [few]).sd == 0.3
    assert error_of(plain, [enough]).sd == 0.18
    assert "20 pairs" in error_of(plain, [enough]).words
    assert error_of(Finding("overjet", "11", "3"), [enough]).sd == 0.18, (
        "the caliper is what is offered first"
    )
    assert error_of(Finding("overjet", "11", "3", method="ruler"), [enough]).sd == 0.5
    exact = OwnError("overjet", "caliper", 0.0, 0.0, 40)
    assert error_of(plain, [exact]).sd == pytest.approx(LEAST_SHARE_OF_DEFAULT * 0.3)


def test_the_deviation_of_the_finding_goes_before_everything_with_its_parts() -> None:
    parts = (("scale/p", "0.12"), ("marks/m/1", "-0.16"))
    found = error_of(
        Finding("overjet", "11", "3", sd="0.20", error_parts=parts),
        [OwnError("overjet", "caliper", 0.1, 0, 50)],
    )
    assert (found.sd, found.parts, found.given) == (0.2, (("scale/p", 0.12), ("marks/m/1", -0.16)), True)
    assert parts_come_to(found.parts) == pytest.approx(found.sd)
    assert error_of(Finding("overjet", "11", "3", sd="0")).certain


def test_words_say_how_much_and_whose_judgement() -> None:
    assert (
        told(error_of(Finding("overjet", "11", "3")))
        == "± 0.3 mm (default by caliper: our judgement, not published)"
    )
    assert "published study" in told(error_of(Finding("anb", "mouth", "3")))
    with pytest.raises(NoNumber):
        default_error("crossbite")
