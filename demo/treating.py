"""Puts what was done, what is stated, and where casts and papers lie into an invented case."""

import uuid

from accounts.models import User
from demo.scenario.treatments import Treatment
from portfolio.access import visible_record_sets
from portfolio.models import Case
from portfolio.records import NOTHING_TOLD
from portfolio.services.record_states import Stated, seen_words, state_records
from portfolio.treatment import services


def put_on(by: User, case: Case, treatment: Treatment) -> None:
    """Add the events, the statements and the states of records without a file to a case that has none yet."""
    if treatment.events:
        services.add_events(by, case, treatment.events, uuid.uuid4())
    if treatment.stated:
        stated = {name: treatment.stated.get(name) for name in services.STATEMENTS}
        services.save_statements(case, stated, "", 0)
    for here in visible_record_sets(by).filter(case=case, stage__in=treatment.kept):
        kept = treatment.kept[here.stage]
        wanted = {key: Stated(*one) for key, one in kept.items()}
        state_records(here, wanted, dict.fromkeys(wanted, seen_words(NOTHING_TOLD)))
