"""Measures against published formulas: plain trigonometry, known angles, identities, and laws of the frame."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from imaging.cephalometry.measuring import measure_face
from imaging.cephalometry.registry import MEASURES
from portfolio.quantities import radiograph
from tests.imaging.cephalometry import faces
from tests.imaging.cephalometry.faces import ORDINARY, Points, face, flipped, moved, values, without
from tests.imaging.cephalometry.plain_trigonometry import measures as by_hand

CLOSE = 1e-6


def complexes(points: Points) -> dict[str, complex]:
    return {name: complex(*at) for name, at in points.items()}


def told(points: Points, **entries: object) -> dict[str, float]:
    return values(face(points, **entries))


def assert_same(one: dict[str, float], other: dict[str, float], keys: set[str] | None = None) -> None:
    assert one.keys() == other.keys()
    for key in keys or one.keys():
        assert one[key] == pytest.approx(other[key], rel=1e-7, abs=CLOSE), key


def test_every_measure_is_a_quantity_of_the_radiograph_in_the_same_unit() -> None:
    assert {m.key: m.unit for m in MEASURES.values()} == {q.key: q.unit for q in radiograph.QUANTITIES}
    assert {m.key for m in MEASURES.values() if m.takes_plane} == set(radiograph.PLANE_DEPENDENT)


def test_a_sheet_calls_every_measure_as_the_tracing_does_and_no_two_alike() -> None:
    labels = [quantity.label for quantity in radiograph.QUANTITIES]
    assert len(set(labels)) == len(labels)
    for quantity in radiograph.QUANTITIES:
        said = quantity.label.replace("–", "-").removesuffix(", angle").removesuffix(", distance").rstrip("°")
        assert MEASURES[quantity.key].label.startswith(said), quantity.key


def test_a_whole_tracing_tells_every_measure_in_the_order_of_the_list() -> None:
    found, refused = measure_face(face())
    assert refused == ()
    assert [x.measure.key for x in found] == list(MEASURES)


@given(faces.some_faces)
@settings(max_examples=60)
def test_measures_agree_with_plain_trigonometry(points: Points) -> None:
    expected = by_hand(complexes(points))
    assume(abs(expected["pog_nb_mm"]) > 0.01)
    assert_same(told(points), expected)


@given(faces.some_faces)
@settings(max_examples=40)
def test_identities_hold(points: Points) -> None:
    """Sources: sums of angles of triangle and polygon; Björk's sum and Tweed's triangle as published."""
    m = told(points)
    same = pytest.approx
    assert m["sna"] - m["snb"] == same(m["anb"])
    assert m["saddle"] + m["articular"] + m["gonial"] == same(m["bjork_sum"])
    assert m["bjork_sum"] - 360 == same(m["sn_go_me"])
    assert m["fma"] + m["fmia"] + m["impa"] == same(180)
    assert m["interincisal"] == same(180 - m["u1_na"] - m["l1_nb"] - m["anb"])
    assert m["u1_sn"] == same(m["sna"] + m["u1_na"])
    assert m["gonial_upper"] + m["gonial_lower"] == same(m["gonial"])
    assert m["sn_mp"] == same(m["fma"] + m["sn_fh"])
    assert m["op_sn"] == same(m["op_fh"] + m["sn_fh"])
    assert m["u1_fh"] == same(m["u1_sn"] + m["sn_fh"])
    assert m["height_ratio"] == same(100 * m["s_go"] / m["n_me"])
    assert m["holdaway_ratio"] * m["pog_nb_mm"] == same(m["l1_nb_mm"])
    assert m["apdi"] == same(m["facial_angle"] + m["ab_plane"] + m["pp_fh"])


ANYWHERE = st.fixed_dictionaries(
    {name: st.tuples(*[st.floats(-100, 100)] * 2).map(list) for name in ("S", "N", "A", "B", "Ar", "Go")}
)


@given(ANYWHERE, st.tuples(st.floats(-100, 100), st.floats(-300, -200)))
def test_identities_hold_to_whole_turns_however_the_points_lie(
    points: Points, me: tuple[float, float]
) -> None:
    assume(all(math.dist(p, q) > 1 for p in points.values() for q in points.values() if p is not q))
    points = {**points, "Me": list(me)}
    s, n = complex(*points["S"]), complex(*points["N"])
    assume(((n - s).conjugate() * (complex(*me) - s)).imag < 0)
    m = told(points)
    assert m["sna"] - m["snb"] == pytest.approx(m["anb"], abs=CLOSE)
    for left in (
        m["bjork_sum"] - 360 - m["sn_go_me"],
        m["gonial_upper"] + m["gonial_lower"] - m["gonial"],
    ):
        assert math.remainder(left, 360) == pytest.approx(0, abs=CLOSE)


@given(faces.some_faces, st.sampled_from(["up", "down"]), st.sampled_from(["right", "left"]))
@settings(max_examples=20)
def test_the_way_the_picture_lies_changes_nothing(points: Points, y: str, way: str) -> None:
    lying = flipped(points, x=1 if way == "right" else -1, y=1 if y == "up" else -1)
    assert told(lying, y=y, faces=way) == told(points)


@given(faces.some_faces, st.floats(-180, 180), st.floats(-500, 500), st.floats(-500, 500))
@settings(max_examples=40)
def test_turning_and_shifting_the_head_changes_nothing(p: Points, degrees: float, x: float, y: float) -> None:
    before = told(p)
    assume(abs(before["pog_nb_mm"]) > 0.01)
    after = told(moved(p, degrees, x, y))
    assert_same(before, after)


@given(faces.some_faces, st.floats(0.1, 20))
@settings(max_examples=40)
def test_scale_changes_lengths_in_proportion_and_nothing_else(points: Points, scale: float) -> None:
    before = told(points)
    assume(abs(before["pog_nb_mm"]) > 0.01)
    after = told(moved(points, scale=scale))
    for key, value in before.items():
        factor = scale if MEASURES[key].is_length else 1
        assert after[key] == pytest.approx(factor * value, rel=1e-7, abs=CLOSE), key


def test_units_of_the_picture_that_differ_across_and_down_are_turned_into_millimetres_first() -> None:
    stretched = flipped(ORDINARY, x=4, y=-5)
    assert_same(told(stretched, y="down", mm_per_unit=["0.25", "0.2"]), told(ORDINARY))


def test_the_face_of_published_ideals_has_them() -> None:
    """Steiner's ideals (two lecture texts) and Björk's sum: the coordinates were constructed on them."""
    m = values(face(without("U1F", "L1F", "OPm", "OPi")))
    ideals = {"sna": 82.0, "snb": 80.0, "sn_go_gn": 32.0, "op_sn": 14.0, "u1_na": 21.9, "u1_na_mm": 4.0}
    ideals |= {"l1_nb": 24.9, "l1_nb_mm": 4.0, "bjork_sum": 396.0, "height_ratio": 62.3, "h_angle_nb": 9.3}
    assert {key: round(m[key], 1) for key in ideals} == ideals


@given(st.floats(70, 92), st.floats(-6, 10), st.floats(110, 135), st.floats(130, 155), st.floats(110, 145))
def test_a_face_built_from_known_angles_gives_them_back(
    snb: float, anb: float, saddle: float, articular: float, gonial: float
) -> None:
    """Walks round Björk's polygon and down from nasion by angles and lengths alone."""

    def walk(start: complex, degrees: float, length: float) -> complex:
        return start + length * complex(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))

    toward, s = 8.0, 0j
    n = walk(s, toward, 71)
    points = {
        "S": s,
        "N": n,
        "A": walk(n, 180 + toward + snb + anb, 57),
        "B": walk(n, 180 + toward + snb, 97),
    }
    heading = toward - saddle
    points["Ar"] = walk(s, heading, 33)
    heading += 180 - articular
    points["Go"] = walk(points["Ar"], heading, 43)
    heading += 180 - gonial
    points["Me"] = walk(points["Go"], heading, 70)
    m = told({name: [at.real, at.imag] for name, at in points.items()})
    for key, built in (
        ("snb", snb),
        ("anb", anb),
        ("sna", snb + anb),
        ("saddle", saddle),
        ("articular", articular),
        ("gonial", gonial),
        ("sn_go_me", saddle + articular + gonial - 360),
    ):
        assert m[key] == pytest.approx(built, abs=CLOSE), key


