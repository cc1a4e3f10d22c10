"""Random conditions of every kind, made from their own fields, and random cases to hold them against.

Each is made from one number, which Hypothesis draws and tells where a law fails; drawing every value by itself would
take a hundred times as long.
"""

from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from hypothesis import strategies as st

from plans import record_names, requirements
from plans.facts import CaseFacts, CourseFacts, RecordFact, ScoreFact, StageFacts
from plans.moments import EVENTS
from plans.requirements import KINDS, Field, Requirement
from plans.requirements.words import STAGES
from portfolio import teeth
from portfolio.events import APPLIANCES, HANDS
from portfolio.finding_sheet import Finding, Sheet
from portfolio.vocabulary import QUANTITIES
from scoring.registry import INDEXES

LEAVES = tuple(
    kind for kind, found in KINDS.items() if not any(f.takes.startswith("condition") for f in found.FIELDS)
)
STAGE_KEYS = tuple(key for key, _ in STAGES)
LISTS = ((), teeth.DEFAULT_PERMANENT, tuple(t for t in teeth.DEFAULT_PERMANENT if t != "47"))
"""Teeth that stand: not listed, all, all but one."""
SEEDS = st.integers(0, 2**32).map(Random)


def conditions(*kinds: str) -> st.SearchStrategy[Requirement]:
    """Conditions of the kinds, by default of any; groups hold up to three levels."""
    return SEEDS.map(lambda chance: requirements.read(condition_data(chance, kinds)))


def cases(share: float = 0.7) -> st.SearchStrategy[CaseFacts]:
    """Cases of which this share of the findings, and some other things, are recorded."""
    return SEEDS.map(lambda chance: random_case(chance, share))


def cells() -> st.SearchStrategy[dict[str, str]]:
    """Findings at single sites, all of them recorded."""
    return SEEDS.map(_cells)


def condition_data(chance: Random, kinds: tuple[str, ...] = (), depth: int = 3) -> dict[str, Any]:
    """JSON of a condition that can be read."""
    while True:
        kind = chance.choice(kinds or (tuple(KINDS) if depth > 1 else LEAVES))
        values = {field.key: _value(chance, field, depth) for field in KINDS[kind].FIELDS}
        data = _consistent(
            chance, {"kind": kind} | {key: one for key, one in values.items() if one is not None}
        )
        try:
            requirements.read(data)
        except requirements.RequirementRefused:
            continue
        return data


def _value(chance: Random, field: Field, depth: int) -> Any:
    """JSON for a field; None where it is left out."""
    if (not field.required or field.default is not None) and chance.random() < 0.4:
        return None
    keys = [key for key, _ in field.options]
    least, most = int(field.least or 0), int(field.most or 1000)
    match field.takes:
        case "choice":
            return chance.choice(keys)
        case "choices":
            return chance.sample(keys, chance.randint(1, min(len(keys), 4)))
        case "number":
            return _decimal(chance, max(least, -10), min(most, 60))
        case "whole":
            return chance.randint(least, min(most, 6))
        case "months":
            return chance.randint(least, min(most, 300))
        case "flag":
            return chance.random() < 0.5
        case "teeth":
            return chance.sample(teeth.PERMANENT, chance.randint(1, 4))
        case "condition":
            return condition_data(chance, depth=depth - 1)
        case "conditions":
            return [condition_data(chance, depth=depth - 1) for _ in range(chance.randint(1, 3))]
    return None


def _consistent(chance: Random, data: dict[str, Any]) -> dict[str, Any]:
    """Limits in order, and of a pattern of extractions its own field, which would seldom come by chance."""
    least, most = data.get("at_least"), data.get("at_most")
    if least is not None and most is not None and Decimal(least) > Decimal(most):
        return {**data, "at_least": most, "at_most": least}
    if data["kind"] == "extractions":
        own = {"at_least": "number", "quadrants": "quadrants", "teeth": "teeth", "only_teeth": "teeth"}
        some = {"number": 2, "quadrants": ["1", "4"], "teeth": ["14", "24"]}
        key = own.get(data["shape"])
        return {"kind": "extractions", "shape": data["shape"]} | ({key: some[key]} if key else {})
    return data


def _decimal(chance: Random, least: int, most: int) -> str:
    return format((Decimal(chance.randint(least * 2, most * 2)) / 2).normalize(), "f")


