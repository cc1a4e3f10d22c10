"""Sheets with much to be unsure of: one for each index whose total is a sum of points, and any number of drawn ones."""

import math
import random
from dataclasses import replace
from itertools import pairwise

from portfolio.finding_sheet import Finding, Sheet
from tests.scoring.sheets import finding, neutral_with

WITH_MUCH = {
    "discrepancy": (
        "overjet 11 5.2", "overjet 12 0.4", "overjet 21 4.9", "overjet 22 -0.4", "overjet 13 0",
        "overbite 11 -1.1", "overbite 21 0.3", "overbite 12 0", "crowding upper 2.8", "crowding lower 3.2",
        "molar_relation right beyond2", "molar_beyond right 1.1", "molar_relation left end2", "anb mouth 5.4",
        "sn_mp mouth 37.2", "impa mouth 98", "crossbite 16 upper_inside", "crossbite mouth none",
        "posterior_open_bite 15 1.2", "posterior_open_bite 26 2.1", "gap 11-21 1.9", "gap 13-12 0.5", "gap 12-11 0.6",
        "gap 21-22 0.7", "gap 22-23 0.4", "midline_offset mouth 2.7", "supernumerary 12 1", "ankylosed 16 yes",
    ),
    "par": (
        "contact_offset 13-12 1.1", "contact_offset 12-11 0.9", "gap 12-11 0.8", "gap_plan 12-11 close",
        "contact_offset 11-21 3.8", "gap 21-22 4.1", "gap_plan 21-22 keep", "contact_offset 42-41 2.1",
        "buccal_interdigitation right off", "crossbite 16 upper_inside", "crossbite 15 edge", "overjet 11 5.2",
        "overjet 12 -0.3", "overjet 21 4.9", "overjet 22 0", "overbite_cover mouth 35", "midline_offset mouth 1.6",
        "tooth_width 31 5.4", "tooth_width 41 5.5", "posterior_open_bite 14 2.2", "posterior_open_bite 15 2.3",
    ),
    "icon": (
        "aesthetic_component mouth 6", "crowding upper 5.3", "overjet 12 0.2", "overbite_cover mouth 60",
        "buccal_interdigitation left cusp_to_cusp", "crossbite 16 edge",
    ),
    "outcome": (
        "alignment_step 11 0.6", "alignment_step 12 1.1", "occlusal_gap 46.mb 0.8", "occlusal_gap 46.db 0.3",
        "relation_step 16 1.2", "facing_gap 11 0.4", "inclination_step 16 0.9", "gap 12-11 0.6",
        "root_angulation 15 tipped", "ridge_step 16-15 0.5",
    ),
}  # fmt: skip


def unsure(key: str) -> Sheet:
    """The index's neutral sheet with findings near limits; statements of regions are certain."""
    sheet = neutral_with((), key, **({"stage": "final"} if key == "outcome" else {}))
    places = {tuple(text.split()[:2]) for text in WITH_MUCH[key]}
    kept = (f for f in sheet.findings if (f.quantity, f.site) not in places)
    base = tuple(replace(f, sd="0") if f.is_statement else f for f in kept)
    return replace(sheet, findings=(*base, *(finding(text) for text in WITH_MUCH[key])))


UPPER = ("17", "16", "15", "14", "13", "12", "11", "21", "22", "23", "24", "25", "26", "27")
LOWER = tuple({"1": "4", "2": "3"}[tooth[0]] + tooth[1] for tooth in UPPER)
CODES = {
    "crossbite": (*["none"] * 6, "edge", "upper_inside", "upper_outside"),
    "molar_relation": ("class1", "end2", "full2", "beyond2", "toward3", "end3"),
}


def drawn(rng: random.Random) -> Sheet:
    """A mouth by chance: every number another, some findings left out, some said of whole regions, some teeth gone."""
    found = [Finding("overjet", t, f"{rng.gauss(3, 2.5):.1f}") for t in UPPER[4:10]]
    found += [Finding("overbite", t, f"{rng.gauss(2, 2.5):.1f}") for t in UPPER[4:10]]
    behind = UPPER[:4] + UPPER[10:]
    found += [Finding("posterior_open_bite", t, f"{max(0.0, rng.gauss(-1, 1.5)):.1f}") for t in behind]
    found += [Finding("crossbite", t, rng.choice(CODES["crossbite"])) for t in behind]
    found += [Finding("crowding", arch, f"{rng.gauss(3, 3):.1f}") for arch in ("upper", "lower")]
    found += [Finding("molar_relation", s, rng.choice(CODES["molar_relation"])) for s in ("right", "left")]
    found += [Finding("molar_beyond", "left", f"{abs(rng.gauss(1, 1)):.1f}")]
    found += [
        Finding(q, "mouth", f"{rng.gauss(mean, sd):.1f}", plane=plane)
        for q, mean, sd, plane in (
            ("anb", 4, 4, ""), ("sn_mp", 34, 7, "go_me"), ("impa", 95, 8, "go_me"), ("midline_offset", 0, 2, ""),
        )
    ]  # fmt: skip
    for row in (UPPER, LOWER):
        found += [Finding("gap", f"{a}-{b}", f"{max(0.0, rng.gauss(0, 0.6)):.1f}") for a, b in pairwise(row)]
    found = [f for f in found if rng.random() > 0.04]
    found += [
        Finding(q, "mouth", "rest_none") for q in ("missing", "impacted", "anomalous", "gap", "crossbite")
    ]
    if rng.random() < 0.4:
        found.append(
            Finding("missing", rng.choice(("14", "24", "15", "25")), rng.choice(("extracted", "congenital")))
        )
    if rng.random() < 0.3:
        found += [
            Finding("supernumerary", "12", "1"),
            Finding("anomalous", "12", "yes"),
            Finding("ankylosed", "16", "yes"),
        ]
    if rng.random() < 0.3:
        found += [Finding("overbite_cover", "mouth", "97"), Finding("palatal_contact", "mouth", "contact")]
    rng.shuffle(found)
    return Sheet("initial", "permanent", tuple(found))


LANDMARKS = ("S", "N", "A", "B", "Go", "Me", "L1", "L1 apex")


def traced(sheet: Sheet, rng: random.Random, angles: tuple[str, ...] = ("anb", "sn_mp", "impa")) -> Sheet:
    """The same sheet with angles of one tracing, whose errors come from landmarks that they share."""
    found = []
    for one in sheet.findings:
        if one.quantity in angles:
            parts = [f"{rng.uniform(-1, 1):.2f}" for _ in LANDMARKS]
            sd = math.sqrt(sum(float(part) ** 2 for part in parts))
            named = tuple((f"tracing/t/{name}", part) for name, part in zip(LANDMARKS, parts, strict=True))
            found.append(replace(one, sd=f"{sd:.2f}", error_parts=named))
        else:
            found.append(one)
    return replace(sheet, findings=tuple(found))
