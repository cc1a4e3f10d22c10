"""Text folded for searching, so that every database finds the same rows."""

import unicodedata

_LETTERS = str.maketrans({"ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "þ": "th", "ð": "d", "ı": "i"})


def folded(text: str) -> str:
    """Lower case without accents, spaces reduced to one: `MÜLLER` and `muller` become the same text.

    NUL counts as a space: PostgreSQL refuses a whole query over it.
    """
    apart = unicodedata.normalize("NFKD", text.replace("\0", " ").casefold())
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(plain.casefold().translate(_LETTERS).split())
