"""The line drawing shows every landmark, the right way round, inside its window."""

from imaging.cephalometry.face import Face, Spot
from imaging.cephalometry.landmarks import GROUPS, LANDMARKS
from imaging.cephalometry.sketch import TYPICAL, paths, window
from imaging.geometry import Vector


def test_every_landmark_has_its_place_on_the_drawing_and_belongs_to_one_group() -> None:
    assert set(TYPICAL) == {landmark.key for landmark in LANDMARKS}
    grouped = [landmark.key for _, group in GROUPS for landmark in group]
    assert len(grouped) == len(set(grouped)) == len(LANDMARKS)


def test_the_drawing_is_no_mirrored_head_and_lies_inside_its_window() -> None:
    face = Face({key: Spot(Vector(*at)) for key, at in TYPICAL.items()})
    assert face.mirrored_at() == ("", "")
    left, top, width, height = window()
    for x, y in TYPICAL.values():
        assert left < x < left + width
        assert top < -y < top + height


def test_every_line_of_the_drawing_is_a_path_of_finite_numbers() -> None:
    assert len(paths()) == 15
    for path in paths():
        numbers = [float(text) for text in path.strip("MZ").split()]
        assert len(numbers) >= 6
        assert all(abs(number) < 200 for number in numbers)
