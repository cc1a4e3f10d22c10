"""Conditions on scores: a total between limits, firmly or not, an outcome, on what casts were measured.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, Lack, State, settled
from plans.facts import CaseFacts, ScoreFact
from plans.requirements.limits import Limits, limit_faults, limit_fields
from plans.requirements.requirement import Field, Requirement
from plans.requirements.words import STAGE_WORDS, STAGES, limits_words, listed, shown
from portfolio.wording import MEDIUM_WORDS
from scoring.registry import INDEXES

WITHOUT_TOTAL = ("tooth_size", "space")
INDEX_OPTIONS = tuple((key, index.label) for key, index in INDEXES.items() if key not in WITHOUT_TOTAL)
OUTCOME_OPTIONS = tuple(
    option for option in INDEX_OPTIONS if option[0] in ("outcome", "par", "icon", "irregularity")
)
LATE_STAGES = tuple(stage for stage in STAGES if stage[0] in ("final", "retention", "post_retention"))
CAST_MEDIA = ("plaster", "printed", "scan", "photograph")
"""What teeth can be measured on; radiographs, the patient and notes stand beside."""
_CALLED = {"iotn": "the dental health component of the index of treatment need"}
FIRMLY = Field(
    "firmly",
    "Under every rule choice",
    "flag",
    default=False,
    help="A published text can be read in more than one way. Firmly: the total meets the limit under every reading.",
)


def index_words(index: str) -> str:
    """`the discrepancy index`, `the ICON score`, `the PAR score`."""
    if index in _CALLED:
        return _CALLED[index]
    label = INDEXES[index].label
    return f"the {label} score" if label.isupper() else f"the {label[:1].lower()}{label[1:]}"


def unit_of(index: str) -> str:
    """What a total is counted in: points, mm, grade."""
    return INDEXES[index].counted_in


@dataclass(frozen=True)
class IndexTotal(Requirement):
    """The total of an index at a stage lies between limits.

    Incomplete totals are floors.  The margin is in the unit of the index, under `firmly` the smallest of all
    choices; the chance is that of the choices in force.
    """

    kind: ClassVar[str] = "index"
    label: ClassVar[str] = "Score of an index"
    about: ClassVar[str] = "The total of a published index at a stage, with a least, a most or both."
    group: ClassVar[str] = "scores"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("index", "Index", "choice", INDEX_OPTIONS),
        Field("stage", "Stage", "choice", STAGES, default="initial"),
        *limit_fields("", 0, 1000),
        FIRMLY,
        Field(
            "edition",
            "Edition",
            "text",
            required=False,
            help="Only where the instructions name one; a score by another edition then counts as unknown.",
        ),
    )

    index: str
    stage: str = "initial"
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    firmly: bool = False
    edition: str = ""

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        yield from limit_faults(values)
        edition = values.get("edition")
        known = INDEXES[values["index"]].editions
        if edition and edition not in known and not edition.startswith("site:"):
            yield "edition", f'"{edition[:40]}" is no edition of this index; allowed: {", ".join(known)}'

    @property
    def limits(self) -> Limits:
        return Limits(self.at_least, self.at_most)

    def sentence(self, notation: str = "iso3950") -> str:
        firm = ", under every rule choice" if self.firmly else ""
        by = f", by its edition {INDEXES[self.index].edition_words(self.edition)}" if self.edition else ""
        said = index_words(self.index)
        unit = unit_of(self.index)
        limits = limits_words(self.at_least, self.at_most, unit if unit in ("mm", "grade") else "")
        return f"{said[:1].upper()}{said[1:]} {STAGE_WORDS[self.stage]} is {limits}{by}{firm}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        score = facts.score(self.index, self.stage)
        if score is None:
            return self._unknown(
                f"{index_words(self.index)} is not scored {STAGE_WORDS[self.stage]}", "score"
            )
        if self.edition and score.edition != self.edition:
            words = INDEXES[self.index].edition_words
            return self._unknown(
                f"scored by the edition {words(score.edition)}, asked for by {words(self.edition)}", "edition"
            )
        if self.firmly and score.under is None:
            return self._unknown("totals under the other rule choices are not worked out", "choices")
        return self._held(score)

    def _held(self, score: ScoreFact) -> Answer:
        totals = {"": score.total}
        if self.firmly:
            totals |= {choice: total for choice, total in (score.under or {}).items() if choice}
        states = {
            choice: self.limits.state(total, floor=_is_floor(score, choice))
            for choice, total in totals.items()
        }
        state = settled(states)
        under = {f"{self.index}.{choice}" if choice else "": one for choice, one in states.items()}
        margin = self._margin(tuple(totals.values())) if state != "unknown" else None
        return Answer(
            state,
            self._says(score, totals),
            margin,
            unit_of(self.index),
            float(margin) / score.sd if margin is not None and score.sd else None,
            self._chance(score, states[""]),
            self._lacks(score) if state == "unknown" else (),
            under if len(under) > 1 else {},
        )

    def _margin(self, totals: tuple[Decimal | None, ...]) -> Decimal | None:
        told = [self.limits.margin(total) for total in totals if total is not None]
        return min(told) if len(told) == len(totals) else None

    def _chance(self, score: ScoreFact, in_force: State) -> float | None:
        """An incomplete score's tails are those of a floor: they bound a least from below and tell nothing of a most."""
        if score.tails is None or score.total is None:
            return None
        if not score.complete and (self.at_most is not None or in_force != "met"):
            return 0.0 if in_force == "not_met" else None
        return self.limits.chance_by_tails(score.tails)

    def _says(self, score: ScoreFact, totals: Mapping[str, Decimal | None]) -> str:
        """`24; 22 under open_bite_start=edge_point_plus`: totals that differ from the one in force are named."""
        said = [_total(score, score.total)]
        said += [
            f"{_total(score, total, choice)} under {choice}"
            for choice, total in totals.items()
            if choice and (total != score.total or choice in score.under_missing)
        ]
        if not score.complete and score.missing:
            said.append(f"not recorded: {', '.join(score.missing)}")
        return "; ".join(said)

    def _lacks(self, score: ScoreFact) -> tuple[Lack, ...]:
        stage = STAGE_WORDS[self.stage]
        of_choices = (name for names in score.under_missing.values() for name in names)
        missing = tuple(dict.fromkeys((*score.missing, *(of_choices if self.firmly else ()))))
        if not missing:
            name = index_words(self.index)
            return (Lack("measurement", self.index, self.stage, name, f"{name} is incomplete {stage}"),)
        return tuple(
            Lack("measurement", name, self.stage, name, f"{name} not recorded {stage}") for name in missing
        )

    def _unknown(self, says: str, what: str) -> Answer:
        kind = "measurement" if what == "score" else "statement"
        lack = Lack(kind, self.index, self.stage, index_words(self.index), says)  # type: ignore[arg-type]
        return Answer("unknown", says, unit=unit_of(self.index), lacks=(lack,))


