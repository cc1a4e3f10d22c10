"""A JPEG that was cut short is refused, also with an end marker behind the cut; a whole one never is.

Structure after ITU-T T.81. What a decoder shows for a cut file: Pillow issues 2717 and 4414. The decoder the tests
compare with is the library's own, which fills what is missing with grey and says nothing.
"""

from __future__ import annotations

import io
import struct
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from imaging.deidentify import PictureRefused, clean
from imaging.file_kinds import MOST_SCANS
from tests.imaging.made_pictures import jpeg, marked_jpeg, noise, segment, two_in_one

END = b"\xff\xd9"
KINDS: dict[str, dict[str, Any]] = {
    f"{'progressive' if progressive else 'baseline'} {ratio}{f' restart {interval}' if interval else ''}": {
        "progressive": progressive,
        "subsampling": ratio,
        **({"restart_marker_blocks": interval} if interval else {}),
    }
    for progressive in (False, True)
    for ratio in ("4:4:4", "4:2:2", "4:2:0")
    for interval in (0, 1, 3, 7)
}
MODES = {"grey": "L", "four inks": "CMYK"}


@cache
def made(kind: str) -> bytes:
    """A picture with detail above and one grey below, where a cut is hardest to see; odd sides, so blocks are cut."""
    scene = noise((40, 30)).resize((203, 157), Image.Resampling.BICUBIC)
    scene.paste((128, 128, 128), (0, 100, 203, 157))
    if kind in MODES:
        return jpeg(scene.convert(MODES[kind]))
    return jpeg(scene, **KINDS[kind])


@cache
def whole(kind: str) -> bytes:
    return clean(made(kind)).pixels.tobytes()


ALL = [*KINDS, *MODES]


@given(st.data())
@pytest.mark.parametrize("kind", ALL)
def test_what_is_cut_is_refused_or_nothing_of_the_picture_is_missing(kind: str, data: st.DataObject) -> None:
    picture = made(kind)
    scan = picture.index(b"\xff\xda")
    where = data.draw(
        st.one_of(st.integers(scan, len(picture) - 3), st.integers(len(picture) - 40, len(picture) - 3))
    )
    behind = data.draw(st.sampled_from([END, END + bytes(64), b"\xff\xff" + END, END + made("grey")]))
    try:
        found = clean(picture[:where] + behind)
    except PictureRefused:
        return
    assert found.pixels.tobytes() == whole(kind)


@pytest.mark.parametrize("kind", ALL)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.98])
def test_a_cut_is_named_as_such_at_any_scale(kind: str, share: float) -> None:
    picture = made(kind)
    scan = picture.index(b"\xff\xda") + 20
    cut = picture[: scan + int((len(picture) - scan) * share)].rstrip(b"\xff") + END
    if not kind.startswith("progressive"):
        with Image.open(io.BytesIO(cut)) as shown:
            shown.load()  # the library itself sees nothing wrong
    for longest in (None, 60):
        with pytest.raises(PictureRefused) as refused:
            clean(cut, longest)
        # A cut inside a table between two scans leaves a header that asks for more than is there.
        assert "cut short" in refused.value.reason or "incomplete" in refused.value.reason


@pytest.mark.parametrize("kind", ALL)
@pytest.mark.parametrize(
    "behind",
    [
        b"",
        bytes(1000),  # a card's block filled up
        b"\xff" * 1000,  # an erased flash block
        END,
        made("grey"),  # a preview as a second picture
        two_in_one(),
    ],
    ids=["nothing", "zeros", "erased", "second end", "second picture", "two more"],
)
def test_a_whole_file_is_taken_whatever_a_camera_leaves_behind_it(kind: str, behind: bytes) -> None:
    assert clean(made(kind) + behind).pixels.tobytes() == whole(kind)


@pytest.mark.parametrize("kind", ALL)
@pytest.mark.parametrize(
    "padding",
    [b"\xff\xff\xff", bytes(200), b"\x5a" * 37, b"\xff\x00" * 9],
    ids=["fill", "zeros", "bytes", "stuffed"],
)
def test_padding_between_the_last_scan_and_the_end_is_no_cut(kind: str, padding: bytes) -> None:
    picture = made(kind)
    assert clean(picture[:-2] + padding + END).pixels.tobytes() == whole(kind)


