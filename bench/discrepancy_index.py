"""Speed of the discrepancy index on a full sheet, each as a ratio to a bare if-chain in the same run.

The if-chain is the least that a program could do: it parses the same texts and adds up the points
under the default choices, without missing findings, lines, steps, choices or sources.
"""

import time
from collections.abc import Callable
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import pairwise

from portfolio.readings import Finding, Sheet, check
from scoring import registry

SECONDS = 1.5
ROUNDS = 3
ANGLES = {"anb": (6, -2, 4, 1, 4), "sn_mp": (38, 26, 2, 2, 1), "impa": (99, -999, 1, 1, 0)}


def full_sheet() -> Sheet:
    """A sheet of 120 findings of which the index reads about half."""
    upper = ["17", "16", "15", "14", "13", "12", "11", "21", "22", "23", "24", "25", "26", "27"]
    lower = ["47", "46", "45", "44", "43", "42", "41", "31", "32", "33", "34", "35", "36", "37"]
    front, behind = upper[4:10], upper[:4] + upper[10:]
    found = [
        Finding("overjet", t, v) for t, v in zip(front, ("3", "5.5", "8", "8.5", "6", "-1"), strict=True)
    ]
    found += [
        Finding("overbite", t, v) for t, v in zip(front, ("2", "4", "4.5", "5", "-1.5", "0"), strict=True)
    ]
    found += [Finding("posterior_open_bite", t, "0" if t != "14" else "1.5") for t in behind]
    found += [Finding("crossbite", t, "none" if t != "16" else "upper_inside") for t in behind]
    found += [
        Finding("palatal_contact", "mouth", "none"),
        Finding("crowding", "upper", "4"),
        Finding("crowding", "lower", "6.5"),
        Finding("molar_relation", "right", "full2"),
        Finding("molar_relation", "left", "beyond2"),
        Finding("molar_beyond", "left", "1.5"),
        Finding("anb", "mouth", "6.6"),
        Finding("sn_mp", "mouth", "39.4", plane="go_me"),
        Finding("impa", "mouth", "101", plane="go_me"),
        Finding("midline_offset", "mouth", "3"),
        Finding("skeletal_asymmetry", "mouth", "none"),
        Finding("missing", "mouth", "rest_none"),
        Finding("missing", "18", "congenital"),
        Finding("impacted", "mouth", "rest_none"),
        Finding("impacted", "38", "yes"),
        Finding("anomalous", "mouth", "rest_none"),
        Finding("anomalous", "12", "yes"),
    ]
    found += [Finding(q, "mouth", "none") for q in ("supernumerary", "ankylosed", "transposed")]
    for row in (upper, lower):
        found += [Finding("gap", f"{a}-{b}", "0.6" if a[1] in "12" else "0") for a, b in pairwise(row)]
    found += [Finding("tooth_width", t, "8.1") for t in upper[1:13] + lower[1:13]]
    found += [Finding("contact_offset", f"{a}-{b}", "1") for a, b in pairwise(front)]
    found += [Finding("rotation", t, "5") for t in upper[:3] + lower]
    made = Sheet("initial", "permanent", tuple(found[:120]))
    assert len(made.findings) == 120, len(found)
    assert check(made) == [], check(made)
    return made


