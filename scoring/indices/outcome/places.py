"""What of a mouth the outcome evaluation scores, and what it leaves out.

Scored are permanent teeth that stand fully erupted, second molar to second molar, and the contacts
between two of them; missing and unerupted teeth close up.
"""

from collections.abc import Callable, Iterator

from portfolio import teeth
from portfolio.finding_sheet import Finding, Sheet
from scoring.result import Json

SECOND_MOLARS = {"17": "upper right", "27": "upper left", "47": "lower right", "37": "lower left"}
CANINES = ("13", "23", "33", "43")
LOWER_FIRST_PREMOLARS = ("34", "44")
_CUSPS = {
    ("upper", "4"): ("l",),
    ("upper", "5"): ("l",),
    ("upper", "6"): ("ml",),
    ("upper", "7"): ("ml",),
    ("lower", "4"): ("b",),
    ("lower", "5"): ("b",),
    ("lower", "6"): ("mb", "db"),
    ("lower", "7"): ("mb", "db"),
}
"""Functional cusps that are asked for; others score when they are recorded."""

THIRD_MOLAR, PRIMARY, PARTIAL = "third molar", "primary tooth", "not fully erupted"
_CAUSES = {"congenital": "never formed", "unknown": "cause unknown"}


def why_left_out(sheet: Sheet, tooth: str) -> str:
    """Why a tooth that stands is not scored; empty when it is."""
    if tooth in teeth.THIRD_MOLARS:
        return THIRD_MOLAR
    if teeth.is_primary(tooth):
        return PRIMARY
    return PARTIAL if tooth in sheet.partly_erupted else ""


def scored_teeth(sheet: Sheet) -> tuple[str, ...]:
    """Upper teeth from the patient's right to left, then lower ones."""
    standing, partly = sheet.standing, sheet.partly_erupted
    return tuple(t for t in teeth.DEFAULT_PERMANENT if t in standing and t not in partly)


def _upper(sheet: Sheet) -> tuple[str, ...]:
    return tuple(t for t in scored_teeth(sheet) if teeth.arch(t) == "upper")


def _inclined(sheet: Sheet) -> tuple[str, ...]:
    return tuple(t for t in scored_teeth(sheet) if teeth.is_posterior(t) and t not in LOWER_FIRST_PREMOLARS)


def _canine_to_second_molar(sheet: Sheet) -> tuple[str, ...]:
    return tuple(t for t in _upper(sheet) if teeth.number(t) >= 3)


def _cusps(sheet: Sheet) -> tuple[str, ...]:
    return tuple(f"{t}.{c}" for t in scored_teeth(sheet) for c in _CUSPS.get((teeth.arch(t), t[1]), ()))


def scored_contacts(sheet: Sheet) -> tuple[str, ...]:
    """Contacts of two scored neighbours."""
    scored = frozenset(scored_teeth(sheet))
    return tuple(
        contact
        for arch in ("upper", "lower")
        for contact in sheet.contacts[arch]
        if contact[:2] in scored and contact[3:] in scored
    )


def _ridges(sheet: Sheet) -> tuple[str, ...]:
    """Neighbours behind the canine that both have a marginal ridge to judge, whichever teeth they are."""

    def judged(tooth: str) -> bool:
        return teeth.is_posterior(tooth) and tooth not in LOWER_FIRST_PREMOLARS

    return tuple(c for c in scored_contacts(sheet) if judged(c[:2]) and judged(c[3:]))


def _roots_without_canines(sheet: Sheet) -> tuple[str, ...]:
    return tuple(t for t in scored_teeth(sheet) if t not in CANINES)


SITES: dict[str, Callable[[Sheet], tuple[str, ...]]] = {
    "every tooth": scored_teeth,
    "every tooth but canines": _roots_without_canines,
    "upper teeth": _upper,
    "upper canine to second molar": _canine_to_second_molar,
    "behind the canines, lower first premolars left out": _inclined,
    "functional cusps": _cusps,
    "contacts": scored_contacts,
    "contacts of marginal ridges": _ridges,
}
"""Which sites a row of the form asks for."""


def plans(sheet: Sheet) -> dict[str, Finding]:
    """Contact → what is planned for its gap.

    A plan may name the place of a tooth that is not there; it then speaks of the contact that closes
    over that place.  Where plans of one contact differ, keeping wins.
    """
    found: dict[str, Finding] = {}
    for plan in sorted(sheet.singles("gap_plan"), key=lambda f: (f.value == "keep", f.site)):
        contact = _closing_over(sheet, plan.site)
        if contact:
            found[contact] = plan
    return found


def _closing_over(sheet: Sheet, site: str) -> str:
    first, second = site[:2], site[3:]
    arch = teeth.arch(first)
    if site in sheet.contacts[arch]:
        return site
    row = teeth.round_the_arch(arch, sheet.standing | {first, second}, sheet.transposed)
    if first not in row or second not in row:
        return ""
    before = [t for t in row[: row.index(first) + 1] if t in sheet.standing]
    after = [t for t in row[row.index(second) :] if t in sheet.standing]
    return f"{before[-1]}-{after[0]}" if before and after else ""


def kept_gaps(sheet: Sheet) -> tuple[str, ...]:
    """Contacts whose space is to be kept."""
    if "gap_plan" not in sheet.by_quantity:
        return ()
    planned = plans(sheet)
    return tuple(c for c in scored_contacts(sheet) if c in planned and planned[c].value == "keep")


def casts_only(sheet: Sheet) -> bool:
    """Whether no panoramic radiograph was taken and no root is recorded all the same."""
    found = sheet.by_quantity.get("root_angulation", {})
    return len(found) == 1 and "mouth" in found and found["mouth"].value == "not_taken"


def left_out(sheet: Sheet) -> list[Json]:
    """Teeth of this mouth that are not scored, gaps that are kept, roots without a radiograph; each with why."""
    listed: list[Json] = [{"tooth": tooth, "why": why} for tooth, why in _teeth_left_out(sheet)]
    listed += [{"site": contact, "why": "space to be kept"} for contact in kept_gaps(sheet)]
    if casts_only(sheet):
        listed.append({"site": "mouth", "why": "roots: no panoramic radiograph, casts only"})
    return listed


def _teeth_left_out(sheet: Sheet) -> Iterator[tuple[str, str]]:
    scored = frozenset(scored_teeth(sheet))
    extra = (t for t in sheet.standing if t in teeth.THIRD_MOLARS or teeth.is_primary(t))
    for tooth in teeth.in_order((*teeth.DEFAULT_PERMANENT, *extra)):
        if tooth in scored:
            continue
        if tooth in sheet.standing:
            yield tooth, why_left_out(sheet, tooth)
        elif tooth in sheet.missing_teeth:
            cause = sheet.by_quantity["missing"][tooth].value
            yield tooth, f"missing: {_CAUSES.get(cause, cause)}"
        else:
            impacted = sheet.at("impacted", tooth)
            yield tooth, "impacted" if impacted is not None and impacted.value == "yes" else "not erupted"