@pytest.mark.parametrize("kind", ALL)
def test_the_same_picture_at_every_scale_is_taken(kind: str) -> None:
    for longest in (25, 26, 51, 102, 150, 203, 2000):
        assert max(clean(made(kind), longest).pixels.size) == min(longest, 203)


@pytest.mark.parametrize("interval", [1, 3, 7])
@pytest.mark.parametrize("progressive", [False, True])
def test_a_cut_at_the_very_end_of_a_restart_interval_is_seen(interval: int, progressive: bool) -> None:
    picture = jpeg(noise((80, 64)), restart_marker_blocks=interval, progressive=progressive)
    marks = [
        at
        for at in range(picture.index(b"\xff\xda"), len(picture) - 2)
        if picture[at] == 0xFF and 0xD0 <= picture[at + 1] <= 0xD7
    ]
    assert len(marks) > 1
    for at in (marks[0], marks[len(marks) // 2], marks[-1]):
        for cut in (picture[:at] + END, picture[: at + 2] + END):
            with pytest.raises(PictureRefused):
                clean(cut)


def test_a_progressive_picture_without_its_last_refinement_is_refused() -> None:
    picture = made("progressive 4:2:0")
    last = picture.rindex(b"\xff\xda")
    with pytest.raises(PictureRefused, match="cut short"):
        clean(picture[:last] + END)


def test_components_in_scans_of_their_own_are_taken_whole_and_refused_cut() -> None:
    """A baseline picture of three scans, put together from three grey ones (T.81 allows it; scanners write it)."""
    parts = [jpeg(noise((64, 48), seed).convert("L"), optimize=False) for seed in (1, 2, 3)]
    head = parts[0][: parts[0].index(b"\xff\xc0")]
    tables = parts[0][parts[0].index(b"\xff\xc4") : parts[0].index(b"\xff\xda")]
    frame = segment(
        0xC0, struct.pack(">BHHB", 8, 48, 64, 3) + b"".join(bytes([n, 0x11, 0]) for n in (1, 2, 3))
    )
    scans = []
    for number, part in enumerate(parts, start=1):
        bits = part[part.index(b"\xff\xda") + 10 : -2]
        scans.append(segment(0xDA, bytes([1, number, 0, 0, 63, 0])) + bits)
    picture = head + frame + tables + b"".join(scans) + END
    assert clean(picture).pixels.size == (64, 48)
    with pytest.raises(PictureRefused, match="cut short"):
        clean(head + frame + tables + b"".join(scans[:2]) + END)
    with pytest.raises(PictureRefused, match="cut short"):
        clean(head + frame + tables + scans[0] + scans[1][: len(scans[1]) // 2] + scans[2] + END)


@pytest.mark.parametrize("marker", [0xC3, 0xC9, 0xCA])
def test_rare_codings_are_refused_by_name(marker: int) -> None:
    picture = bytearray(made("grey"))
    picture[picture.index(b"\xff\xc0") + 1] = marker
    with pytest.raises(PictureRefused, match="rare kind"):
        clean(bytes(picture))


def test_a_picture_of_very_many_scans_is_refused_before_it_is_decoded() -> None:
    picture = made("progressive 4:2:0")
    last = picture[picture.rindex(b"\xff\xda") : -2]
    with pytest.raises(PictureRefused, match=f"more than {MOST_SCANS} scans"):
        clean(picture[:-2] + last * MOST_SCANS + END)


def test_a_marked_camera_file_with_everything_around_it_is_taken() -> None:
    assert clean(marked_jpeg((203, 157))).pixels.size == (203, 157)


@given(st.binary(max_size=80), st.sampled_from([0xC0, 0xC2, 0xDA, 0xDD, 0xC4]))
def test_damaged_headers_are_refused_in_words_and_never_a_fault(body: bytes, marker: int) -> None:
    picture = made("baseline 4:2:0")
    for at in (2, picture.index(b"\xff\xda")):
        try:
            told = f"{clean(picture[:at] + segment(marker, body) + picture[at:]).pixels.size}"
        except PictureRefused as refused:  # anything else that is raised fails
            told = str(refused)
        assert told