NUMBERS = {
    **{f"overjet {t}": (-6, 12) for t in teeth.UPPER_FRONT},
    **{f"overbite {t}": (-6, 9) for t in teeth.UPPER_FRONT},
    **{f"posterior_open_bite {t}": (0, 4) for t in ("16", "15", "25", "26")},
    "overbite_cover mouth": (0, 120),
    "crowding upper": (-8, 10),
    "crowding lower": (-8, 10),
    "anb mouth": (-6, 10),
    "sna mouth": (60, 100),
    "sn_mp mouth": (15, 55),
    "impa mouth": (70, 120),
    "functional_shift mouth": (0, 4),
    "midline_offset mouth": (-5, 5),
}
CODES = {
    **{f"crossbite {t}": "crossbite" for t in teeth.UPPER_BUCCAL if t not in teeth.THIRD_MOLARS},
    **{f"{q}_relation {side}": f"{q}_relation" for q in ("molar", "canine") for side in ("right", "left")},
    "incisor_class mouth": "incisor_class",
    "skeletal_asymmetry mouth": "skeletal_asymmetry",
    "impacted 13": "impacted",
    "impacted 23": "impacted",
}


def _cells(chance: Random) -> dict[str, str]:
    numbers = {place: _decimal(chance, least, most) for place, (least, most) in NUMBERS.items()}
    return numbers | {place: chance.choice(QUANTITIES[q].codes) for place, q in CODES.items()}


def random_case(chance: Random, share: float) -> CaseFacts:
    """A case of which this share of the findings is recorded."""
    stages = {stage: _stage(chance, stage, share) for stage in STAGE_KEYS if chance.random() < 0.8}
    scores = {
        (index, stage): _score(chance, index, stage)
        for stage in stages
        for index in INDEXES
        if chance.random() < 0.7
    }
    stated = {"asymmetry": chance.random() < 0.5} if chance.random() < 0.5 else {}
    presented = chance.choice((None, True, False))
    return CaseFacts(
        "A", "P", stages, _course(chance), scores, presented, stated, _maybe(chance, _day(chance))
    )


def _maybe(chance: Random, value: Any) -> Any:
    return value if chance.random() < 0.7 else None


def _day(chance: Random) -> date:
    return date(2018, 1, 1) + timedelta(days=chance.randint(0, 2500))


def _stage(chance: Random, stage: str, share: float) -> StageFacts:
    kept = {place: value for place, value in _cells(chance).items() if chance.random() < share}
    records = {
        key: RecordFact(chance.choice(("present", "not_taken", "not_filed")), chance.choice(("", "why")))
        for key in record_names.RECORDS
        if chance.random() < 0.8
    }
    return StageFacts(
        stage,
        _maybe(chance, _day(chance)),
        _maybe(chance, chance.randint(60, 700)),
        chance.choice(("", "mixed", "permanent")),
        _maybe(chance, sheet_of(kept, stage, chance.choice(LISTS))),
        records,
    )


def _score(chance: Random, index: str, stage: str) -> ScoreFact:
    last = chance.randint(1, 60)
    return ScoreFact(
        index,
        stage,
        INDEXES[index].editions[0],
        Decimal(chance.randint(0, 60)),
        chance.random() < 0.7,
        under=_maybe(chance, {"a=1": Decimal(chance.randint(0, 60)), "b=1": Decimal(chance.randint(0, 60))}),
        media=tuple(medium for medium in ("plaster", "scan", "radiograph") if chance.random() < 0.5),
        tails=_maybe(chance, {n: 1 - n / (last + 1) for n in range(last + 1)}),
        sd=_maybe(chance, 2.0),
    )


def _course(chance: Random) -> CourseFacts:
    return CourseFacts(
        {event: _day(chance) for event in EVENTS if chance.random() < 0.7},
        _maybe(chance, chance.randint(1, 3)),
        _maybe(chance, chance.randint(0, 80)),
        {phase: chance.randint(0, 40) for phase in (1, 2) if chance.random() < 0.6},
        _maybe(chance, frozenset(chance.sample(teeth.PERMANENT, chance.randint(0, 4)))),
        chance.choice((None, True, False)),
        _maybe(chance, frozenset(chance.sample(tuple(APPLIANCES), chance.randint(0, 3)))),
        _maybe(chance, {"candidate": Decimal(60), "another": Decimal(20), "": Decimal(20)}),
        {
            event: (chance.choice(tuple(HANDS)),)
            for event in ("appliances_on", "end")
            if chance.random() < 0.7
        },
        chance.choice((None, True, False)),
    )


def sheet_of(recorded: dict[str, str], stage: str = "initial", listed: tuple[str, ...] = ()) -> Sheet:
    """A sheet of `quantity site` → value."""
    method = "" if len(recorded) % 3 else "caliper"
    found = tuple(Finding(*_place(place), value, method=method) for place, value in recorded.items())
    return Sheet(stage, "permanent", found, listed, medium="plaster")


def _place(text: str) -> tuple[str, str]:
    quantity, site = text.split()
    return quantity, site
