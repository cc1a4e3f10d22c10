"""File names as they came: shown to their owner only, never a path, and told when they look like a person or a date."""

import re

_DATE = re.compile(r"(?:19|20)\d\d[-_. ]?\d\d[-_. ]?\d\d|\d{1,2}[-_. ]\d{1,2}[-_. ](?:19|20)?\d\d")
_TWO_NAMES = re.compile(r"\b[^\W\d_][^\W\d_A-Z]+[ ,_-]+[A-Z][^\W\d_]+", re.UNICODE)


def shown(name: str) -> str:
    """The last part of a name without control characters, at most 120 characters; "picture" where nothing is left."""
    last = re.split(r"[\\/]", name)[-1]
    plain = "".join(letter for letter in last if letter.isprintable()).strip(". ")
    return plain[:120] or "picture"


def looks_private(name: str) -> bool:
    """Does the name look like a date, or like first and last name? Only a hint: it may be wrong both ways."""
    stem = shown(name).rpartition(".")[0] or shown(name)
    return bool(_DATE.search(stem) or (re.match(r"[A-Z]", stem) and _TWO_NAMES.search(stem)))
