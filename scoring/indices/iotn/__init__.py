"""The dental health component of the index of orthodontic treatment need: grades 1 to 5 with a letter.

Sources: Brook and Shaw, Eur J Orthod 1989;11:309-320, as reprinted; Richmond, Roberts and Andrews,
Br J Orthod 1994;21:175-184 for its use after treatment.
"""

from decimal import Decimal
from functools import lru_cache

from portfolio.finding_sheet import Finding, Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Component, Hit, Tallies, Tally, gathered
from scoring.index import Index, Reckoned, Terms
from scoring.indices.iotn import rules
from scoring.indices.iotn.bite import Crossbite, DeepBite, Displacement, Molars, OpenBite, ScissorBite
from scoring.indices.iotn.choices import CHOICES
from scoring.indices.iotn.front import Overjet, Reverse
from scoring.indices.iotn.grades import LABELS
from scoring.indices.iotn.letters import Asked, Letter, firing, still_deciding
from scoring.indices.iotn.single_teeth import (
    Cleft,
    ExtraTeeth,
    Impeded,
    NeverFormed,
    Submerged,
    Tipped,
)
from scoring.result import Json, Verdict
from scoring.shapes import ZERO, plain

AESTHETIC_NEED = ((4, "no or slight need"), (7, "borderline need"), (10, "need"))
"""Highest number of the aesthetic component and what it says."""


@lru_cache(maxsize=16)
def components(choices: tuple[tuple[str, str], ...], edition: str) -> tuple[Component, ...]:
    """The letters in the order in which they are searched, and what is asked for all of them."""
    any_counts = dict(choices)["reverse_overjet"] == "any"
    by_function = tuple(rules.REVERSE.items())
    letters = (
        Letter("i", Impeded(rules.IMPEDED, rules.ERUPTION_SPACE, tuple(rules.SUPPORT_ZONE.items()))),
        Letter("h", NeverFormed(rules.NEVER_FORMED)),
        Letter("p", Cleft(rules.CLEFT), in_primary=True),
        Letter("s", Submerged(rules.SUBMERGED)),
        Letter("t", Tipped(rules.TIPPED)),
        Letter("x", ExtraTeeth(rules.EXTRA)),
        Letter("a", Overjet(tuple(rules.OVERJET.items())), by_size=True),
        Letter("m", Reverse("m", by_function, any_counts), by_size=True),
        Letter("b", Reverse("b", by_function, any_counts), by_size=True),
        Letter(
            "c",
            Crossbite(
                rules.CROSSED,
                tuple(rules.ACROSS_BY_SHIFT.items()),
                tuple(rules.FRONT_ACROSS.items()),
                rules.ACROSS_UNKNOWN,
                rules.ACROSS_NOT_RECORDED,
                any_counts,
            ),
        ),
        Letter("l", ScissorBite(rules.SCISSORS)),
        Letter("d", Displacement(rules.DISPLACEMENT), by_size=True),
        Letter("e", OpenBite(rules.OPEN_FRONT, rules.OPEN_BEHIND), by_size=True),
        Letter("f", DeepBite(rules.PALATAL_CONTACT, rules.OVERBITE), by_size=True),
        Letter("g", Molars(rules.MOLARS)),
    )
    return (*letters, Asked(letters))


def reckon(index: Index, sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """The worst letter is the grade; complete as soon as nothing that is missing could change it."""
    fired = firing(found)
    shown: Tallies = []
    winner = ""
    for letter, hit in fired:
        shown.append((f"{plain(hit.raw)}{letter}", Tally([hit._replace(beaten_by=winner)])))
        winner = winner or f"{hit.findings[0].quantity} {hit.site}"
    fires = {id(hit) for _, hit in fired}
    for letter, tally in found:
        rest = [_beside(letter, h, bool(fired)) for h in tally.hits if id(h) not in fires]
        if rest:
            shown.append((letter, Tally(rest)))
    missing = gathered(still_deciding(found))
    grade = f"{plain(fired[0][1].raw)}{fired[0][0]}" if fired else "1"
    aesthetic = sheet.at("aesthetic_component", "mouth")
    extra: dict[str, Json] = {
        "grade": grade,
        "aesthetic_component": None if aesthetic is None else plain(aesthetic.number),
    }
    total = Decimal(grade[0])
    return Reckoned(total, not missing, missing, {}, shown, _verdicts(aesthetic), extra)


def _beside(letter: str, hit: Hit, something_fires: bool) -> Hit:
    """A hit that does not fire; molars off Class I say why."""
    if letter == "g" and hit.raw and not hit.beaten_by and something_fires:
        return hit._replace(rule=rules.OFF_CLASS_I_BESIDE, value=None, raw=ZERO)
    return hit


def _verdicts(aesthetic: Finding | None) -> tuple[Verdict, ...]:
    if aesthetic is None:
        return ()
    says = next(words for highest, words in AESTHETIC_NEED if aesthetic.number <= highest)
    said = f"aesthetic component {plain(aesthetic.number)}: {says}"
    return (Verdict("aesthetic_need", said, cite("iotn_on_casts")),)


def outside(sheet: Sheet) -> str:
    """Why the index has no meaning for a sheet, or an empty text; in the primary dentition p alone is read."""
    if sheet.stage == "final":
        return "after treatment the need index tells residual need"
    if sheet.stage != "initial":
        return f"the need index is meant for records before treatment, not for {sheet.stage} ones"
    return ""


INDEX = Index(
    key="iotn",
    label="Index of treatment need, dental health component",
    editions=("1989",),
    categories={},
    choices=CHOICES,
    components=components,
    outside=outside,
    extra_asks=(Ask("aesthetic_component", ("mouth",), needed=False),),
    reckon=reckon,
    line_labels=LABELS
    | {f"{g}{letter}": f"{g}{letter}: {words}" for g in range(2, 6) for letter, words in LABELS.items()},
    counted_in="grade",
    revision=f"1: aesthetic component {AESTHETIC_NEED}",
)
