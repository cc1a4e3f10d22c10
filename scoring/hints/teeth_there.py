"""Hints about single teeth: widths outside the published range, teeth that are missing and are not."""

from collections.abc import Iterator

from portfolio import teeth
from portfolio.finding_sheet import Sheet
from portfolio.wording import site_words
from scoring.hints.hint import PRACTICE, Hint, hint, listed, numbers
from scoring.hints.published_widths import PUBLISHED
from scoring.shapes import plain


def width_outside_range(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """A permanent tooth wider or narrower than published; teeth of unusual size are left alone."""
    odd = {f.site for f in sheet.singles("anomalous")}
    widths = numbers(sheet, "tooth_width")
    for tooth in teeth.in_order(widths):
        known = None if teeth.is_primary(tooth) else PUBLISHED.get((tooth[0] in "12", teeth.number(tooth)))
        if known is None or tooth in odd:
            continue
        low, high = known.range
        if not low <= widths[tooth] <= high:
            yield hint(
                "width_outside_range",
                ("tooth_width",),
                (tooth,),
                f"{site_words(tooth, notation)} is {plain(widths[tooth])} mm wide; published widths run from "
                f"{plain(low)} to {plain(high)} mm.",
                "Look again at the width, at the tooth it was measured on and at the decimal point. A tooth of unusual "
                "size can be recorded as such.",
                "clinic_widths",
                "widths_1957",
            )


def neither_there_nor_missing(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """Permanent teeth of a permanent dentition that a list of teeth leaves out without a word."""
    if sheet.dentition != "permanent" or not sheet.teeth:
        return
    recorded = {f.site for q in ("eruption", "impacted") for f in sheet.singles(q)}
    left_out = sheet.unerupted - sheet.listed - recorded
    # second molars come late and are often not there yet
    silent = [t for t in left_out if teeth.number(t) <= 6 and sheet.holder(t) is None]
    if silent:
        yield hint(
            "neither_there_nor_missing",
            ("missing", "eruption"),
            silent,
            f"{listed(silent, notation)}: neither among the teeth that stand nor recorded as missing or unerupted.",
            "In the permanent dentition most teeth that are not there are missing; as it stands they count as "
            "unerupted. Look again at the teeth that stand.",
            PRACTICE,
        )


def kept_primary_against_successor(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """A primary tooth kept for want of a successor that is recorded, or waiting for one that is missing."""
    in_bone = {f.site for q in ("impacted", "eruption") for f in sheet.singles(q)}
    for finding in sorted(sheet.singles("retained_primary"), key=lambda f: f.site):
        successor = teeth.place(finding.site)
        tooth, after = (site_words(t, notation) for t in (finding.site, successor))
        if finding.value == "no_successor" and (successor in in_bone or successor in sheet.standing):
            words = f"{tooth} is kept because its successor never formed, and {after} is recorded as there."
        elif finding.value == "overdue" and successor in sheet.missing_teeth:
            words = f"{tooth} is kept because its successor is late, and {after} is recorded as missing."
        else:
            continue
        yield hint(
            "kept_primary_against_successor",
            ("retained_primary", "missing", "impacted", "eruption"),
            (finding.site, successor),
            words,
            "Only one of the two can be so. Look again at the radiograph.",
            PRACTICE,
        )


def extra_tooth_for_a_missing_one(sheet: Sheet, notation: str) -> Iterator[Hint]:
    """An extra tooth recorded at the very place of a missing one."""
    for finding in sorted(sheet.singles("supernumerary"), key=lambda f: f.site):
        if finding.site in sheet.missing_teeth:
            tooth = site_words(finding.site, notation)
            yield hint(
                "extra_tooth_for_a_missing_one",
                ("supernumerary", "missing"),
                (finding.site,),
                f"{tooth} is recorded as missing, and an extra tooth beside it.",
                "What looks like an extra tooth may be the missing one, small or out of place. Look again at both.",
                PRACTICE,
            )


CHECKS = (
    width_outside_range,
    neither_there_nor_missing,
    kept_primary_against_successor,
    extra_tooth_for_a_missing_one,
)
