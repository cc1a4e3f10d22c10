"""The lateral radiographs of all cases: faces whose ANB, SN-MP, IMPA, overjet and overbite are the sheets'."""

from collections.abc import Mapping
from typing import Any

from demo.radiographs.face import Jaws
from demo.radiographs.film import Radiograph
from demo.scenario.board_faces import BOARD_FACES
from demo.scenario.filmed import FilmedCase, Record
from demo.scenario.plans import DemoCase
from demo.scenario.result_faces import RESULT_FACES
from portfolio.readings import Sheet
from portfolio.typed import typed

FILMED: Mapping[str, FilmedCase] = {**BOARD_FACES, **RESULT_FACES}
"""By the note of the case."""

SHEET = (("anb", "mouth"), ("sn_mp", "mouth"), ("impa", "mouth"), ("overjet", "11"), ("overbite", "11"))
"""Quantities and sites of a sheet that a face takes over."""


def record_of(plan: DemoCase, sheet: Sheet) -> Record:
    """What is set for a stage; KeyError for a case without radiographs."""
    return FILMED[plan.note].records[sheet.stage]


def radiograph(plan: DemoCase, sheet: Sheet) -> Radiograph:
    """The lateral radiograph of a stage of a case; KeyError for a case without one."""
    record = record_of(plan, sheet)
    told = {
        quantity: told_by(plan, sheet, quantity, site)
        for quantity, site in SHEET
        if quantity not in record.jaws
    }
    given: dict[str, Any] = {**record.jaws, **told}
    return Radiograph(FILMED[plan.note].skull, Jaws(**given), record.dentition, record.film)


def told_by(plan: DemoCase, sheet: Sheet, quantity: str, site: str) -> float:
    """A value of the sheet, or the one that is typed besides; KeyError when there is none."""
    if found := sheet.at(quantity, site):
        return float(found.value)
    typed_values = {(key, place): text for key, place, text in plan.typed} if sheet is plan.sheets[0] else {}
    return float(typed(quantity, site, typed_values[quantity, site], "0.1").value)
