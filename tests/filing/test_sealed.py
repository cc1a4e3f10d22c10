"""Encrypted streams come back whole or are refused."""

from __future__ import annotations

import io
import struct
from typing import BinaryIO, cast

import pytest

from filing.sealed import HEAD, NONCE_BYTES, PIECE_BYTES, SALT_BYTES, SealedReader, SealingWriter, Unsealable

PHRASE = "alginate tray and wax"
START = len(HEAD) + SALT_BYTES + NONCE_BYTES


def seal(content: bytes) -> bytes:
    target = io.BytesIO()
    writer = SealingWriter(target, PHRASE)
    for begin in range(0, len(content), 300_001):
        writer.write(content[begin : begin + 300_001])
    writer.finish()
    return target.getvalue()


def unseal(content: bytes, phrase: str = PHRASE) -> bytes:
    return SealedReader(io.BytesIO(content), phrase).read()


def pieces(content: bytes) -> list[bytes]:
    """The pieces of a sealed stream, each with its length before it."""
    found, stream = [], cast(BinaryIO, io.BytesIO(content[START:]))
    while length := stream.read(4):
        found.append(length + stream.read(struct.unpack(">I", length)[0]))
    return found


@pytest.mark.parametrize("size", [0, 1, PIECE_BYTES - 1, PIECE_BYTES, PIECE_BYTES + 1, 2 * PIECE_BYTES + 7])
def test_what_was_sealed_comes_back(size: int) -> None:
    content = bytes(range(256)) * (size // 256) + b"w" * (size % 256)
    assert unseal(seal(content)) == content


def test_two_seals_of_the_same_have_nothing_in_common() -> None:
    assert seal(b"same")[len(HEAD) :] != seal(b"same")[len(HEAD) :]


def test_a_wrong_phrase_is_told() -> None:
    with pytest.raises(Unsealable, match="pass phrase is wrong"):
        unseal(seal(b"plaster"), "another phrase altogether")


def test_cutting_off_at_the_end_of_a_piece_is_noticed() -> None:
    content = seal(b"p" * (2 * PIECE_BYTES + 5))
    with pytest.raises(Unsealable):
        unseal(content[: START + sum(map(len, pieces(content)[:-1]))])


def test_exchanged_pieces_are_noticed() -> None:
    content = seal(b"p" * PIECE_BYTES + b"q" * PIECE_BYTES + b"r" * PIECE_BYTES + b"s")
    first, second, *others = pieces(content)
    with pytest.raises(Unsealable):
        unseal(content[:START] + b"".join([first, *others[:1], second, *others[1:]]))


@pytest.mark.parametrize("length", [0, 5, 2**31])
def test_an_impossible_length_is_refused_before_it_is_read(length: int) -> None:
    with pytest.raises(Unsealable, match="damaged"):
        unseal(seal(b"plaster")[:START] + struct.pack(">I", length) + b"x" * 40)