def test_anb_keeps_its_sign_when_the_lower_jaw_is_ahead() -> None:
    assert told({**ORDINARY, "A": [63, -48]})["anb"] < -2


@pytest.mark.parametrize(
    ("key", "point", "step"),
    [
        ("sna", "A", [1, 0]),
        ("anb", "B", [-1, 0]),
        ("u1_na", "U1", [1, 0]),
        ("l1_nb", "L1", [1, 0]),
        ("impa", "L1", [1, 0]),
        ("interincisal", "L1", [-1, 0]),
        ("fma", "Me", [0, -1]),
        ("facial_angle", "Pog", [1, 0]),
        ("convexity", "A", [1, 0]),
        ("ab_plane", "B", [1, 0]),
        ("y_axis", "Gn", [-1, 0]),
        ("op_fh", "OPi", [0, -1]),
        ("l1_op", "L1", [1, 0]),
        ("facial_axis", "Gn", [1, 0]),
        ("lower_face_height", "PM", [0, -1]),
        ("mandibular_arc", "PM", [0, 1]),
        ("pp_fh", "ANS", [0, -1]),
        ("wits", "A", [1, 0]),
        ("u6_ptv_mm", "U6D", [1, 0]),
        ("eline_lower", "Li", [1, 0]),
        ("h_angle", "Ls", [1, 0]),
        ("nasolabial", "Ls", [-1, 0]),
        ("overjet_mm", "U1", [1, 0]),
        ("overbite_mm", "U1", [0, -1]),
        ("a_nperp_mm", "A", [1, 0]),
        ("s_e", "Cd", [-1, 0]),
        ("apdi", "B", [1, 0]),
        ("odi", "B", [-1, 0]),
    ],
)
def test_a_measure_grows_the_way_its_text_says(key: str, point: str, step: list[int]) -> None:
    at = ORDINARY[point]
    after = told({**ORDINARY, point: [at[0] + step[0], at[1] + step[1]]})
    assert after[key] > told(ORDINARY)[key], MEASURES[key].larger


