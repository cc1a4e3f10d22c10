"""What a person searches for, kept in the session: in addresses stands a random key instead.

Addresses stay in the browser's history and may be logged on the way; what is searched for are names, e-mail addresses
and locators.
"""

import secrets

from django.http import HttpRequest

FIELD = "search"
IN_SESSION = "searches"
KEPT = 20
"""So many searches of a session are kept, the latest ones, for other tabs and the way back."""

LONGEST = 200


def keep(request: HttpRequest, words: str) -> str:
    """The key under which the words are kept; empty for no words."""
    words = words.strip()[:LONGEST]
    if not words:
        return ""
    kept: list[list[str]] = request.session.get(IN_SESSION, [])
    key = secrets.token_urlsafe(6)
    request.session[IN_SESSION] = [*kept, [key, words]][-KEPT:]
    return key


def searched(request: HttpRequest) -> tuple[str, str]:
    """Key and words of the search that the address names; both empty where the session does not hold it."""
    key = request.GET.get(FIELD, "")
    words = dict(request.session.get(IN_SESSION, [])).get(key, "")
    return (key, words) if words else ("", "")
