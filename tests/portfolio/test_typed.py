"""What a screen takes where a file is strict, and the one rounding, half away from zero.

Half away from zero is the rule of the sheet (common practice, no source); the number stored is the number
shown and the number scored, so that no reader sees 3.0 beside the points of 2.96.
"""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.contradictions import finding_faults
from portfolio.readings import Finding
from portfolio.typed import TypedRefused, rounded_to_step, typed
from portfolio.vocabulary import QUANTITIES, STEPS

STEP = st.sampled_from(STEPS)
HUNDREDTHS = st.decimals(-20, 20, places=2)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3,5", "3.5"),
        ("3.5", "3.5"),
        ("3", "3"),
        ("3.0", "3.0"),
        (" 3.5 ", "3.5"),
        ("\t3,5\n", "3.5"),
        ("3.5 mm", "3.5"),
        ("3,5mm", "3.5"),
        ("3.5 MM", "3.5"),
        ("3 millimetre", "3"),
        ("3 millimetres", "3"),
        ("3.5\u00a0mm", "3.5"),
        ("-3", "-3"),
        ("- 3", "-3"),
        ("\u22123", "-3"),  # minus sign
        ("\u20133", "-3"),  # en dash
        ("\u20123", "-3"),  # figure dash
        ("\ufe633", "-3"),  # small hyphen-minus
        ("0", "0"),
        ("-0", "0"),
        ("-0.0", "0.0"),
        ("007", "7"),
    ],
)
def test_commas_units_blanks_and_minus_signs_are_taken(text: str, value: str) -> None:
    met = typed("overbite", "11", text)
    assert (met.value, met.text, met.was_rounded) == (value, text, False)


@pytest.mark.parametrize(
    ("quantity", "site", "text", "value"),
    [
        ("overbite", "11", "o3", "-3"),
        ("overbite", "11", "3o", "-3"),
        ("overbite", "11", "O 3,5", "-3.5"),
        ("overbite", "11", "3 o", "-3"),
        ("overbite", "11", "3 o mm", "-3"),
        ("overbite", "11", "3 mm o", "-3"),
        ("overbite", "11", "o 3 millimetre", "-3"),
        ("overbite", "11", "e", "0"),
        ("overbite", "11", "E", "0"),
        ("overbite", "11", "o0", "0"),
        ("overjet", "11", "x3", "-3"),
        ("overjet", "11", "3x", "-3"),
        ("overjet", "11", "X 3", "-3"),
        ("overjet", "11", "e", "0"),
    ],
)
def test_sense_keys_say_open_reverse_and_edge_to_edge(
    quantity: str, site: str, text: str, value: str
) -> None:
    assert typed(quantity, site, text).value == value


@pytest.mark.parametrize(
    ("quantity", "site", "text", "says"),
    [
        ("overjet", "11", "o3", "overjet does not take o; it takes x and e"),
        ("overbite", "11", "x3", "overbite does not take x; it takes o and e"),
        ("gap", "13-12", "o3", "gaps does not take o"),
        ("gap", "13-12", "e", "gaps does not take e"),
        ("overbite", "11", "o-3", "says minus and o at once"),
        ("overjet", "11", "-3x", "says minus and x at once"),
        ("overbite", "11", "e3", "is not a number"),
        ("overbite", "11", "3e", "is not a number"),
        ("overbite", "11", "oo3", "is not a number"),
        ("overbite", "11", "o3o", "is not a number"),
        ("overbite", "11", "o", "is not a number"),
    ],
)
def test_a_sense_that_means_nothing_here_is_refused(quantity: str, site: str, text: str, says: str) -> None:
    with pytest.raises(TypedRefused, match=says):
        typed(quantity, site, text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing was typed"),
        ("   ", "nothing was typed"),
        ("9.999", "has 3 decimals; at most 2 are taken, and no sign between thousands"),
        ("9,999", "has 3 decimals"),
        ("2.0005", "has 4 decimals"),
        ("1.234,5", "is not a number; write 3.5 or 3,5"),
        ("1,234.5", "is not a number"),
        ("1'234", "is not a number"),
        ("1 234", "is not a number"),
        ("1e3", "is not a number"),
        ("1E3", "is not a number"),
        ("٣", "is not a number"),
        ("٣٫٥", "is not a number"),
        ("３", "is not a number"),
        ("²", "is not a number"),
        ("1/2", "is not a number"),
        ("½", "is not a number"),
        ("3.", "is not a number"),
        (".5", "is not a number"),
        ("--3", "is not a number"),
        ("+3", "is not a number"),
        ("3-4", "is not a number"),
        ("NaN", "is not a number"),
        ("Infinity", "is not a number"),
        ("inf", "is not a number"),
        ("none", "is not a number"),
        ("0x10", "is not a number"),
        ("mm", "is not a number"),
        ("3.5 cm", "is not a number"),
        ("3.5 °", "overbite is not taken in °"),
        ("3.5 deg", "not taken in deg"),
        ("30 %", "not taken in %"),
        ("9999", "9999 is out of range; overbite takes −20 to 20 mm"),
        ("20.01", "20.01 is out of range"),
        ("o20.01", "−20.01 is out of range"),
        ("000000003", "too many digits"),
        ("9" * 5000, "too many digits"),
    ],
)
def test_what_could_mean_two_numbers_or_none_is_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(TypedRefused) as refused:
        typed("overbite", "11", text)
    assert says in str(refused.value)
    assert len(str(refused.value)) < 200


