"""What a check found, as lines of text: written by the commands, and read again by the rehearsal."""

import re
from collections.abc import Iterable

from filing.health import Result

LINE = re.compile(r"(good|BAD )  (\S+) +(.*)")


def line(result: Result) -> str:
    """One line, such as `good  files     12 files whole.`"""
    return f"{'good' if result.good else 'BAD '}  {result.what:9} {' '.join(result.words.split())}"


def read(lines: Iterable[str]) -> tuple[Result, ...]:
    """The results among these lines; others are passed over."""
    matched = (LINE.fullmatch(one.rstrip("\n")) for one in lines)
    return tuple(Result(found[2], found[1] == "good", found[3]) for found in matched if found)
