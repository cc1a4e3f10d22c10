"""Conditions on each arch and on single numbers of the mouth: crowding, spacing, ANB and the like.  Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from plans.answers import Answer, Lack, all_of, at_least_of, not_told
from plans.facts import CaseFacts
from plans.requirements.lacks import measured_lack
from plans.requirements.limits import Limits, limit_faults, limit_fields
from plans.requirements.measured import held_number
from plans.requirements.requirement import Field, Requirement
from plans.requirements.seen import looked_at
from plans.requirements.words import STAGE_WORDS, STAGES, limits_words, quantity_in_sentence, with_unit
from portfolio import sites
from portfolio.finding_sheet import Sheet
from portfolio.quantities.radiograph import PLANE_LABELS
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import value_words

STAGE = Field("stage", "Stage", "choice", STAGES, default="initial")
MOUTH_NUMBERS = tuple(
    (key, quantity.label)
    for key, quantity in QUANTITIES.items()
    if quantity.kind == "number" and quantity.site.takes("mouth")
)
"""Quantities that are one number for the whole mouth."""


@dataclass(frozen=True)
class Crowding(Requirement):
    """An arch is short of space, or spaced, by at least so many millimetres."""

    kind: ClassVar[str] = "crowding"
    label: ClassVar[str] = "Crowding or spacing"
    about: ClassVar[str] = "Space between the first molars that an arch is short of, or has too much of."
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("sense", "Sense", "choice", (("crowded", "crowded"), ("spaced", "spaced")), default="crowded"),
        STAGE,
        Field(
            "arch",
            "Arch",
            "choice",
            (("upper", "upper"), ("lower", "lower"), ("one", "at least one arch"), ("both", "both arches")),
            default="one",
        ),
        Field("at_least", "By at least", "number", unit="mm", least=Decimal(0), most=Decimal(30)),
    )

    sense: str
    stage: str
    arch: str
    at_least: Decimal

    def sentence(self, notation: str = "iso3950") -> str:
        arch = {"one": "At least one arch is", "both": "Both arches are"}.get(
            self.arch, f"The {self.arch} arch is"
        )
        by = with_unit(self.at_least, "mm")
        return f"{arch} {self.sense} by at least {by} {STAGE_WORDS[self.stage]}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        if sheet is None:
            return not_told(measured_lack("crowding", self.stage))
        arches = (self.arch,) if self.arch in sites.ARCHES else sites.ARCHES
        found = {arch: self._one(sheet, arch) for arch in arches}
        if len(found) == 1:
            return found[arches[0]]
        states = tuple(answer.state for answer in found.values())
        state = all_of(states) if self.arch == "both" else at_least_of(1, states)
        by_margin = sorted(
            (answer for answer in found.values() if answer.margin is not None),
            key=lambda answer: (answer.margin, answer.chance),
            reverse=self.arch == "one",
        )
        deciding = by_margin[0] if by_margin and (state == "met" or len(by_margin) == 2) else None
        return Answer(
            state,
            ", ".join(
                f"{arch} {answer.says if answer.margin is not None else 'not recorded'}"
                for arch, answer in found.items()
            ),
            deciding.margin if deciding else None,
            "mm",
            deciding.margin_sd if deciding else None,
            deciding.chance if deciding else None,
            tuple(lack for answer in found.values() for lack in answer.lacks) if state == "unknown" else (),
        )

    def _one(self, sheet: Sheet, arch: str) -> Answer:
        seen = looked_at(sheet, "crowding", arch)
        number = seen.number
        if number is None:
            return not_told(measured_lack("crowding", self.stage, (arch,)))
        short = number if self.sense == "crowded" else -number
        limits, sd = Limits(self.at_least), seen.sd
        margin = limits.margin(short)
        return Answer(
            limits.state(short),
            value_words("crowding", str(number)),
            margin,
            "mm",
            float(margin) / sd if sd else None,
            limits.chance_by_sd(short, sd),
        )


@dataclass(frozen=True)
class Measure(Requirement):
    """A number of the whole mouth lies between limits: an angle of the lateral radiograph, a midline, a shift."""

    kind: ClassVar[str] = "measure"
    label: ClassVar[str] = "One measurement"
    about: ClassVar[str] = (
        "Any recorded number of the whole mouth, such as ANB, with a least, a most or both."
    )
    group: ClassVar[str] = "occlusion"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("quantity", "Measurement", "choice", MOUTH_NUMBERS),
        STAGE,
        *limit_fields("", -400, 400),
        Field(
            "plane",
            "Mandibular plane",
            "choice",
            tuple(PLANE_LABELS.items()),
            required=False,
            help="For angles to the mandibular plane: planes differ by about 3°, so one to another plane does not count.",
        ),
    )

    quantity: str
    stage: str = "initial"
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    plane: str = ""

    @classmethod
    def faults(cls, values: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        yield from limit_faults(values)
        quantity = QUANTITIES[values["quantity"]]
        if values.get("plane") and not quantity.takes_plane:
            yield "plane", f"{quantity.label} is not measured to the mandibular plane; leave it out"
        for key in ("at_least", "at_most"):
            value = values[key]
            if value is None or quantity.minimum is None or quantity.maximum is None:
                continue
            if not quantity.minimum <= value <= quantity.maximum:
                yield (
                    key,
                    f"{value} is out of range: {quantity.key} takes {quantity.minimum} to {quantity.maximum}",
                )

    def sentence(self, notation: str = "iso3950") -> str:
        name = quantity_in_sentence(self.quantity)
        limits = limits_words(self.at_least, self.at_most, QUANTITIES[self.quantity].unit)
        plane = f" ({PLANE_LABELS[self.plane]})" if self.plane else ""
        return f"{name[:1].upper()}{name[1:]}{plane} {STAGE_WORDS[self.stage]} is {limits}."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        found = looked_at(sheet, self.quantity, "mouth") if sheet else None
        if found is None or (found.finding is not None and found.finding.value == "unknown"):
            return not_told(measured_lack(self.quantity, self.stage))
        if self.plane and found.finding is not None and found.finding.plane != self.plane:
            name = f"{quantity_in_sentence(self.quantity)} ({PLANE_LABELS[self.plane]})"
            says = f"{name} is not recorded {STAGE_WORDS[self.stage]}"
            return not_told(Lack("measurement", self.quantity, self.stage, name, says))
        limits = Limits(self.at_least, self.at_most)
        return held_number(found, limits, self.quantity, self.stage, QUANTITIES[self.quantity].unit)


REQUIREMENTS = (Crowding, Measure)
