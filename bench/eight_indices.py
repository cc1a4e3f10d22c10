"""Every index of one full sheet: milliseconds with lines, as a ratio to the bare arithmetic of the same sheet.

The baseline parses each value that an index reads with Decimal and looks it up in a sorted list of limits,
once for each index that reads it, and adds up: what the points cost without rules, words and sources.
"""

import statistics
import time
import tomllib
from bisect import bisect_left
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from pathlib import Path

from portfolio.finding_sheet import Finding, Sheet
from portfolio.readings import check
from scoring import indices, registry

ROUNDS = 200
WANTED_MS = 8
SINGLY = {
    "alignment_step": "0.6",
    "ridge_step": "0.6",
    "inclination_step": "1.2",
    "occlusal_gap": "0.3",
    "facing_gap": "0.4",
    "relation_step": "1.4",
    "root_angulation": "parallel",
    "contact_offset": "1.6",
    "gap": "0.2",
    "crossbite": "none",
    "posterior_open_bite": "0.4",
}
"""Quantities recorded at every site, with a value that mostly scores."""
LIMITS = tuple(Decimal(n) / 2 for n in range(1, 20))


def full_sheet() -> Sheet:
    """The findings of all neutral sheets together, with teeth out of place so that lines have points."""
    texts: dict[tuple[str, str], str] = {}
    for key in registry.INDEXES:
        text = (Path(indices.__path__[0]) / key / "worked_cases.toml").read_text()
        for finding in tomllib.loads(text)["neutral"]:
            quantity, site, *_ = finding.split()
            texts.setdefault((quantity, site), finding)
    texts["overjet", "11"] = "overjet 11 7.5"
    texts["crowding", "lower"] = "crowding lower 4.5"
    bare_sheet = Sheet("final", "permanent")
    for ask in registry.needs(registry.INDEXES, bare_sheet):
        if ask.quantity in SINGLY:
            texts.pop((ask.quantity, "mouth"), None)
            for site in ask.sites:
                texts[ask.quantity, site] = f"{ask.quantity} {site} {SINGLY[ask.quantity]}"
    sheet = Sheet("final", "permanent", found := tuple(_finding(text) for text in texts.values()))
    faults = check(sheet)
    wrong = {(f.quantity, f.site) for f in faults}
    return replace(sheet, findings=tuple(f for f in found if (f.quantity, f.site) not in wrong))


def _finding(text: str) -> Finding:
    quantity, site, value, *plane = text.split()
    return Finding(quantity, site, value, plane=plane[0] if plane else "")


def fresh(sheet: Sheet) -> Sheet:
    """A sheet whose lookups have not been worked out yet, as after every save."""
    return Sheet(sheet.stage, sheet.dentition, sheet.findings)


def bare(values: list[list[str]]) -> Decimal:
    """The baseline: every value of every index parsed, looked up, added."""
    total = Decimal(0)
    for one in values:
        for text in one:
            try:
                total += bisect_left(LIMITS, abs(Decimal(text)))
            except InvalidOperation:
                total += 1
    return total


def _median(work: object) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        times.append((time.perf_counter() - start) * 1000)
    return statistics.median(times)


def main() -> None:
    sheet = full_sheet()
    reads = {key: {ask.quantity for ask in registry.needs([key], sheet)} for key in registry.INDEXES}
    values = [[f.value for f in sheet.findings if f.quantity in read] for read in reads.values()]
    baseline = _median(lambda: bare(values))
    each = {key: _median(lambda k=key: registry.score(k, fresh(sheet), detail="lines")) for key in reads}

    def together() -> None:
        made = fresh(sheet)
        for key in reads:
            registry.score(key, made, detail="lines")

    all_of_them = _median(together)
    print(
        f"findings on the sheet: {len(sheet.findings)}; values read by all indices: {sum(map(len, values))}"
    )
    print(f"bare arithmetic (baseline): {baseline:.3f} ms")
    for key, took in each.items():
        print(f"  {key}: {took:.2f} ms")
    print(
        f"{len(reads)} indices with lines: {all_of_them:.2f} ms, {all_of_them / baseline:.0f} times the baseline "
        f"(wanted: under {WANTED_MS} ms)"
    )
