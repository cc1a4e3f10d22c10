"""What the reading of every kind of file shares: limits, the words of refusal, and what is known before decoding."""

import re
from dataclasses import dataclass, field

LARGEST_PIXELS = 80_000_000
DECODED_BYTES = 160_000_000
"""What decoding may take where the whole picture stands in memory: then at most this divided by the bytes a pixel."""
LARGEST_BYTES = 40 * 1024 * 1024
MOST_FRAMES = 1000

AS_JPEG = "Export it as JPEG or PNG and send that."
CUT_SHORT = "The file was cut short: part of the picture its header promises is missing. Send it again."
INCOMPLETE = "The file is incomplete: its end is missing. Send it again."
DAMAGED = "The file is damaged and cannot be read to its end. Send it again."

_OTHER_FILE = re.compile(rb"<html|<script|<!doctype|<\?php|<svg[\s>]|%PDF-", re.I)


class PictureRefused(Exception):
    """A file that is not taken as a picture; `reason` is a sentence for the person who sent it."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class FrameAsked(PictureRefused):
    """A file of several pages or frames of which one is to be chosen; `frames` says how many there are."""

    def __init__(self, frames: int, called: str, more: str = "") -> None:
        super().__init__(
            f"The file holds {frames} {called}s and one of them is taken. Say which, 1 to {frames}.{more}"
        )
        self.frames = frames


@dataclass(frozen=True, slots=True)
class Structure:
    """What stands in the file: its kind, pixels across and down, and the names of fields beside the pixels.

    `scan_ends`, of a JPEG: where the coded bits of each scan end. `pages`, of a TIFF: the places of its full pages in
    the file, from 0.
    """

    kind: str
    width: int
    height: int
    beside: tuple[str, ...] = field(default=())
    scan_ends: tuple[int, ...] = field(default=())
    pages: tuple[int, ...] = field(default=(0,))


def within_limit(width: int, height: int, each: float = 0, kind: str = "") -> None:
    """Refuse by the declared size, before any pixel is decoded.

    `each`: bytes a pixel where the decoder keeps the whole picture, as for a PNG and a JPEG sent in several scans;
    0 for a JPEG that is made smaller while it is read. `kind`: what such a file is called.
    """
    if width < 1 or height < 1:
        raise PictureRefused(DAMAGED)
    most = min(LARGEST_PIXELS, int(DECODED_BYTES / each)) if each else LARGEST_PIXELS
    if width * height > most:
        raise PictureRefused(
            f"The picture declares {width} x {height} pixels; at most {most // 1_000_000} million are taken"
            f"{f' of {kind}' if most < LARGEST_PIXELS else ''}. Make it smaller and send it again."
        )


def chosen(frame: int | None, frames: int, called: str, more: str = "") -> int:
    """The wanted frame, from 1; raises FrameAsked where there are several and none, or none of these, was named."""
    if frames == 1 and frame in (None, 1):
        return 1
    if frames > 1 and frame is not None and 1 <= frame <= frames:
        return frame
    if frames == 1:
        raise PictureRefused(f"The file holds one {called}; leave the number empty and send it again.")
    raise FrameAsked(frames, called, more)


def refuse_another_file(tail: bytes) -> None:
    """Refuse where what stands behind the picture is a page, script or document."""
    if _OTHER_FILE.search(tail):
        raise PictureRefused(
            "Another file (a page, script or document) is hidden behind the picture. " + AS_JPEG
        )


def with_tail(beside: list[str], tail: bytes) -> tuple[str, ...]:
    """The names once each, with what stands behind the end; refuses a tail that is a file of another kind.

    Cameras put second pictures and zeros there, which are only dropped.
    """
    refuse_another_file(tail)
    if b"\xff\xd8\xff" in tail:
        beside.append("further picture behind the first")
    elif tail.strip(b"\x00"):
        beside.append("bytes behind the end")
    return tuple(dict.fromkeys(beside))
