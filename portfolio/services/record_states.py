"""Stating what there is of a stage's records: where casts and papers lie, what was not taken and why."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction

from portfolio.models import RecordItem, RecordSet
from portfolio.records import BY_KEY, NO_INDICATION, NOT_TAKEN, RecordState
from portfolio.selectors.checklist import states_of_rows
from portfolio.services.saving import checked


@dataclass(frozen=True, slots=True)
class Stated:
    """What a form says of one record: a state (empty takes a statement back), where or why, quality ticks."""

    state: str = ""
    words: str = ""
    ticks: tuple[str, ...] = ()


class StatedMeanwhile(Exception):
    """Some records were stated or filed after the page had read them; `keys` names them. Nothing was written."""

    def __init__(self, keys: tuple[str, ...]) -> None:
        super().__init__(", ".join(keys))
        self.keys = keys


def seen_words(state: RecordState) -> str:
    """What a page has seen of a record, as it sends it back with its form."""
    return f"{state.pictures}|{state.state}|{state.words}|{' '.join(state.ticks)}"


def state_records(record_set: RecordSet, stated: Mapping[str, Stated], seen: Mapping[str, str]) -> int:
    """Keep what is stated of the records of one stage, all or nothing; how many have changed.

    `seen` holds `seen_words` of each record as the page had read it. Raises StatedMeanwhile, ValidationError.
    """
    with transaction.atomic():
        # The set is locked, so that two windows cannot both find the same thing unchanged.
        RecordSet.objects.select_for_update().get(pk=record_set.pk)
        rows = list(RecordItem.objects.filter(record_set=record_set))
        now = states_of_rows(rows)
        nothing = RecordState()
        wanted = {key: _settled(key, one) for key, one in stated.items()}
        new = {key: one for key, one in wanted.items() if one != _as_stated(now.get(key, nothing))}
        late = tuple(
            key
            for key in new
            if (here := now.get(key, nothing)).pictures or seen.get(key) != seen_words(here)
        )
        if late:
            raise StatedMeanwhile(late)
        for key, one in new.items():
            _write(record_set, key, one, rows)
        return len(new)


def _settled(key: str, one: Stated) -> Stated:
    if not one.state:
        return Stated()
    words = one.words or (NO_INDICATION if one.state == NOT_TAKEN else "")
    ticks = tuple(tick for tick in BY_KEY[key].ticks if tick in one.ticks and one.state != NOT_TAKEN)
    return Stated(one.state, words, ticks)


def _as_stated(state: RecordState) -> Stated:
    return Stated(state.stated, state.words, state.ticks)


def _write(record_set: RecordSet, key: str, one: Stated, rows: list[RecordItem]) -> None:
    here = next((row for row in rows if row.view == key), None)
    if not one.state:
        if here:
            here.delete()
        return
    version = here.version + 1 if here else 1
    row = here or RecordItem(record_set=record_set, view=key, kind=BY_KEY[key].kind)
    row.state, row.reason, row.quality, row.version = one.state, one.words, list(one.ticks), version
    checked(row).save()
