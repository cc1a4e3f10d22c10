"""The change of any index between two stages of one case, by total and by row of the form."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from portfolio.sources import cite
from portfolio.wording import medium_words
from scoring.compare.icon_change import NEED_OVER, icon_change
from scoring.compare.icon_change import SOURCE as ICON_SOURCE
from scoring.compare.par_change import SOURCE as PAR_SOURCE
from scoring.compare.par_change import WEIGHTS_OF_VERDICTS, par_change
from scoring.index import Index
from scoring.result import Json, Verdict
from scoring.shapes import plain
from scoring.step_words import minus

TENTH = Decimal("0.1")
"""Per cent are told to this, on every page alike."""


@dataclass(frozen=True, slots=True)
class Side:
    """One stage's score as far as a comparison reads it; `medium` is what the casts were measured on."""

    stage: str
    total: Decimal | None
    complete: bool
    edition: str
    categories: Mapping[str, Decimal | None] = field(default_factory=dict)
    extra: Mapping[str, Json] = field(default_factory=dict)
    medium: str = ""
    outside: str = ""

    @property
    def grade(self) -> str:
        """The grade where one stands for the total."""
        found = self.extra.get("grade")
        return found if isinstance(found, str) else ""

    @property
    def firm(self) -> Decimal | None:
        """The total where it is complete; None where it is a floor or there is none."""
        return self.total if self.complete else None


@dataclass(frozen=True, slots=True)
class RowChange:
    """One row of the form; `difference` is after less before, None where a side is not recorded."""

    key: str
    label: str
    before: Decimal | None
    after: Decimal | None

    @property
    def difference(self) -> Decimal | None:
        return None if self.before is None or self.after is None else self.after - self.before


@dataclass(frozen=True, slots=True)
class Change:
    """One index before and after.  `after` is None where only one stage has a score, and the other way round."""

    index: str
    label: str
    before: Side | None
    after: Side | None
    rows: tuple[RowChange, ...]
    verdicts: tuple[Verdict, ...]
    cautions: tuple[str, ...]

    @property
    def difference(self) -> Decimal | None:
        """After less before, so less is better; None unless both totals are complete and read alike."""
        if self.before is None or self.after is None or self.before.edition != self.after.edition:
            return None
        if self.before.firm is None or self.after.firm is None:
            return None
        return self.after.firm - self.before.firm


def change(index: Index, before: Side | None, after: Side | None) -> Change:
    """The comparison of two sides by one index, with published verdicts and what speaks against comparing."""
    return Change(
        index=index.key,
        label=index.label,
        before=before,
        after=after,
        rows=tuple(
            RowChange(
                key,
                label,
                before.categories.get(key) if before else None,
                after.categories.get(key) if after else None,
            )
            for key, label in index.categories.items()
        ),
        verdicts=tuple(_verdicts(index, before, after)),
        cautions=tuple(_cautions(index, before, after)),
    )


def _verdicts(index: Index, before: Side | None, after: Side | None) -> Iterator[Verdict]:
    if before is None or after is None or before.firm is None or after.firm is None:
        return
    if index.key == "par" and before.edition == after.edition == WEIGHTS_OF_VERDICTS:
        yield from _par(before.firm, after.firm)
    if index.key == "icon":
        yield from _icon(before.firm, after.firm)


def _par(before: Decimal, after: Decimal) -> Iterator[Verdict]:
    found = par_change(before, after)
    share = "" if found.percent is None else f", {plain(found.percent.quantize(TENTH, ROUND_HALF_UP))} %"
    yield Verdict("improvement", f"{found.words} ({plain(found.points)} points less{share})", PAR_SOURCE)
    if not found.can_be_greatly_improved:
        yield Verdict(
            "cannot_reach", "began under 22 points, so it cannot reach “greatly improved”", PAR_SOURCE
        )


def _icon(before: Decimal, after: Decimal) -> Iterator[Verdict]:
    found = icon_change(before, after)
    need = "over" if found.needed else "not over"
    yield Verdict(
        "need",
        f"before: {need} {plain(NEED_OVER)}, {_no(found.needed)}need for treatment",
        cite("icon_need_2015"),
    )
    yield Verdict("complexity", f"before: {found.complexity} (from memory)", ICON_SOURCE)
    yield Verdict(
        "outcome", f"after: {'' if found.acceptable else 'not '}acceptable (from memory)", ICON_SOURCE
    )
    yield Verdict(
        "improvement",
        f"{found.improvement}: {plain(before)} less 4 × {plain(after)} is {minus(plain(found.score))} (from memory)",
        ICON_SOURCE,
    )


def _no(needed: bool) -> str:
    return "" if needed else "no "


def _cautions(index: Index, before: Side | None, after: Side | None) -> Iterator[str]:
    for side in (before, after):
        if side is not None and side.outside:
            yield f"{side.stage}: {side.outside}"
        if side is not None and not side.complete:
            floor = side.total is not None
            told = "the total is at least what stands here" if floor else "it cannot be told whole"
            yield f"{side.stage}: findings are missing, so {told}"
    if before is None or after is None:
        return
    if before.edition != after.edition:
        yield (
            f"read by different editions ({index.edition_words(before.edition)}; "
            f"{index.edition_words(after.edition)}): not compared"
        )
    if before.medium and after.medium and before.medium != after.medium:
        media = f"{medium_words(before.medium)} before, {medium_words(after.medium)} after"
        yield f"measured on different media ({media}): part of the change may come from the method"
    if index.key == "par" and WEIGHTS_OF_VERDICTS not in (before.edition, after.edition):
        yield "the published verdicts on change hold for the weights of 1992 only"
