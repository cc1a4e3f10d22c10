"""Where a missing thing is entered: the address of the page, by what kind of thing it is."""

from typing import NamedTuple
from uuid import UUID

from plans.answers import Lack
from plans.selectors.facts import CaseInPlan

RECORDS_PAGE = "portfolio:case_records"
OF_RECORDS = ("age", "dentition", "taken_on")
"""Statements that stand on the form of a record set."""


class Way(NamedTuple):
    """A page: the name of its address and its one argument."""

    name: str
    argument: UUID


def way_to(lack: Lack, case: CaseInPlan) -> Way:
    """The page on which a missing thing of a case is entered."""
    records, sheet = case.records_at.get(lack.stage), case.sheets_at.get(lack.stage)
    if lack.kind == "measurement":
        return Way("desk:measure", sheet) if sheet else Way("desk:case", case.public_id)
    if lack.kind == "document":
        return Way(RECORDS_PAGE, case.public_id)
    if lack.kind == "statement" and lack.stage and records and lack.key in OF_RECORDS:
        return Way("portfolio:record_set_edit", records)
    if lack.kind == "statement" and lack.stage:
        return Way(RECORDS_PAGE, case.public_id)
    if lack.kind == "event" and lack.stage and records:
        return Way("portfolio:record_set_edit", records)
    return Way("portfolio:treatment", case.public_id)
