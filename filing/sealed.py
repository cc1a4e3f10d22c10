"""Encrypted streams: AES-256-GCM in pieces, so that files of any size pass through little memory.

Layout: the line `FOLIOWRIGHT SEALED 1\\n`, 16 bytes of salt, 7 bytes of nonce, then pieces. A piece is 4 bytes with
the length of its ciphertext (big-endian), then the ciphertext with its 16-byte tag; it holds up to 1 MiB. Nonce of a
piece: the 7 bytes, its number in 4 bytes, and one byte that is 1 in the last piece and 0 in all others; so pieces can
be neither exchanged nor cut off at the end without being noticed. Key: scrypt of the pass phrase and the salt with
N 32768, r 8, p 1, 32 bytes.
"""

import os
import struct
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

HEAD = b"FOLIOWRIGHT SEALED 1\n"
SALT_BYTES = 16
NONCE_BYTES = 7
PIECE_BYTES = 1024 * 1024
TAG_BYTES = 16


class Unsealable(Exception):
    """The pass phrase is wrong, or the stream was changed or cut off; the message says which in words."""


def _cipher(phrase: str, salt: bytes) -> AESGCM:
    return AESGCM(Scrypt(salt=salt, length=32, n=2**15, r=8, p=1).derive(phrase.encode()))


def _nonce(start: bytes, number: int, last: bool) -> bytes:
    return start + struct.pack(">IB", number, last)


class SealingWriter:
    """A stream that encrypts what is written to it; `finish` writes the last piece."""

    def __init__(self, target: BinaryIO, phrase: str) -> None:
        salt, self._start = os.urandom(SALT_BYTES), os.urandom(NONCE_BYTES)
        self._cipher = _cipher(phrase, salt)
        self._target = target
        self._number = 0
        self._waiting = bytearray()
        target.write(HEAD + salt + self._start)

    def write(self, data: bytes) -> int:
        self._waiting += data
        while len(self._waiting) > PIECE_BYTES:  # one piece is kept back: it might be the last
            self._piece(bytes(self._waiting[:PIECE_BYTES]), last=False)
            del self._waiting[:PIECE_BYTES]
        return len(data)

    def finish(self) -> None:
        self._piece(bytes(self._waiting), last=True)

    def _piece(self, data: bytes, last: bool) -> None:
        sealed = self._cipher.encrypt(_nonce(self._start, self._number, last), data, None)
        self._target.write(struct.pack(">I", len(sealed)) + sealed)
        self._number += 1


class SealedReader:
    """A stream that reads what `SealingWriter` wrote; raises Unsealable."""

    def __init__(self, source: BinaryIO, phrase: str) -> None:
        head = source.read(len(HEAD) + SALT_BYTES + NONCE_BYTES)
        if len(head) < len(HEAD) + SALT_BYTES + NONCE_BYTES:
            raise Unsealable("The encrypted file ends too early.")
        self._start = head[-NONCE_BYTES:]
        self._cipher = _cipher(phrase, head[len(HEAD) : -NONCE_BYTES])
        self._source = source
        self._number = 0
        self._ready = bytearray()
        self._length = self._source.read(4)

    def read(self, size: int = -1) -> bytes:
        while self._length and (size < 0 or len(self._ready) < size):
            self._take_piece()
        given = bytes(self._ready) if size < 0 else bytes(self._ready[:size])
        del self._ready[: len(given)]
        return given

    def _take_piece(self) -> None:
        number = struct.unpack(">I", self._length)[0] if len(self._length) == 4 else 0
        if not TAG_BYTES <= number <= PIECE_BYTES + TAG_BYTES:
            raise Unsealable("The encrypted file is damaged.")
        sealed = self._source.read(number)
        self._length = self._source.read(4)
        try:
            self._ready += self._cipher.decrypt(
                _nonce(self._start, self._number, last=not self._length), sealed, None
            )
        except InvalidTag:
            raise Unsealable(
                "The pass phrase is wrong."
                if self._number == 0
                else "The encrypted file is damaged or cut off."
            ) from None
        self._number += 1
