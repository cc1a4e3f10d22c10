"""The readings of one sheet: for every place that a rule reads, what was recorded and what the truth may be.  Pure."""

import math
from collections.abc import Hashable, Iterable
from dataclasses import replace
from decimal import Decimal

from portfolio.code_errors import OVERLOOKED, recorded_by_another, truths
from portfolio.errors import OFFSET_CAUSE, error_of
from portfolio.finding_sheet import Finding, Sheet
from portfolio.vocabulary import QUANTITIES
from scoring.hits import Component, Tally
from scoring.shapes import ZERO
from scoring.uncertainty.model import ErrorModel, Place, Question
from scoring.uncertainty.reading import Law, Reading, Shape

SEEN_AT_ALL = frozenset(
    (
        "contact_offset",
        "gap",
        "posterior_open_bite",
        "functional_shift",
        "alignment_step",
        "ridge_step",
        "inclination_step",
        "facing_gap",
        "occlusal_gap",
        "relation_step",
    )
)
"""Quantities of which `none` and 0 say that nothing was seen, and of which anything recorded was seen."""
ON_A_SIDE = frozenset(("overjet", "overbite"))
"""Quantities whose sign is seen: in front or in reverse, overlapping or open."""
BY_SIGN = frozenset(("midline_offset", "upper_midline_face", "lower_midline_face"))
"""Lengths to either side, which an examiner's common offset does not make longer."""
COUNTED = frozenset(("supernumerary",))
MOST_KEPT, MOST_MODELS = 20_000, 50
_KEPT: dict[Hashable, dict[tuple[Place, Finding], Reading]] = {}


def _kept_readings(errors: ErrorModel, question: Question) -> dict[tuple[Place, Finding], Reading]:
    """Readings of findings that came before under the same errors; several readings of one place are not among them."""
    if len(_KEPT) >= MOST_MODELS:
        _KEPT.clear()
    return _KEPT.setdefault(errors.digestible(question), {})


