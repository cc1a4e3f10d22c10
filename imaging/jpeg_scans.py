"""Does a JPEG hold all that its own header promises? Told from its scans, after ITU-T T.81.

Decoders fill what is missing with grey and say nothing, also when somebody put an end marker behind the cut. So three
things are asked of a file: has every component been sent down to its last bit (B.2.3, G.1); has every scan the
restart intervals its size asks for (B.2.4.4, E.1.4); and do bits put behind a scan change the picture? Bits behind a
whole scan are never read, so a whole file cannot be refused for what a camera leaves there; bits behind a cut are
taken for the missing ones, so the picture changes.
"""

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

__all__ = [
    "HUFFMAN_FRAMES",
    "OTHER_FRAMES",
    "PROGRESSIVE",
    "Scans",
    "end_of_bits",
    "scan_ends",
    "with_bits_behind",
]

BASELINE, EXTENDED, PROGRESSIVE = 0xC0, 0xC1, 0xC2
HUFFMAN_FRAMES = (BASELINE, EXTENDED, PROGRESSIVE)
OTHER_FRAMES = (0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF)
"""Lossless, hierarchical and arithmetic coding (T.81 table B.1): no camera writes them."""

COEFFICIENTS = 64
_AFTER_BITS = re.compile(rb"\xff+[^\x00\xff\xd0-\xd7]")
_RESTART = re.compile(rb"\xff[\xd0-\xd7]")
_BITS = hashlib.shake_128(b"bits that are no picture").digest(512).replace(b"\xff", b"\x7e")
"""Bytes of no pattern and without marker; enough for several blocks of 8 x 8 pixels in any coding table."""


@dataclass(slots=True)
class Scans:
    """What the segments of one JPEG have promised and delivered so far; they are handed over in their order."""

    marker: int = 0
    width: int = 0
    height: int = 0
    sampling: dict[int, tuple[int, int]] = field(default_factory=dict)
    interval: int = 0
    lowest: dict[int, list[int | None]] = field(default_factory=dict)
    short_of_intervals: bool = False
    ends: list[int] = field(default_factory=list)
    """Where the coded bits of each scan end: the place of the next marker."""

    def frame(self, marker: int, body: bytes) -> None:
        """The frame header (B.2.2): size in pixels, and the sampling factors of each component."""
        self.marker = marker
        self.height, self.width = int.from_bytes(body[1:3], "big"), int.from_bytes(body[3:5], "big")
        for at in range(6, 6 + 3 * body[5], 3):  # identifier, sampling factors, table
            component, factors = body[at], body[at + 1]
            self.sampling[component] = (max(1, factors >> 4), max(1, factors & 15))
            self.lowest[component] = [None] * COEFFICIENTS

    def restart_interval(self, body: bytes) -> None:
        """How many units stand between two restart markers (B.2.4.4); 0 switches them off."""
        self.interval = int.from_bytes(body[:2], "big")

    def scan(self, body: bytes, data: bytes, start: int, end: int) -> None:
        """One scan: its header (B.2.3) and where its coded bits stand in the file."""
        count = body[0]
        components = [body[1 + 2 * number] for number in range(count)]
        first, last, lowest = body[1 + 2 * count], body[2 + 2 * count], body[3 + 2 * count] & 15
        if self.marker != PROGRESSIVE:
            first, last, lowest = 0, COEFFICIENTS - 1, 0
        for component in components:
            if component in self.lowest:
                sent = last - first + 1
                self.lowest[component][first : last + 1] = [lowest] * sent
        if self.interval:
            intervals = -(-self._units(components) // self.interval)
            found = sum(1 for _ in _RESTART.finditer(data, start, end))
            self.short_of_intervals |= found < intervals - 1
        self.ends.append(end)

    def _units(self, components: Sequence[int]) -> int:
        """Number of minimum coded units of a scan (A.2): blocks of one component, or groups of several."""
        across = max(h for h, _ in self.sampling.values())
        down = max(v for _, v in self.sampling.values())
        if len(components) > 1 or components[0] not in self.sampling:
            return -(-self.width // (8 * across)) * -(-self.height // (8 * down))
        h, v = self.sampling[components[0]]
        wide, high = -(-self.width * h // across), -(-self.height * v // down)
        return -(-wide // 8) * -(-high // 8)

    @property
    def bytes_kept(self) -> int:
        """Bytes a pixel that a decoder keeps until the last of several scans: two for each sample, rounded up."""
        across = max(h for h, _ in self.sampling.values())
        down = max(v for _, v in self.sampling.values())
        return -(-2 * sum(h * v for h, v in self.sampling.values()) // (across * down))

    @property
    def incomplete(self) -> bool:
        """Is a component, a bit of it, or a restart interval missing?"""
        all_sent = all(bit == 0 for sent in self.lowest.values() for bit in sent)
        return self.short_of_intervals or not all_sent


def end_of_bits(data: bytes, start: int) -> int:
    """Where the coded bits that begin at `start` end: the place of the next marker but restarts; -1 without one."""
    end = data.find(b"\xff\xd9", start)
    # Nearly always the picture ends there: every byte FF between is a stuffed one, and counting is quicker than looking.
    if end >= 0 and data.count(b"\xff", start, end) == data.count(b"\xff\x00", start, end):
        return end
    found = _AFTER_BITS.search(data, start)
    return found.start() if found else -1


def with_bits_behind(data: bytes, ends: Sequence[int]) -> bytes:
    """The file with bits of no meaning put behind each scan; nothing else is changed."""
    parts, at = [], 0
    for end in ends:
        parts += [data[at:end], _BITS]
        at = end
    return b"".join([*parts, data[at:]])


def scan_ends(data: bytes) -> list[int]:
    """Where the coded bits of each scan end, in a JPEG of any coding inside another file; none where it was cut."""
    at = 2
    ends: list[int] = []
    while data[at : at + 1] == b"\xff" and at + 4 <= len(data) + 2:
        marker = data[at + 1]
        if marker == 0xD9:
            return ends
        if marker == 0xFF:
            at += 1
            continue
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == 0xDA:
            found = _AFTER_BITS.search(data, at)
            if found is None:
                return []
            ends.append(found.start())
            at = found.start()
    return []
