"""Speed of the exact chances of a total, each as a ratio to scoring the same sheets in the same run.

Sheets differ in every number, so that laws kept from one sheet to the next help only where nothing was wrong.
"""

import random
import time
from collections.abc import Callable
from dataclasses import replace

from bench.discrepancy_index import full_sheet
from portfolio.finding_sheet import Sheet
from scoring import registry
from scoring.uncertainty import BY_FINDING, ErrorModel, law_of, laws_of, leave_one_out
from tests.scoring.uncertainty.mouths import drawn, traced

SHEETS = 100
CASELOAD = 6_000
WITH_NUMBERS = ("overjet", "overbite", "anb", "sn_mp", "impa", "crowding")


def varied(sheet: Sheet, rng: random.Random) -> Sheet:
    """The sheet with every number that the index bands moved by up to 2 units, in tenths."""
    moved = tuple(
        replace(f, value=f"{float(f.value) + rng.randint(-20, 20) / 10:.1f}")
        if f.quantity in WITH_NUMBERS
        else f
        for f in sheet.findings
    )
    return replace(sheet, findings=moved)


def each_ms(work: Callable[[Sheet], object], sheets: list[Sheet]) -> float:
    """Milliseconds a sheet."""
    start = time.perf_counter()
    for sheet in sheets:
        work(sheet)
    return (time.perf_counter() - start) / len(sheets) * 1000


def main() -> None:
    rng = random.Random(7)
    index, whole = registry.index("discrepancy"), full_sheet()
    sheets = [varied(whole, rng) for _ in range(SHEETS)]
    baseline = each_ms(lambda s: registry.score("discrepancy", s, detail="totals"), sheets)
    print(f"scoring alone (baseline): {baseline:.2f} ms a sheet")
    for words, work in (
        (
            "chances of the total, offset of the examiner shared",
            lambda s: law_of(index, s, ErrorModel()).total,
        ),
        ("the same again, laws kept", lambda s: law_of(index, s, ErrorModel()).total),
        ("chances of the total, nothing shared", lambda s: law_of(index, s, BY_FINDING).total),
    ):
        took = each_ms(work, sheets)
        print(f"{words}: {took:.2f} ms a sheet, {took / baseline:.0f} times scoring")
    took = each_ms(lambda s: leave_one_out(law_of(index, s), 30), sheets[:5])
    print(f"every finding's part in a threshold: {took:.0f} ms a sheet, {took / baseline:.0f} times scoring")
    tied = [traced(sheet, rng) for sheet in sheets[:5]]
    took = each_ms(lambda s: law_of(index, s).total, tied)
    print(f"three angles of one tracing: {took:.0f} ms a sheet, {took / baseline:.0f} times scoring")
    for words, made in (
        ("differing in every number that is banded", [varied(whole, rng) for _ in range(CASELOAD)]),
        ("mouths that have little in common, findings left out", [drawn(rng) for _ in range(CASELOAD // 20)]),
    ):
        bare = each_ms(lambda s: registry.score("discrepancy", s, detail="totals"), made)
        fresh = [replace(sheet) for sheet in made]
        start = time.perf_counter()
        told = laws_of(index, fresh)
        took = time.perf_counter() - start
        print(
            f"{len(made)} sheets at once, {words}: {took:.1f} s, {told.one_by_one} by themselves, "
            f"{took * 1000 / len(made) / bare:.2f} times scoring them"
        )


if __name__ == "__main__":
    main()
