"""What the demo is told of a portfolio and of a case."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from demo.scenario.treatments import Treatment
from portfolio.readings import Sheet


@dataclass(frozen=True, slots=True)
class DemoCase:
    """An invented case: sheets of its stages in order of time, and values typed one by one before them.

    `typed` is quantity, site and the text as typed, on the sheet of the first stage.
    """

    note: str
    locator: str
    sex: str
    signer: str
    signed_on: date
    sheets: tuple[Sheet, ...]
    faces: bool = False
    typed: tuple[tuple[str, str, str], ...] = ()
    state: str = "possible"
    treatment: Treatment = field(default_factory=Treatment)


@dataclass(frozen=True, slots=True)
class DemoPortfolio:
    """A portfolio of the candidate, its cases, and stage → indices that its records are measured for."""

    name: str
    cases: tuple[DemoCase, ...]
    indices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