@pytest.mark.parametrize(("plane", "points"), [("go_me", "Go Me"), ("go_gn", "Go Gn"), ("tangent", "MT Me")])
def test_four_measures_follow_the_mandibular_plane_and_name_it(plane: str, points: str) -> None:
    back, front = points.split()
    found, _ = measure_face(face(mandibular_plane=plane))
    expected = by_hand(complexes(ORDINARY), (back, front))
    for measured in found:
        assert measured.value == pytest.approx(expected[measured.measure.key], abs=CLOSE)
        assert measured.plane == (plane if measured.measure.key in ("sn_mp", "fma", "fmia", "impa") else None)


def test_the_tangent_asks_for_its_touching_point_by_name() -> None:
    refused = {r.measure.key: r.why for r in measure_face(face(without("MT"), mandibular_plane="tangent"))[1]}
    assert refused == dict.fromkeys(("sn_mp", "fma", "impa"), "missing MT")


def test_wits_is_refused_without_the_premolar_overlap_and_not_replaced() -> None:
    refused = measure_face(face(without("OPp"), mm_per_unit=None))[1]
    assert {"wits": "not calibrated; missing OPp"}.items() <= {r.measure.key: r.why for r in refused}.items()


def test_without_a_scale_every_length_is_refused_by_name_and_angles_and_ratios_carry_no_error() -> None:
    found, refused = measure_face(face(mm_per_unit=None, scale_sd_percent="0.4"))
    assert {r.measure.key: r.why for r in refused} == {
        m.key: "not calibrated" for m in MEASURES.values() if m.is_length
    }
    assert {x.measure.key for x in found} == {m.key for m in MEASURES.values() if not m.is_length}
    assert [x for x in found if x.sd is not None] == []


@pytest.mark.parametrize("name", sorted(ORDINARY))
def test_a_measure_is_refused_for_each_point_it_reads_and_for_no_other(name: str) -> None:
    stands_in = {"OPm", "OPi", "U1F", "L1F", "Cm"}
    found, refused = measure_face(face(without(name)))
    reads = {key for key, m in MEASURES.items() if name in m.shape.names()}
    if name in stands_in:
        assert refused == ()
    else:
        assert {r.measure.key for r in refused} >= reads - {m.key for m in MEASURES.values() if m.takes_plane}
        assert {r.why for r in refused} <= {f"missing {name}"}
    before = told(ORDINARY)
    for measured in found:
        if name not in stands_in:
            assert measured.value == before[measured.measure.key]


def test_overlaps_are_derived_when_absent_and_the_edge_serves_for_a_missing_face() -> None:
    middle = {**ORDINARY, "OPm": [40, -69.9], "OPi": [71.6, -73.75], "U1F": [73, -75], "L1F": [70.2, -72.5]}
    middle["Cm"] = ORDINARY["Prn"]
    assert_same(told(without("OPm", "OPi", "U1F", "L1F", "Cm")), told(middle))  # type: ignore[arg-type]


def test_points_in_one_place_refuse_the_measures_that_need_their_direction() -> None:
    refused = {r.measure.key: r.why for r in measure_face(face({**ORDINARY, "U1A": ORDINARY["U1"]}))[1]}
    assert refused.keys() == {"u1_na", "u1_sn", "u1_fh", "interincisal"}
    assert set(refused.values()) == {"U1A and U1 lie in one place", "U1 and U1A lie in one place"}
    refused = {r.measure.key: r.why for r in measure_face(face({**ORDINARY, "Me": ORDINARY["Go"]}))[1]}
    assert refused["sn_mp"] == "Go and Me lie in one place"


def test_a_chin_on_the_line_nb_refuses_its_ratio() -> None:
    exact = {"S": [0, 0], "N": [70, 0], "B": [70, -90], "Pog": [70, -100], "L1": [74, -80]}
    refusal = {r.measure.key: r.why for r in measure_face(face(exact))[1]}  # type: ignore[arg-type]
    assert "divisor" in refusal["holdaway_ratio"]


def test_every_formula_says_its_direction() -> None:
    assert MEASURES["sna"].formula == "turn anticlockwise from N→S to N→A"
    assert MEASURES["anb"].formula.endswith("; less turn anticlockwise from N→S to N→B")
    assert all("→" in m.formula for m in MEASURES.values() if m.unit == "deg")
