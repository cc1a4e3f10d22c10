"""Writing: rule choices of a portfolio, scores that are kept, tallies typed from paper."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts.models import User
from portfolio import readings
from portfolio.models import Portfolio, Sheet
from portfolio.selectors import reading
from scoring import registry, selectors
from scoring.digests import frame_digest
from scoring.frozen import freeze, freeze_findings
from scoring.index import ChoiceRefused
from scoring.models import ChoiceSet, IndexChoice, RuleChoice, ScoreRun, StageIndices, TypedTally
from scoring.result import Score

TRIES = 3


class SheetMoved(Exception):
    """The sheet or the rule choices are no longer those the page had shown; nothing has been kept."""


def choose_set(portfolio: Portfolio, index_key: str, choice_set: str) -> None:
    """Read an index by one of the three sets; the own set stays as it was left.

    Raises ChoiceRefused for an unknown set.
    """
    if choice_set not in ChoiceSet.values:
        raise ChoiceRefused(f"{choice_set!r} is not a set; allowed: {', '.join(ChoiceSet.values)}")
    registry.index(index_key)
    IndexChoice.objects.update_or_create(
        portfolio=portfolio, index=index_key, defaults={"choice_set": choice_set}
    )


def choose(portfolio: Portfolio, index_key: str, choice_id: str, value: str) -> None:
    """Put one rule choice in force, in the own set.

    From another set the own one starts anew as a copy of what is in force, so that nothing but the one
    choice moves.  Raises ChoiceRefused for an unknown choice or value.
    """
    index = registry.index(index_key)
    index.settled({choice_id: value})
    with transaction.atomic():
        # Two choices made at once wait for each other here, or one would overwrite the other's set.
        Portfolio.objects.select_for_update().get(pk=portfolio.pk)
        in_force = selectors.chosen(portfolio, index_key)
        if in_force.values[choice_id] == value:
            return
        own = dict(in_force.values) | {choice_id: value}
        for key, wanted in own.items():
            RuleChoice.objects.update_or_create(
                portfolio=portfolio, index=index_key, choice=key, defaults={"value": wanted}
            )
        choose_set(portfolio, index_key, ChoiceSet.OWN)


def choose_edition(portfolio: Portfolio, index_key: str, edition: str) -> None:
    """Read an index by another edition or set of weights; ChoiceRefused for one it does not know."""
    index = registry.index(index_key)
    wanted = index.edition(edition)
    IndexChoice.objects.update_or_create(
        portfolio=portfolio,
        index=index_key,
        defaults={"edition": "" if wanted == index.editions[0] else wanted},
    )


def choose_limit(portfolio: Portfolio, index_key: str, limit: int | None) -> None:
    """Hold results by an index against this total; None for the published one again."""
    registry.index(index_key)
    IndexChoice.objects.update_or_create(portfolio=portfolio, index=index_key, defaults={"limit": limit})


def choose_indices(portfolio: Portfolio, stage: str, keys: Sequence[str]) -> None:
    """Measure a portfolio's records of a stage for these indices; IndexRefused for one that is not built.

    None at all means the usual ones of the stage.
    """
    for key in keys:
        registry.index(key)
    if not keys:
        StageIndices.objects.filter(portfolio=portfolio, stage=stage).delete()
        return
    text = " ".join(key for key in registry.KEYS if key in keys)
    StageIndices.objects.update_or_create(portfolio=portfolio, stage=stage, defaults={"indices": text})


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept score; `again` when this very state had been kept before."""

    run: ScoreRun
    again: bool


def keep_score(
    by: User,
    sheet: Sheet,
    index_key: str,
    at: datetime,
    *,
    seen_version: int | None = None,
    seen_choices: str = "",
    seen_frame: str = "",
) -> Kept:
    """Keep the score of a sheet as it stands, with everything it was made from.

    `seen_version`, `seen_choices` and `seen_frame` (the digests of choices and of stage, dentition and
    teeth) are what the page had shown; another state raises SheetMoved.  The same state is kept once a person, whatever the number of clicks.
    """
    for _ in range(TRIES):
        sheet.refresh_from_db(fields=["version"])
        chosen = selectors.chosen(sheet.record_set.case.patient.portfolio, index_key)
        if (seen_version is not None and seen_version != sheet.version) or (
            seen_choices and seen_choices != chosen.digest
        ):
            raise SheetMoved
        found = reading(sheet)
        if seen_frame and seen_frame != frame_digest(found):
            raise SheetMoved
        score = registry.score(index_key, found, chosen.edition, chosen.values)
        kept = _write_run(by, sheet, found, score, chosen.digest, at)
        if kept is not None:
            return kept
    raise SheetMoved


def _write_run(
    by: User, sheet: Sheet, found: readings.Sheet, score: Score, choices_digest: str, at: datetime
) -> Kept | None:
    """The run, or None when the sheet was changed while its score was worked out."""
    state = {
        "sheet": sheet,
        "index": score.index,
        "edition": score.edition,
        "choices_digest": choices_digest,
        "rules_digest": registry.rules_digest(score.index),
        "sheet_version": sheet.version,
        "frame_digest": frame_digest(found),
        "kept_by": by,
    }
    try:
        with transaction.atomic():
            locked = Sheet.objects.select_for_update().get(pk=sheet.pk)
            if locked.version != sheet.version:
                return None
            if stands := ScoreRun.objects.filter(**state).first():
                return Kept(stands, again=True)
            run = ScoreRun.objects.create(
                **state,
                choices=score.choices,
                kept_at=at,
                findings=freeze_findings(found.findings),
                result=freeze(score, registry.index(score.index)),
            )
    except IntegrityError:
        return Kept(ScoreRun.objects.get(**state), again=True)
    return Kept(run, again=False)


def type_tally(
    by: User, sheet: Sheet, index_key: str, categories: Mapping[str, str], total: str, at: datetime
) -> TypedTally:
    """Keep points typed from a paper form; the same points typed again by the same person stay one row."""
    index = registry.index(index_key)
    edition = selectors.chosen(sheet.record_set.case.patient.portfolio, index_key).edition
    last = TypedTally.objects.filter(sheet=sheet, index=index_key, by=by).order_by("-at", "-pk").first()
    if last is not None and (last.categories, last.total) == (dict(categories), total):
        return last
    return TypedTally.objects.create(
        sheet=sheet,
        index=index_key,
        edition=edition or index.editions[0],
        categories=dict(categories),
        total=total,
        by=by,
        at=at,
    )
