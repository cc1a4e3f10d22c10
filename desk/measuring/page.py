"""The measuring page put together: groups of rows, the teeth, the score, and the state sent after each save."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from desk.measuring.fields import Option, Place, Shown, Stored, field_id
from desk.measuring.hinted import ShownHint, show_hints
from desk.measuring.layout import BESIDE_VALUES, GROUPS, WHOLE_MOUTH
from desk.measuring.live import Live, make_live
from desk.measuring.mouth import Mouth, make_mouth, tooth_values, words_by_tooth
from desk.measuring.rows import Offer, OnSheet, Row, make_row, statements
from portfolio import readings
from portfolio.vocabulary import QUANTITIES
from scoring import registry
from scoring.result import Score

STEP_MM = Decimal("0.1")
"""Crowding recorded this near to the space analysis says the same."""
FieldState = dict[str, str | int]
"""What a field holds, as plain JSON; what is empty is left out."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A sheet as read for the page: its findings with their change numbers, and how its owner reads them."""

    sheet: readings.Sheet
    stored: Mapping[Place, Stored]
    notation: str
    indices: tuple[str, ...]
    """Indices that the records are measured for."""
    choices: Mapping[str, Mapping[str, str]]
    """Index → its rule choices in force."""
    editions: Mapping[str, str | None] = field(default_factory=dict)

    @property
    def plane(self) -> str:
        """The mandibular plane that the discrepancy index reads, offered first."""
        return self.choices.get("discrepancy", {}).get("mandibular_plane", "go_me")


@dataclass(frozen=True, slots=True)
class Group:
    """Rows taken in one position of the casts; the group of single teeth has no rows of this kind."""

    key: str
    title: str
    rows: tuple[Row, ...]

    @property
    def away(self) -> bool:
        """Whether nothing of it is asked."""
        return bool(self.rows) and all(row.away for row in self.rows)


@dataclass(frozen=True, slots=True)
class Page:
    """All the measuring page shows of the findings."""

    groups: tuple[Group, ...]
    mouth: Mouth
    lives: tuple[Live, ...]
    hints: tuple[ShownHint, ...]
    tooth_fields: Mapping[str, FieldState]
    """States of the teeth by field, for the forms that the page makes of a tooth."""


Scores = Mapping[str, Score]
"""Index → score of the sheet as it stands, with its lines."""


def scores_of(measured: Measured) -> Scores:
    """The scores by all the indices chosen."""
    return {
        key: registry.score(
            key, measured.sheet, measured.editions.get(key), measured.choices.get(key), detail="lines"
        )
        for key in measured.indices
    }


def on_sheet(measured: Measured, scores: Scores) -> OnSheet:
    """What the rows are made from; what a score lacks is asked besides what is asked on every sheet."""
    asks = registry.needs(measured.indices, measured.sheet, measured.choices, measured.editions)
    asked = {ask.quantity: ask.sites for ask in asks if ask.needed}
    for score in scores.values():
        for missing in score.missing:
            known = asked.get(missing.quantity, ())
            asked[missing.quantity] = tuple(dict.fromkeys((*known, *missing.sites)))
    return OnSheet(
        sheet=measured.sheet,
        stored=measured.stored,
        asked=asked,
        notation=measured.notation,
        plane=measured.plane,
        offered={ask.quantity: ask.sites for ask in asks if not ask.needed},
        offers={"crowding": tuple(_crowding_by_space(measured.sheet, scores))},
    )


def _crowding_by_space(sheet: readings.Sheet, scores: Scores) -> Iterator[Offer]:
    """What the space analysis of each arch comes to, where the crowding recorded is not the same."""
    if "space" not in scores:
        return
    for arch in ("upper", "lower"):
        found = scores["space"].extra.get(arch)
        short = found.get("discrepancy") if isinstance(found, Mapping) else None
        if not isinstance(short, str):
            continue
        bare, is_short = short.removeprefix("-"), short.startswith("-")
        recorded = sheet.at("crowding", arch)
        number = None if recorded is None or recorded.is_statement else recorded.number
        if number is not None and abs(number + Decimal(short)) < STEP_MM:
            continue
        words = f"{arch} {'short by ' + bare + ' mm' if is_short else bare + ' mm to spare'}"
        yield Offer(field_id("crowding", arch), bare, "+" if is_short else "-", words)