def if_chain(findings: tuple[Finding, ...]) -> tuple[Decimal, dict[str, Decimal]]:
    """Total and categories of the same sheet, as barely as Python allows."""
    c: dict[str, Decimal] = {}
    one, zero = Decimal(1), Decimal(0)
    overjets: list[Decimal] = []
    overbites: list[Decimal] = []
    crowdings: list[Decimal] = []
    gaps: dict[str, list[bool]] = {"1": [], "2": [], "3": [], "4": []}
    for f in findings:
        q, v = f.quantity, f.value
        if q == "overjet":
            n = Decimal(v)
            if f.site[1] != "3":
                overjets.append(n)
            if n < 0:
                c["reverse"] = c.get("reverse", zero) + max(one, (-n).to_integral_value(ROUND_FLOOR))
        elif q == "overbite":
            n = Decimal(v)
            if f.site[1] != "3":
                overbites.append(n)
            if n <= 0:
                c["open"] = c.get("open", zero) + max(one, (-n).to_integral_value(ROUND_FLOOR))
        elif q == "posterior_open_bite":
            n = Decimal(v)
            if n >= 1:
                c["lateral"] = c.get("lateral", zero) + 2 * n.to_integral_value(ROUND_FLOOR)
        elif q == "crossbite":
            if v == "upper_inside":
                c["lingual"] = c.get("lingual", zero) + 1
            elif v == "upper_outside":
                c["buccal"] = c.get("buccal", zero) + 2
        elif q == "crowding":
            crowdings.append(Decimal(v))
        elif q == "gap":
            gaps[f.site[0]].append(Decimal(v) >= Decimal("0.5"))
        elif (q == "midline_offset" and abs(Decimal(v)) >= 3) or (
            q in ("impacted", "anomalous") and v == "yes" and f.site[1] != "8"
        ):
            c["other"] = c.get("other", zero) + 2
    chain_of_sides_and_angles(findings, c)
    chain_of_worst(max(overjets), max(overbites), max(crowdings), c)
    for first, second in (("1", "2"), ("4", "3")):
        if sum(a and b for a, b in pairwise(gaps[first] + gaps[second])) >= 4:
            c["other"] = c.get("other", zero) + 2
    return sum(c.values(), zero), c


def chain_of_sides_and_angles(findings: tuple[Finding, ...], c: dict[str, Decimal]) -> None:
    """First molars and the three angles."""
    zero, half = Decimal(0), Decimal("0.5")
    beyond = {f.site: Decimal(f.value) for f in findings if f.quantity == "molar_beyond"}
    for f in findings:
        q, v = f.quantity, f.value
        if q == "molar_relation":
            points = zero
            if v[:3] == "end":
                points = Decimal(2)
            elif v[:4] == "full":
                points = Decimal(4)
            elif v[:6] == "beyond":
                points = 4 + beyond[f.site].to_integral_value(ROUND_FLOOR)
            c["molars"] = c.get("molars", zero) + points
        elif q in ANGLES:
            n = Decimal(v)
            high, low, first, each, low_first = ANGLES[q]
            up = (n - high - half).to_integral_value(ROUND_CEILING)
            down = (low - n - half).to_integral_value(ROUND_CEILING)
            c[q] = first + each * up if up >= 0 else low_first + down if down >= 0 else zero


def chain_of_worst(worst: Decimal, deep: Decimal, crowded: Decimal, c: dict[str, Decimal]) -> None:
    """The rows in which only the greatest value scores."""
    if worst < 0 or 1 <= worst <= 3:
        c["overjet"] = Decimal(0)
    elif worst < 1:
        c["overjet"] = Decimal(1)
    else:
        c["overjet"] = Decimal(2 if worst <= 5 else 3 if worst <= 7 else 4 if worst <= 9 else 5)
    c["overbite"] = Decimal(0 if deep <= 3 else 2 if deep <= 5 else 3)
    c["crowding"] = Decimal(
        0 if crowded <= 1 else 1 if crowded <= 3 else 2 if crowded <= 5 else 4 if crowded <= 7 else 7
    )


def per_second(work: Callable[[], object]) -> float:
    """Best of some rounds."""
    best = 0.0
    for _ in range(ROUNDS):
        count, start = 0, time.perf_counter()
        while time.perf_counter() - start < SECONDS:
            work()
            count += 1
        best = max(best, count / (time.perf_counter() - start))
    return best


def fresh(made: Sheet) -> Sheet:
    """The same sheet with none of its lookups worked out."""
    return Sheet(made.stage, made.dentition, made.findings, made.teeth)


def main() -> None:
    made = full_sheet()
    total, _ = if_chain(made.findings)
    scored = registry.score("discrepancy", made, detail="totals").total
    assert scored == total, (scored, total)
    baseline = per_second(lambda: if_chain(made.findings))
    print(f"bare if-chain (baseline): {baseline:,.0f} sheets/s, total {total}")
    for detail, wanted in (("totals", 2000), ("lines", 800), ("all", 200)):
        rate = per_second(lambda d=detail: registry.score("discrepancy", fresh(made), detail=d))  # type: ignore[misc]
        print(
            f"{detail}: {rate:,.0f} sheets/s, {rate / baseline:.3f} of the baseline (asked: {wanted:,} sheets/s)"
        )


if __name__ == "__main__":
    main()
