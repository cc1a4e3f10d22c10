"""The condition on how lengths were measured: by caliper, by gauge, on scans and so on.  Pure."""

from dataclasses import dataclass
from typing import ClassVar

from plans.answers import Answer, Lack, not_told, told
from plans.facts import CaseFacts
from plans.requirements.requirement import Field, Requirement
from plans.requirements.scores import CAST_MEDIA, INDEX_OPTIONS, index_words
from plans.requirements.words import STAGE_WORDS, STAGES, listed, quantity_in_sentence
from portfolio.finding_sheet import Finding, Sheet
from portfolio.vocabulary import QUANTITIES
from scoring import kernel
from scoring.registry import INDEXES

METHODS: tuple[tuple[str, str], ...] = (
    ("caliper", "caliper"),
    ("gauge", "gauge"),
    ("ruler", "ruler"),
    ("wire", "wire"),
    ("curve", "fitted curve"),
    ("segments", "segments"),
    ("eye", "eye"),
    ("picture", "marks on a picture"),
    ("scan", "marks on a scan"),
    ("computed", "computation from other measurements"),
)
"""Methods by which lengths on casts are found → words after "by"; those of the vocabulary without tracing and notes."""
_WORDS = dict(METHODS)


@dataclass(frozen=True)
class MeasuredBy(Requirement):
    """Every length on casts that an index reads was found by one of the listed methods.

    A length without a recorded method is unknown.  What was seen (codes, statements about regions), angles, and what
    was found on radiographs, with the patient or in notes is not asked about.
    """

    kind: ClassVar[str] = "measured_by"
    label: ClassVar[str] = "How it was measured"
    about: ClassVar[str] = "By which methods the lengths on casts that an index reads were found."
    group: ClassVar[str] = "scores"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("index", "Index", "choice", INDEX_OPTIONS),
        Field("stage", "Stage", "choice", STAGES, default="initial"),
        Field("methods", "Measured by", "choices", METHODS),
    )

    index: str
    stage: str
    methods: tuple[str, ...]

    def sentence(self, notation: str = "iso3950") -> str:
        allowed = listed((_WORDS[key] for key in self.methods), "or")
        return f"The lengths for {index_words(self.index)} {STAGE_WORDS[self.stage]} are found by {allowed} only."

    def evaluate(self, facts: CaseFacts) -> Answer:
        sheet = facts.sheet(self.stage)
        lengths = self._lengths(sheet) if sheet else []
        if not lengths:
            says = f"no length for {index_words(self.index)} is recorded {STAGE_WORDS[self.stage]}"
            return not_told(
                Lack("measurement", self.index, self.stage, f"lengths for {index_words(self.index)}", says)
            )
        others = {
            one.quantity: one.method for one in lengths if one.method and one.method not in self.methods
        }
        if others:
            said = listed(
                f"{quantity_in_sentence(key)} by {_WORDS.get(by, by)}" for key, by in others.items()
            )
            return told(False, said)
        open_ = dict.fromkeys(one.quantity for one in lengths if not one.method)
        if open_:
            named = (f"the method of {quantity_in_sentence(key)}" for key in open_)
            stage = STAGE_WORDS[self.stage]
            return not_told(
                *(
                    Lack("measurement", key, self.stage, name, f"{name} is not recorded {stage}")
                    for key, name in zip(open_, named, strict=True)
                )
            )
        return told(
            True,
            f"by {listed(_WORDS[key] for key in self.methods if key in {one.method for one in lengths})}",
        )

    def _lengths(self, sheet: Sheet) -> list[Finding]:
        """Single lengths on casts that the index reads."""
        read = {ask.quantity for ask in kernel.asks(INDEXES[self.index], sheet)}
        return [
            one
            for one in sheet.findings
            if one.quantity in read
            and QUANTITIES[one.quantity].kind == "number"
            and QUANTITIES[one.quantity].unit == "mm"
            and not one.is_statement
            and one.value != "unknown"
            and (one.medium or sheet.medium) in ("", *CAST_MEDIA)
        ]


REQUIREMENTS = (MeasuredBy,)
