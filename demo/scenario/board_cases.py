"""Four cases collected for a board, measured for complexity before treatment and for its outcome after it."""

from datetime import date
from functools import cache
from pathlib import Path

from demo.scenario import treatments
from demo.scenario.plans import DemoCase, DemoPortfolio
from portfolio.readings import Sheet, read_json
from scoring.presets import PRESETS

SHEETS = Path(__file__).parent.parent / "sheets"


@cache
def sheet_file(name: str) -> Sheet:
    """One of the sheet files that ship with the demo."""
    return read_json((SHEETS / f"{name}.json").read_text(encoding="utf-8"))


DRAWN_UNEVEN = {"initial": 24, "final": 2}
"""How far out of line the teeth are drawn in the pictures of the first case, by stage."""

CASES = (
    DemoCase(
        note="Deep overjet and deep bite, lower crowding",
        locator="Shelf 2, box 5",
        sex="female",
        signer="guardian",
        signed_on=date(2026, 3, 9),
        faces=True,
        sheets=(sheet_file("deep-overjet-initial"), sheet_file("deep-overjet-final")),
        treatment=treatments.EXTRACTION,
    ),
    DemoCase(
        note="Open bite in front and behind, steep mandibular plane",
        locator="Shelf 2, box 7",
        sex="male",
        signer="patient",
        signed_on=date(2026, 5, 18),
        faces=True,
        sheets=(sheet_file("open-bite-initial"), sheet_file("open-bite-final")),
        treatment=treatments.OPEN_BITE,
    ),
    DemoCase(
        note="Reverse overjet, a lateral incisor that never formed",
        locator="Shelf 3, box 1",
        sex="female",
        signer="patient",
        signed_on=date(2026, 6, 2),
        sheets=(sheet_file("reverse-overjet-initial"),),
        treatment=treatments.REVERSE_OVERJET,
    ),
    DemoCase(
        note="Mixed dentition, palatal canine",
        locator="Shelf 3, box 4",
        sex="male",
        signer="guardian",
        signed_on=date(2026, 9, 21),
        sheets=(sheet_file("palatal-canine-initial"), sheet_file("palatal-canine-final")),
        treatment=treatments.PALATAL_CANINE,
        typed=(
            ("overjet", "12", "4,1"),
            ("overjet", "11", "5.02"),
            ("overjet", "21", "4.8 mm"),
            ("overjet", "22", "3.6"),
            ("overbite", "12", "3.4"),
            ("overbite", "11", "4.2"),
            ("overbite", "21", "4"),
            ("crowding", "upper", "1.5"),
            ("crowding", "lower", "4.2"),
            ("impacted", "23", "yes"),
            ("retained_primary", "63", "overdue"),
            ("gap", "11-21", "2.4"),
            ("molar_relation", "right", "end2"),
        ),
    ),
)
"""The first was finished to a full step after upper premolars were taken out; the second was measured on plaster
and at the end on digital casts; the third is being treated; the fourth began under 22 points of PAR, and its typed
values keep commas, units and a third digit, as a caliper or a hand gives them."""

BOARD = DemoPortfolio(
    name="Quillhaven Orthodontics, board portfolio",
    cases=CASES,
    indices={"initial": PRESETS["complexity"][1], "final": PRESETS["outcome"][1]},
)

BOARD_PLAN = "larkmoor_six"
"""The shipped plan that the board's portfolio is held against."""

SLIPPED_TALLY = {
    "overjet": "2",
    "overbite": "0",
    "anterior_open_bite": "22",
    "lateral_open_bite": "6",
    "crowding": "1",
    "lingual_crossbite": "2",
    "sn_mp": "14",
    "other": "2",
}
SLIPPED_TOTAL = "49"
"""A paper tally of the second case in which the open bite of one premolar was forgotten."""
