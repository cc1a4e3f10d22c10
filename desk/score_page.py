"""What the score pages show beside the score itself: whose it is, the sets of rule choices, kept scores."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from portfolio.ages import age_text
from portfolio.models import Sheet
from portfolio.selectors import stage_label
from scoring.index import Index
from scoring.models import ChoiceSet, ScoreRun, TypedTally
from scoring.moved import Moved, what_moved
from scoring.present import ShownChoice, ShownScore, number_words, show, show_choices, show_score
from scoring.selectors import KeptRow, Scored, then
from scoring.tally import Checked, check, read_points

CAUTION = (
    "A score counts what is wrong; it is no measure of difficulty and no diagnosis. The board's current "
    "instructions prevail. Treatment decisions belong to the licensed clinician."
)
SET_WORDS = {
    ChoiceSet.AS_SHIPPED: "The defaults of this app; each says why.",
    ChoiceSet.AS_PRINTED: "As shipped, with the two rules that common practice reads otherwise taken as printed.",
}


@dataclass(frozen=True, slots=True)
class Head:
    """Whose score a page shows."""

    sheet: UUID
    case: UUID
    case_code: str
    stage: str
    stage_key: str
    ordinal: int
    age: str
    portfolio_name: str
    index: str
    label: str


@dataclass(frozen=True, slots=True)
class ChoiceSetShown:
    """One of the three sets: its words, whether it is in force, and whether it can be put in force."""

    key: str
    label: str
    words: str
    in_force: bool
    usable: bool


@dataclass(frozen=True, slots=True)
class EditionShown:
    """One edition or set of weights."""

    key: str
    label: str
    in_force: bool


@dataclass(frozen=True, slots=True)
class ScorePage:
    """Everything on the score page."""

    head: Head
    score: ShownScore
    choices: tuple[ShownChoice, ...]
    sets: tuple[ChoiceSetShown, ...]
    kept: tuple[KeptRow, ...]
    version: int
    choices_digest: str
    frame_digest: str
    editions: tuple[EditionShown, ...]
    """Editions to choose from; empty where there is only one."""
    edition_words: str
    takes_weights: bool
    """Whether a site may give weights of its own."""
    has_rows: bool
    """Whether the published form has rows with points."""
    caution: str = CAUTION

    @property
    def choices_that_matter(self) -> tuple[ShownChoice, ...]:
        return tuple(one for one in self.choices if one.matters or one.changed)

    @property
    def other_choices(self) -> tuple[ShownChoice, ...]:
        return tuple(one for one in self.choices if not (one.matters or one.changed))

    @property
    def in_force(self) -> tuple[tuple[str, str], ...]:
        """Every choice with the reading in force, for print."""
        return tuple((one.label, next(o.words for o in one.options if o.in_force)) for one in self.choices)


def head(sheet: Sheet, index_key: str, label: str) -> Head:
    """Whose score it is, from a sheet with record set, case, patient and portfolio loaded."""
    here = sheet.record_set
    months = here.age_months
    return Head(
        sheet=sheet.public_id,
        case=here.case.public_id,
        case_code=here.case.code,
        stage=stage_label(here.stage, here.ordinal).capitalize(),
        stage_key=here.stage,
        ordinal=here.ordinal,
        age="" if months is None else age_text(months),
        portfolio_name=here.case.patient.portfolio.name,
        index=index_key,
        label=label,
    )


def score_page(sheet: Sheet, scored: Scored, kept: tuple[KeptRow, ...]) -> ScorePage:
    """The page of a score as it stands."""
    index = scored.index
    return ScorePage(
        head=head(sheet, index.key, index.label),
        score=show(scored.score, index, scored.notation),
        choices=show_choices(index, scored.score),
        sets=_sets(scored),
        kept=kept,
        version=scored.sheet_version,
        choices_digest=scored.chosen.digest,
        frame_digest=scored.frame_digest,
        editions=_editions(index, scored.score.edition),
        edition_words=index.edition_words(scored.score.edition) if len(index.editions) > 1 else "",
        takes_weights=index.own_weights is not None,
        has_rows=bool(index.categories),
    )


def _editions(index: Index, in_force: str) -> tuple[EditionShown, ...]:
    listed = tuple(dict.fromkeys((*index.editions, in_force)))
    if len(listed) == 1 and index.own_weights is None:
        return ()
    return tuple(EditionShown(key, index.edition_words(key), key == in_force) for key in listed)


def _sets(scored: Scored) -> tuple[ChoiceSetShown, ...]:
    return tuple(
        ChoiceSetShown(
            key=key,
            label=str(label).capitalize(),
            words=_own_words(scored) if key == ChoiceSet.OWN else SET_WORDS[ChoiceSet(key)],
            in_force=scored.chosen.choice_set == key,
            usable=key != ChoiceSet.OWN or bool(scored.chosen.own),
        )
        for key, label in ChoiceSet.choices
        if key in (ChoiceSet.AS_SHIPPED, ChoiceSet.OWN) or key in scored.index.choice_sets
    )


def _own_words(scored: Scored) -> str:
    """How far the own set is from the shipped one."""
    own, shipped = scored.chosen.own, scored.index.defaults
    if not own:
        return "What you choose yourself."
    count = sum(own[key] != shipped[key] for key in own)
    return (
        f"{count} choice{'' if count == 1 else 's'} other than as shipped." if count else "Alike as shipped."
    )


@dataclass(frozen=True, slots=True)
class KeptPage:
    """A kept score as it was, and what has moved since."""

    head: Head
    score: ShownScore
    in_force: tuple[tuple[str, str], ...]
    kept_at: datetime
    kept_by: str
    rules_digest: str
    findings: int
    moved: Moved
    caution: str = CAUTION


def kept_page(run: ScoreRun, scored: Scored) -> KeptPage:
    """The page of a kept score beside the score of its sheet today."""
    kept = then(run)
    return KeptPage(
        head=head(run.sheet, run.index, run.result["label"]),
        score=show_score(
            kept.score,
            run.result["label"],
            run.result["category_labels"],
            scored.notation,
            run.result.get("counted_in", "points"),
        ),
        in_force=tuple((one["label"], one["words"]) for one in kept.choices_in_words),
        kept_at=run.kept_at,
        kept_by=str(run.kept_by),
        rules_digest=run.rules_digest,
        findings=len(kept.findings),
        moved=what_moved(kept, scored.now, scored.notation),
    )


@dataclass(frozen=True, slots=True)
class EarlierTally:
    """A tally typed before, in a list."""

    at: datetime
    by: str
    total: str
    rows: int


@dataclass(frozen=True, slots=True)
class TallyPage:
    """The last typed tally held against the score, and the earlier ones."""

    head: Head
    checked: Checked | None
    at: datetime | None
    by: str
    earlier: tuple[EarlierTally, ...]
    complete: bool
    caution: str = CAUTION


def tally_page(sheet: Sheet, scored: Scored, tallies: list[TypedTally]) -> TallyPage:
    """The page of the tally check; without a tally it asks for one."""
    last = tallies[0] if tallies else None
    checked = None
    if last is not None:
        checked = check(
            scored.index,
            scored.reading,
            scored.score,
            {key: read_points(points) for key, points in last.categories.items()},
            read_points(last.total),
            scored.notation,
        )
    return TallyPage(
        head=head(sheet, scored.index.key, scored.index.label),
        checked=checked,
        at=last.at if last else None,
        by=str(last.by) if last else "",
        earlier=tuple(
            EarlierTally(one.at, str(one.by), number_words(read_points(one.total)), len(one.categories))
            for one in tallies[1:]
        ),
        complete=scored.score.complete,
    )


def typed_before(tallies: list[TypedTally]) -> Mapping[str, str]:
    """The points of the last tally as the form shows them again."""
    if not tallies:
        return {}
    return {**tallies[0].categories, "total": tallies[0].total}
