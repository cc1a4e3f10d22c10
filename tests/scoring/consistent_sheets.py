"""Full sheets that agree with the answers of a case log: the answers put where they belong, the rest drawn at random."""

from decimal import Decimal

from hypothesis import strategies as st

from portfolio import teeth
from portfolio.case_log.answers import Answers
from portfolio.quantities.occlusion import MOLAR_LABELS
from portfolio.readings import Finding, Sheet

FRONT = teeth.UPPER_FRONT
INCISORS = teeth.UPPER_INCISORS
COUNTED_BEHIND = tuple(t for t in teeth.UPPER_BUCCAL if t not in teeth.THIRD_MOLARS)
MOLARS = tuple(MOLAR_LABELS)
ANSWERED = frozenset(("overjet", "overbite", "molar_relation", "crowding", "crossbite", "anb", "sn_mp"))


def tenths(low: str, high: str) -> st.SearchStrategy[str]:
    """Numbers from low to high in tenths, as text."""
    return st.integers(int(Decimal(low) * 10), int(Decimal(high) * 10)).map(
        lambda n: format(Decimal(n) / 10, "f")
    )


def maybe(values: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.one_of(st.just(""), values)


@st.composite
def answers(draw: st.DrawFn) -> Answers:
    """Any row of a log that may be said."""
    overbite = draw(maybe(tenths("-9", "10")))
    is_open = bool(overbite) and Decimal(overbite) <= 0
    inside = draw(st.integers(0, 8))
    outside = draw(st.integers(0, 8 - inside))
    return Answers(
        overjet=draw(maybe(tenths("-9", "14"))),
        overbite=overbite,
        open_teeth=draw(maybe(st.integers(1, 6).map(str))) if is_open else "",
        molar_right=draw(maybe(st.sampled_from(MOLARS))),
        molar_left=draw(maybe(st.sampled_from(MOLARS))),
        crowding=draw(maybe(tenths("0", "12"))),
        crossbite_inside=draw(maybe(st.just(str(inside)))),
        crossbite_outside=draw(maybe(st.just(str(outside)))),
        anb=draw(maybe(tenths("-8", "14"))),
        sn_mp=draw(maybe(tenths("12", "60"))),
    )


@st.composite
def sheets(draw: st.DrawFn, said: Answers) -> Sheet:
    """A sheet that agrees with the answers; where nothing was said anything may stand."""
    found = [*_overjets(draw, said), *_overbites(draw, said), *_crossbites(draw, said)]
    for side, code in (("right", said.molar_right), ("left", said.molar_left)):
        code = code or draw(st.sampled_from(MOLARS))
        found.append(Finding("molar_relation", side, code))
        if code.startswith("beyond") and draw(st.booleans()):
            found.append(Finding("molar_beyond", side, draw(tenths("0", "6"))))
    worse = said.crowding or draw(tenths("-10", "12"))
    arches = draw(st.permutations(("upper", "lower")))
    # 0 also stands for spaced arches
    most = worse if Decimal(worse) or not said.crowding else draw(tenths("-10", "0"))
    found.append(Finding("crowding", arches[0], most))
    found.append(Finding("crowding", arches[1], draw(tenths("-10", most)) if Decimal(most) > -10 else most))
    for key in ("anb", "sn_mp"):
        value = said.text(key) or draw(maybe(tenths("-5", "45")))
        if value:
            found.append(Finding(key, "mouth", value))
    return Sheet("initial", "permanent", (*found, *_anything_else(draw)))


def _overjets(draw: st.DrawFn, said: Answers) -> list[Finding]:
    if not said.overjet:
        return [Finding("overjet", t, draw(tenths("-9", "12"))) for t in FRONT]
    value = Decimal(said.overjet)
    if value >= 0:
        holder = draw(st.sampled_from(INCISORS))
        others = {t: draw(tenths("-9", said.overjet if t in INCISORS else "12")) for t in FRONT}
    else:
        holder = draw(st.sampled_from(FRONT))
        others = {t: draw(tenths(said.overjet, said.overjet[1:])) for t in FRONT}
    return [Finding("overjet", t, v) for t, v in (others | {holder: said.overjet}).items()]


def _overbites(draw: st.DrawFn, said: Answers) -> list[Finding]:
    if not said.overbite:
        return [Finding("overbite", t, draw(tenths("-6", "8"))) for t in FRONT]
    if not said.is_open:
        holder = draw(st.sampled_from(INCISORS))
        found = {t: draw(tenths("-6", said.overbite if t in INCISORS else "8")) for t in FRONT}
        return [Finding("overbite", t, v) for t, v in (found | {holder: said.overbite}).items()]
    number = int(said.open_teeth) if said.open_teeth else draw(st.integers(1, 6))
    order = draw(st.permutations(FRONT))
    found = {t: draw(tenths(said.overbite, "0")) for t in order[1:number]}
    found |= {t: draw(tenths("0.1", "8")) for t in order[number:]}
    return [Finding("overbite", t, v) for t, v in (found | {order[0]: said.overbite}).items()]


def _crossbites(draw: st.DrawFn, said: Answers) -> list[Finding]:
    """The numbers said are those of the teeth in front of the third molars; these stand as they like."""
    order = draw(st.permutations(COUNTED_BEHIND))
    inside = int(said.crossbite_inside or draw(st.integers(0, 8 - int(said.crossbite_outside or 0))))
    room = len(order) - inside
    outside = int(said.crossbite_outside or draw(st.integers(0, room)))
    found = dict.fromkeys(order[:inside], "upper_inside")
    found |= dict.fromkeys(order[inside : inside + outside], "upper_outside")
    found |= {t: draw(st.sampled_from(("none", "edge"))) for t in order[inside + outside :]}
    found |= {t: draw(st.sampled_from(("none", "upper_inside", "upper_outside"))) for t in ("18", "28")}
    return [Finding("crossbite", t, v) for t, v in found.items()]


def _anything_else(draw: st.DrawFn) -> list[Finding]:
    """Whatever the log does not ask for."""
    options = (
        Finding("palatal_contact", "mouth", draw(st.sampled_from(("none", "contact", "trauma")))),
        Finding("overbite_cover", "mouth", draw(st.sampled_from(("40", "100", "130")))),
        Finding("posterior_open_bite", "16", draw(tenths("0", "4"))),
        Finding("impa", "mouth", draw(tenths("70", "115"))),
        Finding("missing", "35", draw(st.sampled_from(("congenital", "extracted", "unknown")))),
        Finding("impacted", "43", "yes"),
        Finding("supernumerary", "41", "2"),
        Finding("ankylosed", "36", "yes"),
        Finding("anomalous", "12", "yes"),
        Finding("transposed", "33", "yes"),
        Finding("gap", "11-21", draw(tenths("0", "4"))),
        Finding("midline_offset", "mouth", draw(tenths("-5", "5"))),
        Finding("skeletal_asymmetry", "mouth", draw(st.sampled_from(("none", "nonsurgical", "surgical")))),
        Finding("added_complexity", "mouth", "scarred gingiva"),
    )
    return [one for one in options if draw(st.booleans())]