def _is_floor(score: ScoreFact, choice: str) -> bool:
    """Whether a reading lacks a finding, so that its total may still rise."""
    return not score.complete or choice in score.under_missing


def _total(score: ScoreFact, total: Decimal | None, choice: str = "") -> str:
    if total is None:
        return "no total"
    return f"at least {shown(total)}" if _is_floor(score, choice) else shown(total)


@dataclass(frozen=True)
class OutcomeTotal(IndexTotal):
    """The outcome of treatment, scored on late records, is at most so much."""

    kind: ClassVar[str] = "outcome"
    label: ClassVar[str] = "Outcome at most"
    about: ClassVar[str] = "An index of the result on the records after treatment; fewer points are better."
    group: ClassVar[str] = "scores"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("index", "Index", "choice", OUTCOME_OPTIONS, default="outcome"),
        Field("stage", "Stage", "choice", LATE_STAGES, default="final"),
        Field("at_most", "At most", "number", least=Decimal(0), most=Decimal(1000)),
        FIRMLY,
        *(field for field in IndexTotal.FIELDS if field.key == "edition"),
    )

    index: str = "outcome"
    stage: str = "final"

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        yield from super().faults({"at_least": None, **values})


@dataclass(frozen=True)
class MeasuredOn(Requirement):
    """The casts behind a score were measured on one of the listed media.

    Findings from radiographs, the patient and notes stand beside and are not asked about.
    """

    kind: ClassVar[str] = "measured_on"
    label: ClassVar[str] = "What was measured"
    about: ClassVar[str] = (
        "On which kind of casts, or pictures of them, the measurements of a score were made."
    )
    group: ClassVar[str] = "scores"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("index", "Index", "choice", INDEX_OPTIONS),
        Field("stage", "Stage", "choice", STAGES, default="initial"),
        Field("media", "Measured on", "choices", tuple((key, MEDIUM_WORDS[key]) for key in CAST_MEDIA)),
    )

    index: str
    stage: str
    media: tuple[str, ...]

    def sentence(self, notation: str = "iso3950") -> str:
        allowed = listed((MEDIUM_WORDS[key] for key in self.media), "or")
        return f"The measurements for {index_words(self.index)} {STAGE_WORDS[self.stage]} are made on {allowed} only."

    def evaluate(self, facts: CaseFacts) -> Answer:
        score = facts.score(self.index, self.stage)
        used = tuple(key for key in CAST_MEDIA if score and key in score.media)
        if not used:
            says = f"what was measured {STAGE_WORDS[self.stage]} is not recorded"
            lack = Lack("measurement", "medium", self.stage, "the medium", says)
            return Answer("unknown", says, lacks=(lack,))
        says = f"measured on {listed(MEDIUM_WORDS[key] for key in used)}"
        met = set(used) <= set(self.media)
        return Answer("met" if met else "not_met", says, chance=1.0 if met else 0.0)


REQUIREMENTS = (IndexTotal, OutcomeTotal, MeasuredOn)
