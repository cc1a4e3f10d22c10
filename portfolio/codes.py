"""Random codes for patients and cases, made of characters that cannot be mistaken for one another."""

import secrets

ALPHABET = "23456789ACDEFGHJKMNPQRTUVWXY"
"""Left out: 0 and O; 1, I and L; B, S and Z, which are read as 8, 5 and 2."""

LENGTH = 8


def new_code() -> str:
    """A code of 8 characters drawn by the operating system; it says nothing about the person."""
    return "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))


def is_code(text: str) -> bool:
    """Whether the text could have been drawn by `new_code`."""
    return len(text) == LENGTH and all(character in ALPHABET for character in text)
