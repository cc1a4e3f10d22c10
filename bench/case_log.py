"""Speed of the floors of a long case log, as a ratio to scoring as many whole sheets in the same run.

A page sorted by the least total works out every row; scoring whole sheets instead is what it must never cost.
"""

import random
import statistics
import time

from portfolio.case_log.answers import Answers
from scoring import registry
from scoring.indices.discrepancy.estimate import floor, in_force
from tests.scoring.sheets import neutral_with

ROWS = 5000
SCORED = 200
MOLARS = ("class1", "end2", "full2", "end3", "full3")


def rows() -> list[Answers]:
    """Different rows, drawn with a fixed start."""
    draw = random.Random(20261201)

    def tenths(low: int, high: int) -> str:
        return f"{draw.randint(low * 10, high * 10) / 10:g}"

    made = []
    for _ in range(ROWS):
        overbite = tenths(-5, 8)
        made.append(
            Answers(
                overjet=tenths(-4, 12),
                overbite=overbite,
                open_teeth=str(draw.randint(1, 6)) if float(overbite) <= 0 else "",
                molar_right=draw.choice(MOLARS),
                molar_left=draw.choice(MOLARS),
                crowding=tenths(0, 12),
                crossbite_inside=str(draw.randint(0, 4)),
                crossbite_outside=str(draw.randint(0, 4)),
                anb=tenths(-4, 10),
                sn_mp=tenths(20, 50),
            )
        )
    return made


def main() -> None:
    choices, log = in_force({}), rows()
    sheet = neutral_with()
    took = []
    for _ in range(SCORED):
        start = time.perf_counter()
        registry.score("discrepancy", sheet, detail="totals")
        took.append((time.perf_counter() - start) * 1000)
    whole = statistics.median(took) * ROWS
    floor.cache_clear()
    for name in ("first time", "again"):
        start = time.perf_counter()
        for answers in log:
            floor(answers, choices)
        ms = (time.perf_counter() - start) * 1000
        print(
            f"{ROWS} floors {name}: {ms:.0f} ms, {ms / whole:.2f} of scoring as many whole sheets ({whole:.0f} ms)"
        )
