"""What every condition of a plan is: a frozen value with a sentence, an evaluation, and fields for the editor.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar, Literal

from plans.answers import Answer
from plans.facts import CaseFacts
from scoring.shapes import plain

Takes = Literal[
    "choice", "choices", "number", "whole", "months", "flag", "teeth", "text", "condition", "conditions"
]


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a condition, as the plan file and the editor know it.

    takes: `choice` one of `options`, `choices` several of them, `number` decimal text (`"20"`), `whole` and `months`
    whole numbers, `flag` true or false, `teeth` ISO 3950 texts, `text` one line, `condition` and `conditions` other
    conditions.  `options` are pairs of key and words.  A field that is not `required` may be left out.
    """

    key: str
    label: str
    takes: Takes
    options: tuple[tuple[str, str], ...] = ()
    required: bool = True
    default: Any = None
    unit: str = ""
    least: Decimal | None = None
    most: Decimal | None = None
    help: str = ""

    @property
    def words(self) -> Mapping[str, str]:
        """Key → words of the options."""
        return dict(self.options)


class Requirement:
    """One condition.  Subclasses are frozen dataclasses whose attributes are the keys of FIELDS, one to one.

    `kind` stands in the plan file, `label` and `about` in the editor.  Two conditions of the same values are equal.
    """

    kind: ClassVar[str]
    label: ClassVar[str]
    about: ClassVar[str] = ""
    group: ClassVar[str] = ""
    FIELDS: ClassVar[tuple[Field, ...]]

    def sentence(self, notation: str = "iso3950") -> str:
        """The condition as a board would print it, with a full stop; teeth are named in the notation."""
        raise NotImplementedError

    def evaluate(self, facts: CaseFacts) -> Answer:
        """The condition held against a case.  Never raises for facts that are absent: that is `unknown`."""
        raise NotImplementedError

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        """What several fields say against each other: pairs of a field's key and a message."""
        yield from ()

    @property
    def inner(self) -> tuple["Requirement", ...]:
        """The conditions that this one holds together; none for a single condition."""
        return ()

    def as_json(self) -> dict[str, Any]:
        """The canonical form: kind and every field that has a value; `requirements.read` gives an equal one back."""
        written: dict[str, Any] = {"kind": self.kind}
        for field in self.FIELDS:
            value = _written(field, getattr(self, field.key))
            if value is not None:
                written[field.key] = value
        return written


def _written(field: Field, value: Any) -> Any:
    if value is None or value in ((), ""):
        return None
    match field.takes:
        case "number":
            return plain(value)
        case "choices" | "teeth":
            return list(value)
        case "condition":
            return value.as_json()
        case "conditions":
            return [one.as_json() for one in value]
    return value


def walk(requirement: Requirement) -> Iterator[Requirement]:
    """A condition and every one inside it, outermost first."""
    yield requirement
    for one in requirement.inner:
        yield from walk(one)


def clause(requirement: Requirement, notation: str) -> str:
    """A sentence inside another; what holds conditions itself stands in brackets."""
    said = requirement.sentence(notation).removesuffix(".")
    if not said[1:2].isupper():
        said = said[:1].lower() + said[1:]
    return f"({said})" if len(requirement.inner) > 1 else said