@pytest.mark.parametrize(
    ("text", "step", "value", "rounded"),
    [
        ("2.94", "0.1", "2.9", True),
        ("2.95", "0.1", "3.0", True),
        ("2.96", "0.1", "3.0", True),
        ("3.04", "0.1", "3.0", True),
        ("3.05", "0.1", "3.1", True),
        ("-2.95", "0.1", "-3.0", True),
        ("o2.95", "0.1", "-3.0", True),
        ("2.25", "0.1", "2.3", True),
        ("2.35", "0.1", "2.4", True),
        ("3.00", "0.1", "3.0", False),
        ("2.5", "1", "3", True),
        ("3.5", "1", "4", True),
        ("-2.5", "1", "-3", True),
        ("-0.4", "1", "0", True),
        ("-0.04", "0.1", "0.0", True),
        ("2.25", "0.5", "2.5", True),
        ("2.24", "0.5", "2.0", True),
        ("2.75", "0.5", "3.0", True),
        ("3", "0.5", "3", False),
        ("2.95", "0.01", "2.95", False),
        ("2.9", "0.01", "2.90", False),
    ],
)
def test_a_value_is_rounded_once_half_away_from_zero_and_the_rounding_is_told(
    text: str, step: str, value: str, rounded: bool
) -> None:
    met = typed("overbite", "11", text, step)
    assert (met.value, met.was_rounded, met.text) == (value, rounded, text)


def test_an_unknown_step_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="not one of"):
        typed("overbite", "11", "3", "0.25")


@given(HUNDREDTHS, STEP)
def test_rounding_goes_to_the_nearest_step_and_from_the_middle_away_from_zero(
    number: Decimal, step: Decimal
) -> None:
    rounded = rounded_to_step(number, step)
    assert rounded % step == 0
    assert abs(rounded - number) * 2 <= step
    if abs(rounded - number) * 2 == step:
        assert abs(rounded) > abs(number)
    assert rounded_to_step(-number, step) == -rounded


@given(HUNDREDTHS, HUNDREDTHS, STEP)
def test_rounding_keeps_the_order(one: Decimal, other: Decimal, step: Decimal) -> None:
    low, high = min(one, other), max(one, other)
    assert rounded_to_step(low, step) <= rounded_to_step(high, step)


@given(HUNDREDTHS, STEP)
def test_a_value_typed_again_as_stored_stays_as_it_is(number: Decimal, step: Decimal) -> None:
    once = typed("overbite", "11", str(number), str(step))
    again = typed("overbite", "11", once.value, str(step))
    assert again.value == once.value
    assert not again.was_rounded


@given(HUNDREDTHS, STEP, st.sampled_from(("{}", "{} mm", "{}mm", "  {} ")), st.booleans())
def test_however_it_is_written_the_value_is_the_same(
    number: Decimal, step: Decimal, way: str, comma: bool
) -> None:
    plain = str(number)
    written = way.format(plain.replace(".", ",") if comma else plain).replace("-", "\u2212")
    assert (
        typed("overbite", "11", written, str(step)).value == typed("overbite", "11", plain, str(step)).value
    )
    if number < 0:
        sensed = typed("overbite", "11", way.format(f"o{-number}"), str(step))
        assert sensed.value == typed("overbite", "11", plain, str(step)).value


