"""How a request to save a step is answered.  Pure."""

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Saved:
    """Written, or written before by the same request, or nothing differed."""

    version: int


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with the thing of this name, or with the whole where `name` is empty."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Refused:
    """Nothing written."""

    faults: tuple[Fault, ...]


Answer: TypeAlias = Saved | Refused
