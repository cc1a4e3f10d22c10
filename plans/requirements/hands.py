"""Conditions on who treated: shares and parts of the candidate, taken over or not, presented before or not.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, all_of, not_told, told
from plans.facts import CaseFacts
from plans.requirements.course import WANTED
from plans.requirements.lacks import event_lack, statement_lack
from plans.requirements.limits import Limits
from plans.requirements.requirement import Field, Requirement
from plans.requirements.words import label_in_sentence, listed, with_unit
from portfolio.events import BY_KEY as EVENT_KINDS
from portfolio.events import CANDIDATE, HANDS, SUPERVISED

PARTS = ("start", "appliances_on", "appliances_off", "end", "retention_start")
"""Events whose hands can be asked for."""


@dataclass(frozen=True)
class TreatedBy(Requirement):
    """The candidate treated the patient for at least so much of the active time, or did the named parts."""

    kind: ClassVar[str] = "treated_by"
    label: ClassVar[str] = "Treated by the candidate"
    about: ClassVar[str] = (
        "The share of active treatment time in the candidate's hands, and parts done by the candidate."
    )
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field(
            "share_at_least",
            "Share, at least",
            "number",
            required=False,
            unit="%",
            least=Decimal(0),
            most=Decimal(100),
        ),
        Field(
            "parts", "Parts", "choices", tuple((key, EVENT_KINDS[key].label) for key in PARTS), required=False
        ),
        Field("supervised", "Under supervision counts", "flag", default=True),
    )

    share_at_least: Decimal | None = None
    parts: tuple[str, ...] = ()
    supervised: bool = True

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        if values["share_at_least"] is None and not values["parts"]:
            yield "share_at_least", "a share or at least one part is required"

    @property
    def _hands(self) -> tuple[str, ...]:
        return (CANDIDATE, SUPERVISED) if self.supervised else (CANDIDATE,)

    def sentence(self, notation: str = "iso3950") -> str:
        said = []
        if self.share_at_least is not None:
            said.append(
                f"treated the patient for at least {with_unit(self.share_at_least, '%')} of the active time"
            )
        if self.parts:
            parts = listed(
                EVENT_KINDS[key].label[:1].lower() + EVENT_KINDS[key].label[1:] for key in self.parts
            )
            said.append(f"did these parts: {parts}")
        alone = "" if self.supervised else ", not under supervision"
        return f"The candidate {listed(said)}{alone}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        answers = [] if self.share_at_least is None else [self._share(facts, self.share_at_least)]
        answers += [self._part(facts, part) for part in self.parts]
        share = answers[0] if self.share_at_least is not None else None
        state = all_of(answer.state for answer in answers)
        return Answer(
            state,
            "; ".join(answer.says for answer in answers),
            share.margin if share else None,
            share.unit if share else "",
            chance=None if state == "unknown" else 1.0 if state == "met" else 0.0,
            lacks=tuple(lack for answer in answers for lack in answer.lacks) if state == "unknown" else (),
        )

    def _share(self, facts: CaseFacts, wanted: Decimal) -> Answer:
        """A share that nobody has stated may still be the candidate's."""
        shares = facts.course.share_percent
        if shares is None:
            return not_told(event_lack("start", "start and end, and who treated"))
        own = sum((shares.get(hand, Decimal(0)) for hand in self._hands), Decimal(0))
        others = sum((shares.get(hand, Decimal(0)) for hand in HANDS if hand not in self._hands), Decimal(0))
        limits = Limits(wanted)
        state = limits.state(own)
        if state == "not_met" and 100 - others >= wanted:
            state = "unknown"
        said = f"{with_unit(own.quantize(Decimal(1)), '%')} of the active time"
        lacks = (event_lack("start", "who treated"),) if state == "unknown" else ()
        return Answer(state, said, limits.margin(own), "%", lacks=lacks)

    def _part(self, facts: CaseFacts, part: str) -> Answer:
        hands = facts.course.hands.get(part, ())
        name = label_in_sentence(EVENT_KINDS[part].label)
        if not hands:
            return not_told(event_lack(part, f"{name}: by whom"))
        who = listed(dict.fromkeys(HANDS[hand] for hand in hands))
        return told(set(hands) <= set(self._hands), f"{name} {who}")


@dataclass(frozen=True)
class NeverPresented(Requirement):
    """The case was never presented to a board before."""

    kind: ClassVar[str] = "never_presented"
    label: ClassVar[str] = "Never presented before"
    about: ClassVar[str] = (
        "That the case was not submitted before, as stated of the case or known from a submission."
    )
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = ()

    def sentence(self, notation: str = "iso3950") -> str:
        return "The case was never presented before."

    def evaluate(self, facts: CaseFacts) -> Answer:
        if facts.presented is None:
            return not_told(statement_lack("presented_before", "whether it was presented before"))
        return told(not facts.presented, "presented before" if facts.presented else "never presented")


@dataclass(frozen=True)
class TakenOver(Requirement):
    """The case was, or was not, taken over from another office."""

    kind: ClassVar[str] = "taken_over"
    label: ClassVar[str] = "Taken over from another office"
    about: ClassVar[str] = "Whether treatment was begun elsewhere and taken over."
    group: ClassVar[str] = "course"
    FIELDS: ClassVar[tuple[Field, ...]] = (WANTED,)

    wanted: bool = True

    def sentence(self, notation: str = "iso3950") -> str:
        return f"The case was {'' if self.wanted else 'not '}taken over from another office."

    def evaluate(self, facts: CaseFacts) -> Answer:
        taken = facts.course.transferred_in
        if taken is None:
            return not_told(event_lack("transfer_in", "the events of treatment"))
        return told(taken is self.wanted, "taken over" if taken else "not taken over")


REQUIREMENTS = (TreatedBy, NeverPresented, TakenOver)
