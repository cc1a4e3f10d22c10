"""Rows of ICON that read several findings together: look, room in the upper arch, crossbite anywhere."""

from collections.abc import Iterator
from dataclasses import dataclass

from portfolio import teeth
from portfolio.finding_sheet import Sheet
from scoring.components import REST_LOOKED_AT, amount, standing_teeth, uncovered_regions
from scoring.front_and_sides import say_nothing_of
from scoring.hits import Ask, Hit, Missing, Tally
from scoring.measured_shapes import Bands
from scoring.shapes import ZERO, Choice, Said, plain


@dataclass(frozen=True)
class Look:
    """The grade of the aesthetic scale, which is its own raw score."""

    category: str
    grades: Choice

    def tally(self, sheet: Sheet) -> Tally:
        finding = sheet.at("aesthetic_component", "mouth")
        if finding is None:
            return Tally(missing=[Missing("aesthetic_component", ("mouth",), self.category)])
        grade = plain(finding.number)
        return Tally([Hit("mouth", (finding,), self.grades, grade, self.grades.points(grade))])

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("aesthetic_component", ("mouth",))


@dataclass(frozen=True)
class UpperSpace:
    """Crowding or spacing of the upper arch; any impacted tooth of either arch gives the top score.

    Third molars do not count.  A tooth that has not erupted counts as impacted where its room is under
    4 mm.
    """

    category: str
    space: Bands
    impaction: Choice
    room: Bands
    third_molar: Said
    extra_teeth: Said
    revision: str = "2"

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        crowding = sheet.at("crowding", "upper") or sheet.statement_over("crowding", "upper")
        if crowding is None:
            tally.missing.append(Missing("crowding", ("upper",), self.category))
        else:
            value = amount(crowding)
            tally.hits.append(Hit("upper", (crowding,), self.space, value, self.space.points(value)))
        tally.hits += sorted(self._impactions(sheet), key=lambda h: teeth.nearest_midline_first(h.site))
        best = max(tally.hits, key=lambda h: h.raw, default=None)
        if best is not None and best.raw:
            name = f"{best.findings[0].quantity} {best.site}"
            tally.hits = [h if h is best or not h.raw else h._replace(beaten_by=name) for h in tally.hits]
        for finding in sheet.statements("impacted"):
            tally.hits.append(Hit(finding.site, (finding,), self.impaction, "none", ZERO))
        for finding in sheet.by_quantity.get("supernumerary", {}).values():
            tally.hits.append(Hit(finding.site, (finding,), self.extra_teeth, None, ZERO, counts=False))
        uncovered = uncovered_regions(sheet, "impacted")
        if uncovered:
            tally.missing.append(Missing("impacted", uncovered, self.category))
        return tally

    def _impactions(self, sheet: Sheet) -> Iterator[Hit]:
        for finding in sheet.singles("impacted"):
            tooth = finding.site
            if tooth in teeth.THIRD_MOLARS:
                yield Hit(tooth, (finding,), self.third_molar, None, ZERO, counts=False)
            else:
                points = self.impaction.points(finding.value)
                yield Hit(tooth, (finding,), self.impaction, finding.value, points)
        for finding in sheet.singles("eruption_space"):
            tooth = finding.site
            if tooth in sheet.unerupted and tooth not in teeth.THIRD_MOLARS:
                points = self.room.points(finding.number)
                yield Hit(tooth, (finding,), self.room, finding.number, points, counts=points > 0)

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("crowding", ("upper",))
        yield Ask("impacted", ("mouth",))
        yield Ask("supernumerary", ("mouth",), needed=False)
        buried = teeth.in_order(sheet.unerupted - teeth.THIRD_MOLARS)
        if buried:
            yield Ask("eruption_space", buried, needed=False)


@dataclass(frozen=True)
class AnyCrossbite:
    """One score for any crossbite, cusp to cusp or worse, behind or in front."""

    category: str
    behind: Choice
    front: Bands
    revision: str = "1"

    def tally(self, sheet: Sheet) -> Tally:
        tally = Tally()
        behind = standing_teeth(sheet, teeth.UPPER_BUCCAL)
        front = standing_teeth(sheet, teeth.UPPER_FRONT)
        crossbites, overjets = (sheet.by_quantity.get(q, {}) for q in ("crossbite", "overjet"))
        for finding in (crossbites[t] for t in behind if t in crossbites):
            points = self.behind.points(finding.value)
            tally.hits.append(Hit(finding.site, (finding,), self.behind, finding.value, points))
        for finding in (overjets[t] for t in front if t in overjets):
            points = self.front.points(finding.number)
            tally.hits.append(Hit(finding.site, (finding,), self.front, finding.number, points))
        best = min(
            (h for h in tally.hits if h.raw), key=lambda h: teeth.nearest_midline_first(h.site), default=None
        )
        if best is not None:
            name = f"{best.findings[0].quantity} {best.site}"
            tally.hits = [h if h is best or not h.raw else h._replace(beaten_by=name) for h in tally.hits]
        for finding in sheet.statements("crossbite"):
            tally.hits.append(Hit(finding.site, (finding,), self.behind, "none", ZERO))
        for finding in sheet.statements("overjet"):
            tally.hits.append(Hit(finding.site, (finding,), REST_LOOKED_AT, None, ZERO))
        for quantity, wanted in (("crossbite", behind), ("overjet", front)):
            lacking = say_nothing_of(sheet, quantity, wanted)
            if lacking:
                tally.missing.append(Missing(quantity, lacking, self.category))
        return tally

    def asks(self, sheet: Sheet) -> Iterator[Ask]:
        yield Ask("crossbite", tuple(standing_teeth(sheet, teeth.UPPER_BUCCAL)))
        yield Ask("overjet", tuple(standing_teeth(sheet, teeth.UPPER_FRONT)))