def make_rows(on: OnSheet) -> tuple[Group, ...]:
    """The groups in the order round the casts."""
    return tuple(Group(g.key, g.title, tuple(make_row(plan, on) for plan in g.plans)) for g in GROUPS)


def make_page(measured: Measured) -> Page:
    """The whole page of a sheet."""
    scores = scores_of(measured)
    on = on_sheet(measured, scores)
    return Page(
        groups=make_rows(on),
        mouth=make_mouth(on),
        lives=lives_of(measured, scores),
        hints=hints_of(measured),
        tooth_fields=_tooth_fields(on),
    )


def hints_of(measured: Measured) -> tuple[ShownHint, ...]:
    """What deserves a second look on the sheet as it stands."""
    return show_hints(measured.sheet, measured.notation)


def lives_of(
    measured: Measured, scores: Scores, fresh: Collection[tuple[str, str]] = (), *, supposed: bool = False
) -> tuple[Live, ...]:
    """The scores in words, lines of the fresh findings first."""
    return tuple(
        make_live(registry.index(key), score, measured.notation, fresh, supposed=supposed)
        for key, score in scores.items()
    )


@dataclass(frozen=True, slots=True)
class Changes:
    """What the page must show after a save: every field that holds something, statements, rows that differ."""

    fields: Mapping[str, FieldState]
    statements: Mapping[str, list[FieldState]]
    teeth: Mapping[str, str]
    rows: tuple[Row, ...]
    lives: tuple[Live, ...]
    hints: tuple[ShownHint, ...]


def make_changes(
    measured: Measured,
    known_layouts: Mapping[str, str],
    fresh: Collection[tuple[str, str]] = (),
    *,
    supposed: bool = False,
) -> Changes:
    """The state of all fields and the score, and the rows whose fields are others than those the page knows."""
    scores = scores_of(measured)
    on = on_sheet(measured, scores)
    rows = [row for group in make_rows(on) for row in group.rows]
    fields = {f.id: _plain(f.shown) for row in rows for f in row.fields if f.shown != Shown()}
    stated = {place[0] for place, stored in measured.stored.items() if stored.finding.is_statement}
    return Changes(
        fields=fields | _tooth_fields(on),
        statements={
            key: [{"site": s.site, "words": s.words, "seen": s.seen} for s in found]
            for key in stated
            if (found := statements(QUANTITIES[key], on))
        },
        teeth=words_by_tooth(on),
        rows=tuple(r for r in rows if known_layouts.get(r.key, r.layout) != r.layout),
        lives=lives_of(measured, scores, fresh, supposed=supposed),
        hints=hints_of(measured),
    )


def _tooth_fields(on: OnSheet) -> dict[str, FieldState]:
    return {
        field_id(key, tooth): _plain(shown)
        for key, by_tooth in tooth_values(on).items()
        for tooth, shown in by_tooth.items()
    }


def _plain(shown: Shown) -> FieldState:
    """A field's state without what is empty."""
    return {name: value for name in Shown.__slots__ if (value := getattr(shown, name))}


def whole_mouth(measured: Measured) -> tuple[tuple[str, str], ...]:
    """What the key for the whole mouth states: each quantity that says nothing about the rest yet."""
    sheet = measured.sheet
    read = {a.quantity for a in registry.needs(measured.indices, sheet, measured.choices, measured.editions)}
    found = []
    for key in WHOLE_MOUTH:
        if key in read and sheet.at(key, "mouth") is None and not _said(sheet, key):
            found.append((key, "mouth"))
    for key in BESIDE_VALUES:
        if key in read and sheet.singles(key) and not sheet.statements(key):
            found.append((key, "mouth"))
    return tuple(found)


def _said(sheet: readings.Sheet, key: str) -> bool:
    """Whether statements about both halves of the mouth say as much as one about the whole."""
    stated = {s.site for s in sheet.statements(key)}
    return {"right", "left"} <= stated or {"upper", "lower"} <= stated


def options(choices: Collection[tuple[str, str]]) -> tuple[Option, ...]:
    """Choices of a model field as options."""
    return tuple(Option(value, label) for value, label in choices)
