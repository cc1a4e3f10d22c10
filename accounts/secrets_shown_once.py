"""Secrets that are shown once and kept only as digests: the set-up code and the one-time links."""

import hashlib
import hmac
import secrets

UNMISTAKABLE = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Digits and capitals without 0, 1, I, L and O, which are misread from a screen."""

CODE_GROUPS = 3
CODE_GROUP_LENGTH = 4
LINK_BYTES = 32


def new_code() -> str:
    """A set-up code such as "K7RM-2XQP-9DHT": 12 letters of 31, about 59 bits."""
    return "-".join(
        "".join(secrets.choice(UNMISTAKABLE) for _ in range(CODE_GROUP_LENGTH)) for _ in range(CODE_GROUPS)
    )


def new_link_secret() -> str:
    """The secret part of a one-time link: 256 bits, safe in an address."""
    return secrets.token_urlsafe(LINK_BYTES)


def plain_code(typed: str) -> str:
    """A typed code in the form its digest is made of: capitals, no spaces, no hyphens."""
    return "".join(letter for letter in typed.upper() if letter.isalnum())


def digest(secret: str) -> str:
    """SHA-256 of a secret, hexadecimal; enough because both kinds of secret are long and random."""
    return hashlib.sha256(secret.encode()).hexdigest()


def same(first: str, second: str) -> bool:
    """Whether two digests are equal, compared in constant time."""
    return hmac.compare_digest(first, second)
