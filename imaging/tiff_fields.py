"""The lists of fields of a TIFF, counted before any library makes objects of them (TIFF 6.0 section 2, BigTIFF).

Fields may point anywhere and at the same bytes many times, so a small file can declare any amount of values.
"""

import struct
from collections.abc import Iterator

from imaging.intake_limits import DAMAGED, INCOMPLETE, MOST_FRAMES, PictureRefused

MOST_FIELDS = 50_000
"""Of all pages together; a page has some twenty."""
MOST_NUMBERS = 500_000
"""Numbers in all fields that are read as numbers: two for each strip or tile of each page, and a few."""
SIZES = {
    1: 1,
    2: 1,
    3: 2,
    4: 4,
    5: 8,
    6: 1,
    7: 1,
    8: 2,
    9: 4,
    10: 8,
    11: 4,
    12: 8,
    13: 4,
    16: 8,
    17: 8,
    18: 8,
}
"""Bytes of one value by the type of its field."""
_OF_MICROSCOPES = (33628, 33629, 33630, 33631, 50838, 50839)
"""Fields the library reads by formats of their own."""


def within_bounds(data: bytes) -> int:
    """Where the last of the lists and of their values ends; refuses what declares more than a file of this length holds.

    Raises PictureRefused.
    """
    end, fields, declared, numbers = 0, 0, 0, 0
    wide = 43 in data[2:4]
    for place, entries, after in _lists(data, wide):
        fields += len(entries) // (20 if wide else 12)
        if fields > MOST_FIELDS:
            raise PictureRefused(DAMAGED)
        end = max(end, after)
        for code, kind, count, at in _fields(data, entries, wide):
            size = count * SIZES.get(kind, 1)
            inline = size <= (8 if wide else 4)
            if not inline and at + size > len(data):
                raise PictureRefused(INCOMPLETE)
            end = end if inline else max(end, at + size)
            declared += 0 if inline else size
            numbers += count if SIZES.get(kind, 1) > 1 else 0
            if declared > 2 * len(data) or numbers > MOST_NUMBERS or code in _OF_MICROSCOPES:
                raise PictureRefused(DAMAGED)
        if place == 0:
            break
    return end


def _lists(data: bytes, wide: bool) -> Iterator[tuple[int, bytes, int]]:
    """Each list of fields: where the next one is (0 for none), its entries, and where it ends."""
    order = "<" if data[:1] == b"I" else ">"
    place = _number(order + ("Q" if wide else "I"), data, 8 if wide else 4)
    for _ in range(MOST_FRAMES + 1):
        count = _number(order + ("Q" if wide else "H"), data, place)
        first, each = place + (8 if wide else 2), 20 if wide else 12
        last = first + count * each
        if last > len(data):
            raise PictureRefused(INCOMPLETE)
        place = _number(order + ("Q" if wide else "I"), data, last)
        yield place, data[first:last], last + (8 if wide else 4)
        if not place:
            return


def _fields(data: bytes, entries: bytes, wide: bool) -> Iterator[tuple[int, int, int, int]]:
    """Number, type, count and place of each field of one list."""
    order = "<" if data[:1] == b"I" else ">"
    yield from struct.iter_unpack(order + ("HHQQ" if wide else "HHII"), entries)


def _number(form: str, data: bytes, at: int) -> int:
    try:
        found: int = struct.unpack_from(form, data, at)[0]
    except struct.error as error:
        raise PictureRefused(INCOMPLETE) from error  # lists often stand at the end
    return found
