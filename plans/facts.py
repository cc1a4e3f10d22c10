"""What is known of a case when it is held against a plan.  Pure.

"Not stated" is told apart from "no" everywhere: None, or an absent key, means that nobody has said.  Selectors
translate rows into these; nothing here reads a clock, so days are held against each other only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

from portfolio.finding_sheet import Sheet

RecordState = Literal["present", "not_taken", "not_filed"]


@dataclass(frozen=True, slots=True)
class RecordFact:
    """What became of one record: filed here, not taken (with a reason), or taken and not filed here."""

    state: RecordState
    reason: str = ""


@dataclass(frozen=True, slots=True)
class StageFacts:
    """The records of one stage.

    `taken_on` is private and may be unknown; `age_months` are completed months.  `sheet` is the sheet of record
    (or the working sheet), None where nothing was measured.  `records` are keyed as `plans.record_names` lists
    them; a record that is not a key has not been spoken of.  Of several interim stages the newest counts.
    """

    stage: str
    taken_on: date | None = None
    age_months: int | None = None
    dentition: str = ""
    sheet: Sheet | None = None
    records: Mapping[str, RecordFact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CourseFacts:
    """The course of treatment, as its events tell it.

    `days`: event (a key of `plans.moments`) → its day; private.  `extracted`: permanent and primary teeth, ISO 3950,
    taken out as part of treatment; an empty set says that none was, None that nothing is stated.
    `active_months` are completed months of active treatment, breaks taken off, of all phases; `phase_months`
    the same by phase number.  `phases` is None where no phase is stated.  `share_percent`: whose hands (keys of
    `portfolio.events.HANDS`, "" not stated) → share of the active time, 0 to 100; None before there is any.
    `hands`: kind of event → who did it, each time it was stated.  `appliances` are keys of
    `portfolio.events.APPLIANCES`; `surgery`: an operation on the jaws.
    """

    days: Mapping[str, date] = field(default_factory=dict)
    phases: int | None = None
    active_months: int | None = None
    phase_months: Mapping[int, int] = field(default_factory=dict)
    extracted: frozenset[str] | None = None
    surgery: bool | None = None
    appliances: frozenset[str] | None = None
    share_percent: Mapping[str, Decimal] | None = None
    hands: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    transferred_in: bool | None = None
    transferred_out: bool | None = None

    @property
    def over(self) -> bool:
        """Whether active treatment has ended, so that what has not happened will not."""
        return "end" in self.days


@dataclass(frozen=True, slots=True)
class ScoreFact:
    """The score of one stage by one index.

    `total` is a floor while `complete` is false; `missing` are words for what is not recorded.  `under`: rule choice
    `id=value`, one changed at a time, → total (None: not to be told); empty for an index without other choices, None
    where nobody worked them out, so that nothing firm can be said.  `under_missing`: of these the ones that read what is
    not recorded, → words for it; their totals are floors.  The total in force is `total`; an entry under ""
    is passed over.  `media`: what the casts and pictures that were measured were made of.
    `tails`: value n → P(true total ≥ n), for every value that the total can have, in rising steps (a gap between two
    values holds no chance); None where it cannot be told.  `sd` in the unit of the total.
    """

    index: str
    stage: str
    edition: str
    total: Decimal | None
    complete: bool
    missing: tuple[str, ...] = ()
    under: Mapping[str, Decimal | None] | None = None
    under_missing: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    media: tuple[str, ...] = ()
    tails: Mapping[int, float] | Mapping[Decimal, float] | None = None
    sd: float | None = None


@dataclass(frozen=True, slots=True)
class CaseFacts:
    """Everything a plan may ask about one case.

    `case` and `patient` are codes.  `stages` by key (`initial`, `interim`, `final`, `retention`, `post_retention`).
    `scores` by (index, stage).  `presented`: whether the case was submitted before.  `statements`: what the owner has
    said of the case (`asymmetry`, `surgical_plan`); an absent key is not stated.  `submission_on` is the day by which
    windows up to the submission are counted.  `notation` is the one in which answers name teeth.
    """

    case: str
    patient: str
    stages: Mapping[str, StageFacts] = field(default_factory=dict)
    course: CourseFacts = field(default_factory=CourseFacts)
    scores: Mapping[tuple[str, str], ScoreFact] = field(default_factory=dict)
    presented: bool | None = None
    statements: Mapping[str, bool] = field(default_factory=dict)
    submission_on: date | None = None
    notation: str = "iso3950"

    def sheet(self, stage: str) -> Sheet | None:
        """The sheet of a stage, None where there is none."""
        known = self.stages.get(stage)
        return known.sheet if known else None

    def score(self, index: str, stage: str) -> ScoreFact | None:
        """The score of a stage, None where there is none."""
        return self.scores.get((index, stage))
