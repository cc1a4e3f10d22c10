"""The security log: who (by number), what, when; never a name, an e-mail address or typed text."""

import logging

from accounts.models import User

_log = logging.getLogger("foliowright.security")


def note(event: str, person: User | None = None, by: User | None = None) -> None:
    """Write one event, in words of our own; the logging set-up adds the time in UTC."""
    words = [event]
    if person is not None:
        words.append(f"person {person.pk}")
    if by is not None:
        words.append(f"by {by.pk}")
    _log.info(" ".join(words))