class Book:
    """Readings by place, made when first asked for; a place of which nothing is recorded has none."""

    def __init__(
        self,
        sheet: Sheet,
        errors: ErrorModel,
        question: Question,
        tallies: Iterable[tuple[Component, Tally]] = (),
    ) -> None:
        self.sheet, self.errors = sheet, errors
        self._factor = math.sqrt(2) if question is Question.ANOTHER_EXAMINER else 1.0
        self._codes = recorded_by_another if question is Question.ANOTHER_EXAMINER else truths
        self._readings: dict[Place, Reading | None] = {}
        self._kept = _kept_readings(errors, question)
        self._tallies = {id(row): (row, tally) for row, tally in tallies}

    def tally(self, row: Component) -> Tally:
        """What a row finds on the sheet, found once."""
        known = self._tallies.get(id(row))
        if known is None:
            known = self._tallies[id(row)] = row, row.tally(self.sheet)
        return known[1]

    def at(self, quantity: str, site: str) -> Reading | None:
        """The reading of a place: what is recorded there, or free by a statement over it."""
        place = (quantity, site)
        if place not in self._readings:
            sheet = self.sheet
            finding = sheet.at(quantity, site) or sheet.statement_over(quantity, site)
            self._readings[place] = None if finding is None else self.reading(place, finding)
        return self._readings[place]

    def of(self, finding: Finding) -> Reading:
        """The reading of a single finding, or of a statement as a whole."""
        place = (finding.quantity, finding.site if finding.nth == 1 else f"{finding.site}#{finding.nth}")
        found = self._readings.get(place)
        if found is None:
            found = self._readings[place] = self.reading(place, finding)
        return found

    def overlooked(self, finding: Finding, code: str) -> Reading:
        """A statement that a state is nowhere in a region: once, with a small chance, it is there as `code`."""
        place = (finding.quantity, finding.site)
        chance = 0.0 if finding.sd and not float(finding.sd) else self._again(OVERLOOKED)
        codes = (("none", 1 - chance), (code, chance)) if chance else (("none", 1.0),)
        found = self._readings[place] = Reading(place, "none", Law("code", codes=codes))
        return found

    def derive(self, reading: Reading) -> Place:
        """Put in a reading that is worked out from others; its place names it from then on."""
        self._readings[reading.place] = reading
        return reading.place

    def known(self, place: Place) -> Reading:
        """The reading of a place that was asked for before; KeyError otherwise."""
        found = self._readings[place]
        if found is None:
            raise KeyError(place)
        return found

    def every(self) -> tuple[Reading, ...]:
        """All readings that were asked for."""
        return tuple(r for r in self._readings.values() if r is not None)

    def _again(self, chance: float) -> float:
        """The chance that a look and another one differ; for the true score that of one look."""
        return chance if self._factor == 1 else 2 * chance * (1 - chance)

    def reading(self, place: Place, finding: Finding) -> Reading:
        """The reading of a finding at a place."""
        if place in self.errors.readings:
            return self._made(place, finding)
        found = self._kept.get((place, finding))
        if found is None:
            if len(self._kept) >= MOST_KEPT:
                self._kept.clear()
            found = self._kept[place, finding] = self._made(place, finding)
        return found

    def _made(self, place: Place, finding: Finding) -> Reading:
        known = QUANTITIES[finding.quantity]
        certain = bool(finding.sd) and not float(finding.sd)
        if known.kind != "number" or finding.value == "unknown" or finding.quantity in COUNTED:
            value = "none" if finding.value == "rest_none" else finding.value
            if finding.quantity == "root_angulation" and value == "none":
                value = "parallel"
            options = self._codes(finding.quantity, value)
            if certain or len(options) == 1:
                return Reading(place, value, Law("code", codes=((value, 1.0),)))
            return Reading(place, value, Law("code", codes=options))
        recorded = ZERO if finding.value in ("none", "rest_none") else Decimal(finding.value)
        return self._number(place, finding, recorded, known.unit, whole=known.whole)

    def _number(
        self, place: Place, finding: Finding, recorded: Decimal, unit: str, *, whole: bool
    ) -> Reading:
        error = error_of(finding, self.errors.own)
        if error.certain:
            return Reading(place, recorded, Law("certain", recorded), error)
        named = tuple((name, part * self._factor) for name, part in error.parts)
        alone = 0.0 if error.parts else error.sd * self._factor
        times = self.errors.readings.get(place, ())
        mean = float(sum(times)) / len(times) if times else float(recorded)
        step = float(self.errors.step or 0) if unit == "mm" and not whole else 0.0
        spread = step > 0 and error.parts == () and not error.given
        law = Law(
            self._shape(finding.quantity, recorded),
            recorded,
            mean,
            alone / math.sqrt(len(times) or 1),
            step if spread else 0.0,
            self._again(self.errors.missed),
        )
        if law.shape in ("none", "at_zero") and not law.sd:
            law = replace(law, sd=error.sd * self._factor)
            named = ()
        shared_mm = (
            unit == "mm" and finding.quantity not in BY_SIGN and law.shape in ("normal", "some", "sided")
        )
        offset = self.errors.offset_mm * self._factor if shared_mm and not whole else 0.0
        return Reading(place, recorded, law, error, offset, named, len(times) or 1, alone)

    def _shape(self, quantity: str, recorded: Decimal) -> Shape:
        if quantity in SEEN_AT_ALL:
            return "some" if recorded > 0 else "none"
        if quantity in ON_A_SIDE:
            return "sided" if recorded else "at_zero"
        return "normal"


def without_unshared(simple: tuple[Reading, ...], wanted: tuple[Reading, ...]) -> dict[Place, Reading]:
    """The wanted readings, with only those causes kept apart that at least two of the simple ones share.

    What nobody shares is a reading's own.  Worked-out readings are made of simple ones.
    """
    counted: dict[str, int] = {}
    for reading in simple:
        for name, _ in reading.shared:
            counted[name] = counted.get(name, 0) + 1
    settled = {reading.place: _settled(reading, counted) for reading in simple}
    found: dict[Place, Reading] = {}
    for reading in wanted:
        if reading.made_of:
            found[reading.place] = replace(
                reading, made_of=tuple(settled[one.place] for one in reading.made_of)
            )
        else:
            found[reading.place] = settled[reading.place]
    return found


def _settled(reading: Reading, counted: dict[str, int]) -> Reading:
    if not reading.shared:
        return reading
    offset, kept, own = reading.offset, [], reading.law.sd**2
    for name, part in reading.shared:
        if name == OFFSET_CAUSE:
            offset = math.copysign(math.hypot(offset, part), part)
        elif counted[name] > 1:
            kept.append((name, part))
        else:
            own += part * part
    law = replace(reading.law, sd=math.sqrt(own))
    return replace(reading, law=law, shared=tuple(kept), offset=offset)
