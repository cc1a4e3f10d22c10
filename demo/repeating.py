"""Measures some of the demo's finished cases a second time, so that there is a measuring error to look at."""

import uuid
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

from accounts.models import User
from demo import scenario
from demo.broken import DemoBroken
from portfolio.quantity import Quantity
from portfolio.readings import Finding
from portfolio.readings import Sheet as SheetFile
from portfolio.repeating import services
from portfolio.repeating.access import first_sheets
from portfolio.repeating.pairs import is_repeated
from portfolio.selectors import reading
from portfolio.services import Recorded, import_sheet
from portfolio.vocabulary import QUANTITIES

CASES = scenario.RESULTS.cases[:3]
"""Both stages of each: six totals scored again, and more than twenty pairs of contacts."""
AFTER_DUE = timedelta(hours=7)
MEASURING = timedelta(minutes=25)
WANDERING = ("0", "0.2", "-0.1", "0.1", "-0.3", "0", "0.1", "0.3", "-0.2", "0", "-0.1", "0.2", "0.1")
"""Millimetres by which the second value differs from the first, place after place."""


def repeat_some(by: User, at: datetime) -> None:
    """Repeat the sheets of the first short cases when they are due; all of it lies before `at`."""
    wandering = 0
    for case in CASES:
        sheets = first_sheets(by).filter(record_set__case__note=case.note)
        for first in sheets.select_related("record_set__case__patient__portfolio").order_by("pk"):
            due = services.due_at(first)
            if due is None or due + AFTER_DUE + MEASURING > at:
                raise DemoBroken(f"{case.note}: its repeat would lie in the future")
            begun = due + AFTER_DUE
            repeat = services.begin(by, first, uuid.uuid4(), begun)
            again, wandering = _again(reading(first), wandering)
            key = f"demo-repeat-{first.public_id.hex}"
            answer = import_sheet(by, repeat.sheet, again, key, begun + MEASURING)
            if not isinstance(answer, Recorded):
                raise DemoBroken(f"{case.note}, repeat: {answer}")
            services.hand_in(repeat, begun + MEASURING)


def _again(first: SheetFile, wandering: int) -> tuple[SheetFile, int]:
    """What is measured the second time, and where the wandering goes on."""
    findings = []
    for one in first.findings:
        if not is_repeated(one.quantity):
            continue
        quantity = QUANTITIES[one.quantity]
        if quantity.kind == "number" and not one.is_statement and one.value != "unknown":
            one = _moved(one, quantity, Decimal(WANDERING[wandering % len(WANDERING)]))
            wandering += 1
        findings.append(one)
    return replace(first, findings=tuple(findings)), wandering


def _moved(one: Finding, quantity: Quantity, by: Decimal) -> Finding:
    """The finding moved by so many millimetres, per cent by ten times as much in whole fives; never across nothing."""
    if quantity.unit == "%":
        by = Decimal(5) if by > 0 else Decimal(-5) if by < 0 else Decimal(0)
    value = one.number + by
    if one.number == 0 or value * one.number <= 0 or quantity.whole:
        return one
    return replace(one, value=str(value))
