"""The bench sheet: the same quantities in the same order, on two pages with boxes to write in."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from desk.measuring.layout import ALWAYS_ASKED, TOOTH_QUANTITIES
from desk.measuring.page import Group, Measured, make_rows, on_sheet, scores_of
from desk.measuring.rows import OnSheet
from portfolio import readings, teeth
from portfolio.quantity import Quantity
from portfolio.vocabulary import QUANTITIES
from scoring import presets, registry

MOLAR = "molar_relation"
CONDITIONAL = {"molar_beyond": ("right", "left"), "molar_substitute": ("right", "left")}
ROOM_MM = 218
"""Height for groups on one page of A4 or Letter, without its head and its cautions."""
HEADING_MM, STATE_MM, ROW_MM = 5, 8, 12
HEIGHTS_MM = {
    "contact_offset": 24,
    "relation_step": 22,
    "ridge_step": 24,
    "posterior_open_bite": 16,
    "crossbite": 20,
    "molar_relation": 19,
    "molar_substitute": 16,
    "buccal_interdigitation": 20,
    "gap": 32,
    "gap_plan": 24,
    "tooth_width": 32,
    "arch_segment": 20,
    "arch_available": 16,
    "support_zone": 16,
    "alignment_step": 32,
    "inclination_step": 32,
    "occlusal_gap": 32,
    "relation_target": 16,
    "facing_gap": 16,
    "sn_mp": 16,
    "impa": 16,
    "root_angulation": 36,
}
"""Height of a row where it is more than `ROW_MM`, as printed."""


@dataclass(frozen=True, slots=True)
class BenchState:
    """A state of single teeth with a line to write the teeth on; `words` are what to add to a tooth."""

    key: str
    label: str
    words: tuple[str, ...]
    drawing: str
    takes_free: bool


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """Its pages, two for most sets of indices; `code` is the case's, empty on a blank sheet."""

    code: str
    stage: str
    indices: str
    pages: tuple[tuple[Group, ...], ...]
    states: tuple[BenchState, ...]


def bench_sheet(measured: Measured, code: str, stage: str) -> BenchSheet:
    """The sheet of a case: missing and unerupted teeth are left out, no recorded value is printed."""
    return _sheet(measured, code, stage)


def blank_bench_sheet(notation: str, preset: str = "") -> BenchSheet:
    """A sheet for any permanent dentition, with third molars; for a set of indices or the usual ones."""
    everything = tuple(t for arch in ("upper", "lower") for t in _round(arch))
    stage = "final" if preset == "outcome" else "initial"
    sheet = readings.Sheet(stage=stage, dentition="permanent", teeth=everything)
    indices = presets.preset(preset, sheet) if preset else presets.usual(sheet)
    empty = Measured(sheet=sheet, stored={}, notation=notation, indices=indices, choices={})
    return _sheet(empty, "", "")


def _round(arch: str) -> tuple[str, ...]:
    return teeth.UPPER_ROUND if arch == "upper" else teeth.LOWER_ROUND


def _sheet(measured: Measured, code: str, stage: str) -> BenchSheet:
    on = on_sheet(measured, scores_of(measured))
    unwritten = replace(on, stored={}, asked={**on.asked, **_conditional(on)})
    groups = tuple(replace(g, rows=tuple(r for r in g.rows if not r.away)) for g in make_rows(unwritten))
    states = tuple(
        _state(QUANTITIES[key]) for key in TOOTH_QUANTITIES if key in ALWAYS_ASKED or on.reads(key)
    )
    return BenchSheet(
        code=code,
        stage=stage,
        indices=", ".join(registry.index(key).label for key in measured.indices),
        pages=_pages([g for g in groups if g.rows or g.key == "teeth"], len(states)),
        states=states,
    )


def _pages(groups: Sequence[Group], states: int) -> tuple[tuple[Group, ...], ...]:
    """Groups in their order, as many on a page as it holds."""
    pages: list[list[Group]] = []
    left = 0
    for group in groups:
        rows = sum(HEIGHTS_MM.get(row.key, ROW_MM) for row in group.rows)
        height = HEADING_MM + rows + (states * STATE_MM if group.key == "teeth" else 0)
        if height > left:
            pages.append([])
            left = ROOM_MM
        pages[-1].append(group)
        left -= height
    return tuple(tuple(page) for page in pages)


def _conditional(on: OnSheet) -> dict[str, tuple[str, ...]]:
    """What is asked only after something else was seen; on paper there is a box for it from the start."""
    return {key: places for key, places in CONDITIONAL.items() if on.reads(key) or on.reads(MOLAR)}


def _state(quantity: Quantity) -> BenchState:
    words = [quantity.code_labels.get(c, c) for c in quantity.allowed_words() if c != "yes"]
    return BenchState(
        key=quantity.key,
        label=quantity.label,
        words=tuple(dict.fromkeys(words)) if quantity.kind == "code" else ("how many",),
        drawing=f"drawings/{quantity.key}.svg",
        takes_free=quantity.takes_region("mouth", "none"),
    )
