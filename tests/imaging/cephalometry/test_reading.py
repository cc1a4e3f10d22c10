"""The tracing file: what is taken, and every fault told at once in words."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from imaging.cephalometry.landmarks import BY_KEY, CHIN, DEFAULT_POINT_SD_MM, LANDMARKS
from imaging.cephalometry.reading import TracingRefused, read_tracing
from imaging.cephalometry.registry import ANALYSES, MEASURES, norms_of
from imaging.geometry import Vector
from portfolio.sources import SOURCES
from tests.imaging.cephalometry.faces import ORDINARY, face, flipped, moved, tracing, without


def faults(text: str) -> list[str]:
    with pytest.raises(TracingRefused) as refused:
        read_tracing(text)
    found = refused.value.faults
    assert found
    assert all(fault.isprintable() and len(fault) < 400 for fault in found)
    return found


def faults_of(**entries: Any) -> list[str]:
    return faults(json.dumps(tracing(**entries)))


def test_the_format_names_every_landmark_and_no_other() -> None:
    listed = (
        "S N Po Or A B D Pog Gn Me Go Ar Ba Co Cd Pt Xi PM DC ANS PNS MT U1 L1 U1A L1A U1F L1F U6 L6 U6D OPm OPi OPp "
        "Prn Cm Sn Ls Stm Li Sl Pog' Me' N' G'"
    )
    assert set(BY_KEY) == set(listed.split()) == set(ORDINARY)
    assert len(LANDMARKS) == len(BY_KEY)


def test_every_landmark_has_a_definition_a_kind_and_a_source() -> None:
    for landmark in LANDMARKS:
        assert landmark.source in SOURCES
        assert len(landmark.definition) > 15
        assert landmark.worst
        assert landmark.kind in ("bony", "dental", "soft", "constructed")
    assert all(BY_KEY[name] for name in CHIN)


def test_every_norm_has_numbers_a_source_and_a_certainty() -> None:
    assert ANALYSES.keys() == {
        "steiner", "downs", "tweed", "ricketts", "mcnamara", "wits", "bjork_jarabak", "holdaway", "lip_lines",
        "vertical_indicators", "incisor_overlap",
    }  # fmt: skip
    for analysis in ANALYSES.values():
        assert analysis.source in SOURCES
        for norm in analysis.norms:
            assert norm.source in SOURCES, norm
            assert norm.value or (norm.low and norm.high), norm
            for text in (norm.value, norm.sd, norm.low, norm.high, norm.per_year):
                assert not text or float(text) == float(text), norm
            if norm.value and norm.low:
                assert float(norm.low) <= float(norm.value) <= float(norm.high), norm
            assert norm.certainty == "memory" or norm.source not in ("ceph_memory", "ceph_mcnamara"), norm
            assert bool(norm.per_year) == (norm.age_years is not None)
    assert [a.key for a, _ in norms_of("interincisal")] == ["steiner", "downs", "ricketts"]
    assert {m for m in MEASURES if not norms_of(m)} == {
        "sn_fh", "sn_go_me", "sn_mp", "u1_sn", "u1_fh", "pog_nb_mm", "s_go", "n_me", "pp_fh", "h_angle_nb",
    }  # fmt: skip


def test_a_sound_file_is_read_into_the_frame_of_the_profile() -> None:
    points = {"S": [100, 200], "N": [50, 190, 0.25]}
    fiducials = {"maxilla": {"zygoma front": [70, 210, 1]}}
    read = face(
        points,  # type: ignore[arg-type]
        y="down",
        faces="left",
        mm_per_unit=["0.5", "0.25"],
        scale_sd_percent="0.4",
        fiducials=fiducials,
    )
    assert read.points["S"].at == Vector(-50, -50)
    assert read.points["N"].at == Vector(-25, -47.5)
    assert (read.points["S"].sd, read.points["N"].sd) == (DEFAULT_POINT_SD_MM, 0.25)
    assert read.fiducials["maxilla"]["zygoma front"].at == Vector(-35, -52.5)
    assert (read.calibrated, read.scale_sd_percent, read.mandibular_plane) == (True, 0.4, "go_me")
    assert face(mm_per_unit=None).calibrated is False


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        ({"tracing": 2}, "tracing: must be 1, not 2"),
        ({"tracing": True}, "tracing: must be 1, not true"),
        ({"tracing": 1.0}, "tracing: must be 1, not 1.0"),
        ({"tracing": "1"}, 'tracing: must be 1, not "1"'),
        ({"tracing": None}, "tracing is missing"),
        ({"y": "north"}, 'y: must be up or down, not "north"'),
        ({"y": None}, "y is missing"),
        ({"faces": 1}, "faces: must be right or left, not 1"),
        ({"faces": None}, "faces is missing"),
        ({"points": []}, "points: must be an object of landmarks, not a list of 0"),
        ({"mm_per_unit": 0.1}, 'mm_per_unit: must be a decimal text such as "0.1", not 0.1'),
        ({"mm_per_unit": "0"}, 'mm_per_unit: "0" is out of range; allowed: more than 0 and up to 1000'),
        ({"mm_per_unit": "-0.1"}, 'mm_per_unit: must be a decimal text such as "0.1", not "-0.1"'),
        ({"mm_per_unit": "1e-1"}, 'mm_per_unit: must be a decimal text such as "0.1", not "1e-1"'),
        ({"mm_per_unit": "٣"}, 'mm_per_unit: must be a decimal text such as "0.1", not "٣"'),
        ({"mm_per_unit": "1001"}, 'mm_per_unit: "1001" is out of range; allowed: more than 0 and up to 1000'),
        ({"mm_per_unit": ["0.1"]}, "mm_per_unit: must be a decimal text or a pair of them [x, y], not a list of 1"),
        ({"mm_per_unit": ["0.1", 2]}, 'mm_per_unit: must be a decimal text such as "0.1", not 2'),
        ({"scale_sd_percent": "51"}, 'scale_sd_percent: "51" is out of range; allowed: 0 up to 50'),
        ({"scale_sd_percent": 0.4}, 'scale_sd_percent: must be a decimal text such as "0.4", not 0.4'),
        ({"mandibular_plane": "go-me"}, 'mandibular_plane: must be go_me or go_gn or tangent, not "go-me"'),
        ({"fiducials": {"skull": {}}}, 'fiducials: "skull" is not a structure; allowed: cranial_base, maxilla, mandible'),
        ({"fiducials": {"maxilla": {"": [1, 2]}}}, 'fiducials maxilla: "" is no name'),
        ({"fiducials": {"maxilla": {"a\nb": [1, 2]}}}, 'fiducials maxilla: "a\\nb" is no name'),
        ({"fiducials": {"maxilla": {"a": [1]}}}, "fiducials maxilla a: must be [x, y] or [x, y, SD in mm], not a list of 1"),
        ({"fiducials": {"maxilla": 3}}, "fiducials maxilla: must be an object of marks, not 3"),
        ({"stage": "final"}, '"stage" is not a key of a tracing; allowed: tracing, y, faces'),
    ],
)  # fmt: skip
def test_a_wrong_entry_is_refused_by_name(entries: dict[str, Any], says: str) -> None:
    found = faults_of(**entries)
    assert len(found) == 1
    assert found[0].startswith(says)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("[1, true]", "points S: y must be a number, not true"),
        ('["1", 2]', 'points S: x must be a number, not "1"'),
        ("[null, 2]", "points S: x must be a number, not null"),
        ("[1]", "points S: must be [x, y] or [x, y, SD in mm], not a list of 1"),
        ("[1, 2, 3, 4]", "points S: must be [x, y] or [x, y, SD in mm], not a list of 4"),
        ('{"x": 1, "y": 2}', "points S: must be [x, y] or [x, y, SD in mm], not an object of 2"),
        ("[1, 2, -0.5]", "points S: SD -0.5 is out of range; allowed: 0 to 50"),
        ("[1, 2, false]", "points S: SD must be a number, not false"),
        ("[1e999, 2]", "points S: x a number too large is out of range; allowed: -1e+06 to 1e+06"),
        ("[1, -2000000]", "points S: y -2000000 is out of range; allowed: -1e+06 to 1e+06"),
        ("[1" + "0" * 5000 + ", 2]", "points S: x a number too large is out of range"),
        ("[-1" + "0" * 350 + ", 2]", "points S: x a number too large is out of range"),
    ],
)
def test_a_wrong_coordinate_is_refused_with_its_point(value: str, says: str) -> None:
    text = '{"tracing": 1, "y": "up", "faces": "right", "points": {"S": ' + value + "}}"
    found = faults(text)
    assert len(found) == 1
    assert found[0].startswith(says)


@pytest.mark.parametrize("constant", ["NaN", "Infinity", "-Infinity"])
def test_what_json_has_no_number_for_is_refused(constant: str) -> None:
    assert faults('{"points": {"S": [' + constant + ", 1]}}") == [
        f"is not JSON: {constant} is not a number of JSON"
    ]


@pytest.mark.parametrize(
    ("written", "nearest"),
    [
        ("s", "S"),
        ("POG", "Pog"),
        ("Pog´", "Pog"),
        ("U1 A", "U1A"),
        ("gn", "Gn"),
        ("Sella", "S"),
        ("orbitale", "Or"),
        ("zzzz", None),
    ],
)
def test_an_unknown_landmark_is_refused_with_the_nearest_one(written: str, nearest: str | None) -> None:
    end = f"; nearest: {nearest}" if nearest else ""
    assert faults_of(points={**ORDINARY, written: [1, 2]}) == [f'points: "{written}" is not a landmark{end}']


def test_doubled_keys_are_refused_wherever_they_stand() -> None:
    text = (
        '{"tracing": 1, "tracing": 1, "y": "up", "faces": "right", "points": {"S": [0, 0], "N": [1, 0], "S": [0, 1]},'
        ' "fiducials": {"maxilla": {"a": [1, 2], "a": [1, 2]}, "maxilla": {"a": [1, 2], "a": [1, 2]}}}'
    )
    assert faults(text) == [
        '"tracing" is given twice',
        'points: "S" is given twice',
        'fiducials: "maxilla" is given twice',
        'fiducials maxilla: "a" is given twice',
    ]


def test_all_faults_of_a_file_are_told_together() -> None:
    found = faults_of(
        tracing=3, y="left", mm_per_unit="x", points={"S": [1], "Q": [1, 2], "N": ["a", True]}, extra=1
    )
    assert len(found) == 8


@pytest.mark.parametrize(
    "text", ["", "[]", "3", "null", '"tracing"', "{", '{"a": 1,}', "[" * 100_000, "\x00", "{}"]
)
def test_what_is_no_tracing_is_refused(text: str) -> None:
    assert faults(text)


@pytest.mark.parametrize(
    ("x", "y", "entries"), [(1, -1, {}), (-1, 1, {}), (1, 1, {"y": "down"}), (1, 1, {"faces": "left"})]
)
def test_a_mirrored_picture_is_refused(x: int, y: int, entries: dict[str, str]) -> None:
    for degrees in (0, 30, 180):
        points = moved(flipped(ORDINARY, x, y), degrees)
        found = faults_of(points=points, **entries)
        assert len(found) == 1
        assert (
            found[0].startswith("Gn, Me, Me', Pog, Pog' lie above S-N: ")
            or "above S-N: the picture is mirrored" in found[0]
        )


def test_a_chin_above_frankfort_is_refused_where_s_n_is_not_placed() -> None:
    assert "above Po-Or" in faults_of(points=flipped(without("S"), y=-1))[0]
    assert face(without("S")).points


@pytest.mark.parametrize("chin", CHIN)
def test_one_point_of_the_chin_is_enough_to_tell(chin: str) -> None:
    points = {"S": [0, 0], "N": [70, 9], chin: [60, -100]}
    assert face(points).points  # type: ignore[arg-type]
    assert faults_of(points=flipped(points, y=-1))[0].startswith(f"{chin} lies above S-N")  # type: ignore[arg-type]


def test_many_marks_are_refused() -> None:
    marks = {f"mark {i}": [i, i] for i in range(201)}
    assert faults_of(fiducials={"maxilla": marks}) == ["fiducials maxilla: 201 marks; allowed: up to 200"]


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
)


@given(st.dictionaries(st.sampled_from([*tracing(), "fiducials", "scale_sd_percent"]), JSON_VALUES))
@settings(max_examples=150)
def test_any_other_content_is_refused_in_printable_lines(entries: dict[str, Any]) -> None:
    assert all(line.isprintable() for line in faults(json.dumps(entries)))


def test_an_unusual_length_of_s_n_is_hinted_at_and_not_refused() -> None:
    assert face().scale_hint() == ""
    assert face(mm_per_unit="0.8").scale_hint() == "S-N is 56.8 mm, usually 60 to 85: check the scale"
    assert face(mm_per_unit=None).scale_hint() == ""
    assert face(without("N")).scale_hint() == ""
