"""What has been published on totals of the outcome evaluation: experience of who passes, shifts between methods.

None of it is a rule, and nothing here says that a case has passed.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from portfolio.wording import medium_words
from scoring.indices.outcome.places import SECOND_MOLARS, casts_only, scored_teeth
from scoring.result import Verdict
from scoring.shapes import plain

BOARD_LIMIT = Decimal(27)
"""One board's published limit of a complete result, undated; a site may hold another."""

CAST_QUANTITIES = (
    "alignment_step",
    "ridge_step",
    "inclination_step",
    "occlusal_gap",
    "relation_step",
    "facing_gap",
    "gap",
)
_BY_METHOD = {"scan": "scan", "picture": "photograph"}
"""Method → the medium it tells where none is recorded."""


def usual_result(total: Decimal) -> str:
    """The word of the first statement: 19 or fewer, 20 to 29, 30 or more (Araujo 2009)."""
    if total < 20:
        return "usually pass"
    return "undetermined" if total < 30 else "usually fail"


def usual_result_with_30_open(total: Decimal) -> str:
    """The word of the second statement, which differs at exactly 30 (Santiago and Martinez)."""
    if total < 20:
        return "pass"
    return "borderline" if total <= 30 else "fail"


def panel_word(casts: Decimal) -> str:
    """What a panel of 69 orthodontists called a total of the casts (Song et al. 2013)."""
    if casts <= 16:
        return "satisfactory"
    return "acceptable" if casts <= 21 else "over what the panel called acceptable"


def published_experience(
    total: Decimal, casts: Decimal, complete: bool, board_limit: Decimal = BOARD_LIMIT
) -> Iterator[Verdict]:
    """How a total stands to what has been published; a floor is judged only where it decides already.

    `casts` is the total without the roots.
    """

    def here(value: Decimal, word: str, decided: bool) -> str:
        if not complete and not decided:
            return "cannot be told while findings are missing"
        return f"here {'' if complete else 'at least '}{plain(value)}, called “{word}” there"

    yield Verdict(
        "pass_experience",
        "published experience, not a rule: 19 or fewer usually pass, 20 to 29 undetermined, 30 or more "
        f"usually fail; {here(total, usual_result(total), total >= 30)}",
        cite("outcome_araujo"),
    )
    yield Verdict(
        "pass_experience_other",
        "another statement of the same, which differs at exactly 30: under 20 pass, 20 to 30 borderline, over "
        f"30 fail; {here(total, usual_result_with_30_open(total), total > 30)}",
        cite("outcome_santiago"),
    )
    yield Verdict(
        "panel_casts",
        "a panel of 69 orthodontists in one country, casts without roots: up to 16 satisfactory, up to 21 "
        f"acceptable; {here(casts, panel_word(casts), casts > 21)}",
        cite("outcome_panel"),
    )
    if complete:
        stands = f"here {plain(total)}, {'not over' if total <= board_limit else 'over'} this limit"
    elif total > board_limit:
        stands = f"here at least {plain(total)}, over this limit"
    else:
        stands = "cannot be told while findings are missing"
    yield Verdict(
        "board_limit",
        f"one board's published limit: {plain(board_limit)} or less; {stands}. Its other conditions are not judged "
        "here: its case management form, complexity and case criteria, high scores in single parts, second molars "
        "erupted and aligned, scored by hand on physical models",
        cite("outcome_board_pages"),
    )


def scope(sheet: Sheet) -> Iterator[Verdict]:
    """What a total does not hold: the roots without a radiograph, second molars that are not scored."""
    if casts_only(sheet):
        yield Verdict(
            "casts_only",
            "casts only: no panoramic radiograph was taken and the total holds no points of roots; do not compare "
            "it with totals that do",
            cite("outcome_settled"),
        )
    scored = scored_teeth(sheet)
    without = [words for tooth, words in SECOND_MOLARS.items() if tooth not in scored]
    if without:
        which = "" if len(without) == len(SECOND_MOLARS) else f" ({', '.join(without)})"
        yield Verdict(
            "second_molars",
            f"without second molars{which}: not the same total as one with all four",
            cite("outcome_board_pages"),
        )


def taken_on(sheet: Sheet) -> tuple[str, ...]:
    """On what the casts' findings were taken, in words; empty where nothing says so."""
    found: set[str] = set()
    tools: set[str] = set()
    for quantity in CAST_QUANTITIES:
        for finding in sheet.by_quantity.get(quantity, {}).values():
            medium = finding.medium or sheet.medium or _BY_METHOD.get(finding.method, "")
            if medium:
                found.add(medium)
            if medium == "plaster" and not finding.is_statement:
                tools.add(finding.method)
    gauge = {"plaster": "plaster casts with a gauge"} if tools == {"gauge"} else {}
    return tuple(sorted(gauge.get(medium, medium_words(medium)) for medium in found))


def method_shift(sheet: Sheet) -> Verdict:
    """How far totals by other methods lie apart, beside what this one was taken on."""
    taken = taken_on(sheet)
    mixed = " (mixed: the total has no published comparison)" if len(taken) > 1 else ""
    says = f"taken on {' and '.join(taken)}{mixed}" if taken else "not recorded on what it was taken"
    says += (
        "; published totals of the same casts shift by 5 to 9 points between methods: digital 9.0 ± 5.4 points over "
        "plaster (36 cases), 5.07 apart (30 cases)"
    )
    sources = [cite("outcome_hildebrand"), cite("outcome_okunami")]
    if "photographs" in taken:
        says += "; from photographs 5 of 20 raters were reliable in more than one part"
        sources.append(cite("outcome_wirtz"))
    return Verdict("method_shift", f"{says}; compare with totals taken the same way", "; ".join(sources))


def verdicts(
    sheet: Sheet, total: Decimal, categories: Mapping[str, Decimal | None], complete: bool, meant: bool
) -> tuple[Verdict, ...]:
    """Published statements on a total; experience only where something is recorded at a stage it is about."""
    said = list(scope(sheet))
    if meant and any(points is not None for points in categories.values()):
        said += published_experience(total, total - (categories["roots"] or Decimal(0)), complete)
    return (*said, method_shift(sheet))
