"""What one picture allows: geometry of photographs as read (only in-plane measures), and a reason for each refusal."""

from __future__ import annotations

import pytest

from imaging.marking.in_plane import refusal, refusals, site_fault, taking, takings
from imaging.marking.measures import KINDS
from portfolio.photographs import VIEWS
from portfolio.vocabulary import QUANTITIES

ARCHES = ("upper", "lower", "casts_upper", "casts_lower")
SIDES = ("right", "left", "casts_right", "casts_left")
NO_VIEW = ""


@pytest.mark.parametrize("view", [one.key for one in VIEWS] + [NO_VIEW])
@pytest.mark.parametrize("quantity", ["overjet", "curve_of_spee", "ridge_step"])
def test_depths_are_never_read_from_one_picture(view: str, quantity: str) -> None:
    assert taking(view, quantity) is None
    assert refusal(view, quantity).endswith(".")


@pytest.mark.parametrize("view", ARCHES)
@pytest.mark.parametrize(
    "quantity", ["tooth_width", "contact_offset", "intercanine_width", "intermolar_width"]
)
def test_occlusal_views_give_widths_and_irregularity(view: str, quantity: str) -> None:
    assert refusal(view, quantity) == ""


@pytest.mark.parametrize("view", SIDES)
@pytest.mark.parametrize("quantity", ["overbite", "molar_relation"])
def test_side_views_give_overbite_and_molar_relation(view: str, quantity: str) -> None:
    assert refusal(view, quantity) == ""


@pytest.mark.parametrize(
    ("view", "quantity", "says"),
    [
        ("front", "overbite", "different depths"),
        ("front", "tooth_width", "curves away"),
        ("face_smiling", "tooth_width", "face turns"),
        ("panoramic", "tooth_width", "radiograph enlarges"),
        ("upper", "overbite", "side view"),
        ("right", "tooth_width", "one arch"),
        (NO_VIEW, "tooth_width", "no view yet"),
        ("upper", "anb", "tracing"),
        ("upper", "incisor_class", "not measured"),
        ("face_smiling", "gum_show_smile", "at the patient"),
    ],
)
def test_a_refusal_says_what_stands_against_it(view: str, quantity: str, says: str) -> None:
    assert says in refusal(view, quantity)


@pytest.mark.parametrize("view", [one.key for one in VIEWS] + [NO_VIEW])
def test_every_quantity_is_either_given_or_refused_with_a_reason_in_every_view(view: str) -> None:
    for key in QUANTITIES:
        assert bool(refusal(view, key)) != bool(taking(view, key)), key
    assert all(label and reason for label, reason in refusals(view))


@pytest.mark.parametrize("view", ARCHES + SIDES)
def test_what_is_given_is_read_from_marks_of_the_same_unit(view: str) -> None:
    for one in takings(view):
        known = QUANTITIES[one.quantity]
        assert set(one.kinds) <= set(KINDS)
        if not one.by_eye:
            assert {KINDS[kind].unit for kind in one.kinds} == {known.unit}
            assert known.minimum is not None
            assert bool(one.senses) == (known.minimum < 0), one.quantity


@pytest.mark.parametrize(
    ("view", "seen", "unseen"),
    [
        (
            "upper",
            ("11", "55", "13-12", "upper", "upper-left-back"),
            ("31", "43-42", "lower", "lower-left-back"),
        ),
        ("casts_lower", ("36", "41-31", "lower"), ("16", "upper", "mouth")),
        ("right", ("11", "right"), ("21", "left")),
        ("casts_left", ("23", "left"), ("13", "right")),
    ],
)
def test_only_sites_in_the_picture_are_taken(
    view: str, seen: tuple[str, ...], unseen: tuple[str, ...]
) -> None:
    assert [site for site in seen if site_fault(view, site)] == []
    assert [site for site in unseen if not site_fault(view, site)] == []