@given(st.sampled_from(sorted(QUANTITIES)), st.text(max_size=12), STEP)
def test_what_is_taken_on_a_screen_is_taken_in_a_file(key: str, text: str, step: Decimal) -> None:
    _taken_alike(key, text, step)


@given(
    st.sampled_from(sorted(k for k, q in QUANTITIES.items() if q.kind == "number")),
    st.from_regex(r"[-−ox]?[0-9]{1,3}([.,][0-9]{1,3})?( ?(mm|%|°|o|x))?", fullmatch=True),
    STEP,
)
def test_every_number_taken_on_a_screen_is_a_number_of_a_file(key: str, text: str, step: Decimal) -> None:
    _taken_alike(key, text, step)


def _taken_alike(key: str, text: str, step: Decimal) -> None:
    site = _site(key)
    try:
        met = typed(key, site, text, str(step))
    except TypedRefused:
        return
    assert met.text == text
    assert list(finding_faults(Finding(key, site, met.value))) == []


def _site(key: str) -> str:
    singles = (
        "11",
        "16",
        "46",
        "55",
        "13-12",
        "16-15",
        "16.ml",
        "right",
        "upper",
        "upper-right-back",
        "mouth",
    )
    return next(site for site in singles if QUANTITIES[key].site.takes(site))


@pytest.mark.parametrize(
    ("quantity", "site", "text", "value"),
    [
        ("crossbite", "16", "Edge", "edge"),
        ("crossbite", "16", "lingual", "upper_inside"),
        ("crossbite", "16", "Buccal", "upper_outside"),
        ("crossbite", "mouth", "None", "none"),
        ("crossbite", "mouth", "REST_NONE", "rest_none"),
        ("incisor_class", "mouth", "ii/1", "II/1"),
        ("incisor_class", "mouth", "iii", "III"),
        ("molar_relation", "right", "FULL2", "full2"),
        ("functional_shift", "mouth", "Unknown", "unknown"),
        ("functional_shift", "mouth", "none", "none"),
        ("crowding", "mouth", "none", "none"),
        ("missing", "11", "unknown", "unknown"),
        ("root_angulation", "mouth", "not_taken", "not_taken"),
        ("molar_substitute", "right", "17", "17"),
        ("anb", "mouth", "4,5 °", "4.5"),
        ("anb", "mouth", "\u22121 degree", "-1"),
        ("anb", "mouth", "5 degrees", "5"),
        ("overbite_cover", "mouth", "30 %", "30"),
        ("aesthetic_component", "mouth", "5", "5"),
        ("aesthetic_component", "mouth", "5.0", "5"),
        ("added_complexity", "mouth", "  short \n roots ", "short roots"),
    ],
)
def test_codes_statements_and_words_are_taken_in_any_case(
    quantity: str, site: str, text: str, value: str
) -> None:
    met = typed(quantity, site, text)
    assert (met.value, met.was_rounded) == (value, False)


@pytest.mark.parametrize(
    ("quantity", "site", "text", "says"),
    [
        ("crossbite", "16", "outside", "allowed: none, edge, upper_inside, upper_outside"),
        ("overbite", "11", "unknown", "unknown is not taken"),
        ("overjet", "upper", "none", "is not a number"),
        ("gap", "mouth", "anything", "is not a number"),
        ("aesthetic_component", "mouth", "5.5", "5.5 is not a whole number"),
        ("aesthetic_component", "mouth", "11", "out of range; aesthetic component takes 1 to 10"),
        ("supernumerary", "11", "1 mm", "not taken in mm"),
        ("anb", "mouth", "4 mm", "not taken in mm"),
        ("molar_substitute", "right", "UR7", "not an ISO 3950 tooth"),
        ("added_complexity", "mouth", "none", "leave added_complexity out"),
    ],
)
def test_what_the_quantity_does_not_take_is_refused(quantity: str, site: str, text: str, says: str) -> None:
    with pytest.raises(TypedRefused) as refused:
        typed(quantity, site, text)
    assert says in str(refused.value)


def test_an_unknown_quantity_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(KeyError):
        typed("overjets", "11", "3")


@given(st.decimals(0, 15, places=2))
def test_the_stored_number_is_the_number_that_is_shown_at_one_decimal(number: Decimal) -> None:
    shown = number.quantize(Decimal("0.1"), ROUND_HALF_UP)
    assert Decimal(typed("gap", "13-12", str(number)).value) == shown
