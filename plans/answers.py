"""What comes of holding a condition against a case: met, not met, unknown, or met under some rule choices only.  Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

State = Literal["met", "not_met", "unknown", "depends"]
LackKind = Literal["measurement", "document", "event", "statement"]

STATE_WORDS: Mapping[State, str] = {
    "met": "met",
    "not_met": "not met",
    "unknown": "unknown",
    "depends": "met under some choices",
}


@dataclass(frozen=True, slots=True)
class Lack:
    """One thing that would have to be recorded before an answer can be given.

    `key` names it for programs (a quantity, a record, an event, a statement), `name` for people; `says` is a clause
    ("ANB is not recorded before treatment").  A radiograph that was not taken is never a lack.
    """

    kind: LackKind
    key: str
    stage: str
    name: str
    says: str


@dataclass(frozen=True, slots=True)
class Part:
    """One condition of a group, as its sentence, with its answer."""

    sentence: str
    answer: "Answer"


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one condition.

    `says` are the values in words.  `margin` is the distance to the limit in `unit`, not below 0 where the condition
    is met; `margin_sd` the same in standard deviations, None where there is none.  `chance` is P(condition holds): of
    a score by its tails under the rule choices in force, of a measured number by its error, of a recorded fact 1 or 0; None
    where it cannot be told.  Of groups both are those of the weakest part (all) or the best one (any).
    `under`: rule choice → state, with "" for the choices in force; empty where no rule choice matters.  `met_under`
    of `of` choices are met.
    """

    state: State
    says: str
    margin: Decimal | None = None
    unit: str = ""
    margin_sd: float | None = None
    chance: float | None = None
    lacks: tuple[Lack, ...] = ()
    under: Mapping[str, State] = field(default_factory=dict)
    parts: tuple[Part, ...] = ()

    @property
    def met(self) -> bool:
        """Whether the condition is met under every choice that it asks about; unknown is never met."""
        return self.state == "met"

    @property
    def met_under(self) -> int | None:
        """Under how many rule choices the condition is met; None where no rule choice matters."""
        return sum(state == "met" for state in self.under.values()) if self.under else None

    @property
    def of(self) -> int | None:
        """How many rule choices there are; None where no rule choice matters."""
        return len(self.under) if self.under else None

    @property
    def words(self) -> str:
        """`met`, `not met`, `unknown: ANB not recorded`, `met under 3 of 4 choices`."""
        if self.state == "depends":
            return f"met under {self.met_under} of {self.of} choices"
        if self.state == "unknown" and self.lacks:
            return f"unknown: {lacking(self.lacks)}"
        return STATE_WORDS[self.state]


def lacking(lacks: Iterable[Lack]) -> str:
    """`ANB, SN-MP not recorded; Start of treatment is not recorded`: measurements together, everything else by its clause."""
    found = tuple(dict.fromkeys(lacks))
    measured = ", ".join(dict.fromkeys(lack.name for lack in found if lack.kind == "measurement"))
    clauses = dict.fromkeys(lack.says for lack in found if lack.kind != "measurement")
    return "; ".join([f"{measured} not recorded"] * bool(measured) + list(clauses))


def settled(under: Mapping[str, State]) -> State:
    """The state over all rule choices: met if met under each; one that is not met decides against the unknown ones."""
    states = set(under.values())
    if states == {"met"}:
        return "met"
    if "not_met" in states:
        return "depends" if "met" in states else "not_met"
    return "unknown"


def all_of(states: Iterable[State]) -> State:
    """Every part has to be met: one that is not decides, then one that is unknown."""
    found = set(states)
    for state in ("not_met", "unknown", "depends"):
        if state in found:
            return state
    return "met"


def at_least_of(wanted: int, states: Sequence[State]) -> State:
    """At least so many parts have to be met; unknown while those that may yet be could make it up."""
    met, unknown = states.count("met"), states.count("unknown")
    if met >= wanted:
        return "met"
    if met + states.count("depends") >= wanted:
        return "depends"
    return "unknown" if met + states.count("depends") + unknown >= wanted else "not_met"


def opposite(state: State) -> State:
    """Not: met and not met change places."""
    return {"met": "not_met", "not_met": "met"}.get(state, state)  # type: ignore[return-value]


def told(met: bool, says: str) -> Answer:
    """The answer from a recorded fact, which is taken as it is: its chance is 1 or 0."""
    return Answer("met" if met else "not_met", says, chance=1.0 if met else 0.0)


def not_told(*lacks: Lack) -> Answer:
    """The answer while something is not recorded."""
    return Answer("unknown", lacking(lacks), lacks=lacks)
