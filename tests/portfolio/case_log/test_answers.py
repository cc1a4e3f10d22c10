"""Answers of the case log: typed as in measuring, refused in words, read back from anything that is stored."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.case_log.answers import (
    BY_KEY,
    EMPTY,
    FIELDS,
    AnswerRefused,
    Answers,
    answered,
    contradictions,
    in_words,
    put_in,
    read_answers,
    shown,
)

TAKEN = [
    ("overjet", "3,5 mm", "3.5"),
    ("overjet", "3.50", "3.5"),
    ("overjet", "x 3", "-3"),
    ("overjet", "3x", "-3"),
    ("overjet", "−3", "-3"),
    ("overjet", "e", "0"),
    ("overbite", "o2", "-2"),
    ("overbite", "2 o", "-2"),
    ("overbite", "e", "0"),
    ("crowding", "4,5", "4.5"),
    ("crowding", "none", "0"),
    ("open_teeth", "06", "6"),
    ("crossbite_inside", "none", "0"),
    ("age_months", "13 y 8 m", "164"),
    ("age_months", "13;8", "164"),
    ("dentition", "Mixed", "mixed"),
    ("molar_right", "end2", "end2"),
    ("molar_left", "End to end II", "end2"),
    ("molar_left", "full step Class II", "full2"),
    ("anb", "−2,5", "-2.5"),
    ("sn_mp", "38°", "38"),
    ("sn_mp", "", ""),
]
REFUSED = [
    ("overjet", "9.999", "decimals"),
    ("overjet", "1.234,5", "not a number"),
    ("overjet", "1e3", "not a number"),
    ("overjet", "٣", "not a number"),
    ("overjet", "NaN", "not a number"),
    ("overjet", "99", "out of range; overjet takes −20 to 25 mm"),
    ("overjet", "o 3", "does not take o; it takes x and e"),
    ("overbite", "x3", "does not take x"),
    ("crowding", "−2", "0 for an arch that fits or is spaced"),
    ("open_teeth", "0", "from 1 to 6"),
    ("open_teeth", "7", "from 1 to 6"),
    ("crossbite_inside", "9", "from 0 to 8"),
    ("crossbite_inside", "1.5", "from 0 to 8"),
    ("age_months", "13", "years or months"),
    ("age_months", "13.8", "fraction"),
    ("dentition", "adult", "allowed: permanent, mixed, primary"),
    ("molar_right", "5 mm", "allowed: Class I"),
    ("anb", "3 mm", "not taken in mm"),
]


def test_texts_are_taken_as_in_measuring() -> None:
    for key, text, stored in TAKEN:
        assert answered(key, text).value == stored, (key, text)


def test_a_typed_number_is_rounded_to_a_tenth_and_a_file_is_not() -> None:
    assert answered("overjet", "3.04").value == "3"
    assert answered("overjet", "3.04").was_rounded
    assert answered("overjet", "3.04", step="0.01").value == "3.04"


@pytest.mark.parametrize(("key", "text", "words"), REFUSED)
def test_what_is_no_answer_is_refused_with_what_is_allowed(key: str, text: str, words: str) -> None:
    with pytest.raises(AnswerRefused, match=words.replace("(", r"\(")):
        answered(key, text)


@given(st.sampled_from([f.key for f in FIELDS]), st.integers(-30, 30), st.sampled_from(["", "3.5", "full2"]))
def test_what_a_field_shows_can_be_typed_again(key: str, tenths: int, other: str) -> None:
    for text in (str(tenths), f"{tenths / 10}", other, f"{abs(tenths)} m"):
        try:
            stored = answered(key, text).value
        except AnswerRefused:
            continue
        assert answered(key, shown(key, stored)).value == stored
        assert in_words(key, stored)


def test_open_teeth_need_an_open_bite_and_go_with_it() -> None:
    said = put_in(put_in(EMPTY, "overbite", "-2"), "open_teeth", "4")
    assert not list(contradictions(said))
    assert put_in(said, "overbite", "3").open_teeth == ""
    assert [key for key, _ in contradictions(replace(EMPTY, open_teeth="4"))] == ["open_teeth"]
    both = Answers(crossbite_inside="5", crossbite_outside="4")
    assert [key for key, _ in contradictions(both)] == ["crossbite_outside"]


def test_the_plane_comes_and_goes_with_its_angle() -> None:
    said = put_in(EMPTY, "sn_mp", "38", plane="go_gn")
    assert said.plane == "go_gn"
    assert put_in(said, "sn_mp", "", plane="go_gn") == EMPTY


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.sampled_from([*BY_KEY, "plane", "x"]), inner, max_size=6)
        ),
        max_leaves=12,
    )
)
def test_whatever_is_stored_gives_answers_that_can_be_stored_again(stored: object) -> None:
    said, _ = read_answers(stored)
    assert read_answers(said.as_json()) == (said, ())
