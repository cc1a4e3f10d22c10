"""The code that is typed into a phone, and the keyed digest that is all we keep of it."""

import secrets

from django.utils.crypto import salted_hmac

from accounts.secrets_shown_once import UNMISTAKABLE, plain_code

GROUP, GROUPS = 4, 2


def new_code() -> str:
    """A code such as "K7RM-2XQP": 8 of 31 signs, about 40 bits; guessing is limited and its life is short."""
    return "-".join("".join(secrets.choice(UNMISTAKABLE) for _ in range(GROUP)) for _ in range(GROUPS))


def digest(typed: str) -> str:
    """The digest of a code as typed, keyed with the data folder's key: a copy of the database alone tells no code."""
    return salted_hmac("imaging.phone.code", plain_code(typed), algorithm="sha256").hexdigest()
