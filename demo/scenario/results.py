"""Results of one year: short cases before and after, measured for PAR and ICON only, made from a plain table."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from demo.scenario.plans import DemoCase, DemoPortfolio
from demo.scenario.treatments import short
from portfolio.readings import Finding, Sheet

UPPER = ("13-12", "12-11", "11-21", "21-22", "22-23")
LOWER = ("43-42", "42-41", "41-31", "31-32", "32-33")


@dataclass(frozen=True, slots=True)
class Mouth:
    """One stage in a line: millimetres by tooth or contact as `site=value`, offsets of five contacts in a row.

    `right` and `left` are the interdigitation of the sides, `midline` the share of a lower incisor in per
    cent, `looks` the aesthetic component.  An empty text was not recorded.
    """

    overjet: str
    overbite: str
    cover: str
    upper: str
    lower: str
    right: str
    left: str
    midline: str
    looks: str
    crowding: str
    gaps: str = ""
    crossbite: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One case of the table; ages in months."""

    note: str
    sex: str
    ages: tuple[int, int]
    before: Mouth
    after: Mouth


TABLE = (
    Row(
        "Overjet of 10 mm, lips apart",
        "male",
        (148, 175),
        Mouth("12=8.4 11=10.1 21=9.8 22=8.2", "11=4.8", "70", "0.8 1.2 0.4 1.4 0.9", "0.6 1.1 0.5 1.3 0.4",
              "cusp_to_cusp", "cusp_to_cusp", "10", "8", "1.5"),
        Mouth("11=2.8", "11=2.1", "25", "0.2 0.4 0.1 0.3 0.2", "0.3 0.5 1.2 0.4 0.2",
              "fitted", "off", "0", "2", "0"),
    ),
    Row(
        "Upright central incisors, deep bite",
        "female",
        (171, 200),
        Mouth("12=4.6 11=2.1 21=2.3 22=5.4", "11=7.6", "100", "1.8 2.6 0.3 2.4 1.5", "1.2 1.6 0.8 1.4 2.2",
              "cusp_to_cusp", "off", "30", "7", "5.5"),
        Mouth("12=2.6", "11=2.9", "40", "0.3 0.5 0.2 0.4 0.2", "0.2 0.4 0.3 0.5 0.4",
              "fitted", "fitted", "0", "2", "0"),
    ),
    Row(
        "Crowding of both arches, canines high",
        "female",
        (156, 186),
        Mouth("11=3.6", "11=2.8", "40", "5.2 2.4 1.3 3.1 6.0", "2.8 3.4 1.6 2.1 4.3",
              "off", "cusp_to_cusp", "60", "8", "9.5"),
        Mouth("11=2.4", "11=2.0", "20", "0.4 0.3 0.2 1.1 0.3", "0.4 0.6 0.3 0.2 0.5",
              "fitted", "fitted", "10", "2", "0"),
    ),
    Row(
        "Front teeth in reverse, mild",
        "male",
        (130, 149),
        Mouth("13=1.2 12=-0.8 11=-1.4 21=-1.1 22=0.6 23=1.5", "11=1.9", "20",
              "0.6 1.2 0.4 1.6 0.5", "0.4 0.6 0.3 0.8 0.5", "off", "off", "20", "5", "2.5", crossbite="16=edge"),
        Mouth("12=0.8 11=1.6 21=1.5 22=1.4", "11=1.4", "15", "0.3 0.5 0.2 0.6 0.4", "0.3 0.4 0.2 0.5 0.3",
              "off", "fitted", "0", "3", "0"),
    ),
    Row(
        "Open bite of 3 mm after thumb sucking",
        "female",
        (139, 163),
        Mouth("11=5.8", "12=-2.2 11=-3.1 21=-2.8 22=-1.6", "", "0.4 0.8 1.2 0.6 0.5", "0.3 0.5 0.4 0.6 0.3",
              "off", "off", "10", "6", "1.0", crossbite="16=upper_inside 15=upper_inside"),
        Mouth("11=3.3", "11=0.8", "10", "0.3 0.4 0.2 1.3 0.3", "0.3 0.2 0.4 0.3 0.2",
              "off", "fitted", "0", "3", "0"),
    ),
    Row(
        "Right side crossed, jaw slides over",
        "male",
        (127, 151),
        Mouth("11=3.2", "11=2.4", "30", "1.1 1.4 0.5 0.8 1.2", "0.9 1.5 0.7 0.6 0.8",
              "off", "fitted", "45", "5", "3.0",
              crossbite="14=upper_inside 15=upper_inside 16=upper_inside"),
        Mouth("11=2.6", "11=2.0", "25", "0.2 0.4 0.3 0.2 0.3", "0.4 0.3 0.2 0.5 0.3",
              "fitted", "off", "20", "2", "0"),
    ),
    Row(
        "Spaced upper front teeth",
        "female",
        (214, 232),
        Mouth("11=6.4", "11=3.4", "40", "0.4 0.6 0.2 0.5 0.3", "0.3 0.4 0.3 0.2 0.4",
              "off", "off", "0", "6", "-5.5", gaps="12-11=1.3 11-21=2.8 21-22=1.4"),
        Mouth("11=2.9", "11=2.3", "30", "0.2 0.3 0.1 0.2 0.3", "0.2 0.3 0.2 0.2 0.3",
              "off", "fitted", "0", "2", "0"),
    ),
    Row(
        "Moved away, appliance taken off early",
        "male",
        (165, 176),
        Mouth("11=6.2", "11=4.4", "70", "1.4 2.3 0.8 1.6 1.2", "1.1 1.8 0.9 1.3 2.4",
              "cusp_to_cusp", "off", "30", "6", "4.0"),
        Mouth("11=5.6", "11=4.0", "70", "0.6 1.2 0.4 0.8 1.1", "0.7 1.3 0.5 0.9 1.2",
              "cusp_to_cusp", "cusp_to_cusp", "30", "5", "1.5"),
    ),
    Row(
        "Canine out of line, final casts half measured",
        "female",
        (160, 179),
        Mouth("11=4.2", "11=3.0", "40", "2.6 0.9 0.4 1.2 3.8", "0.8 1.4 0.6 1.1 0.9",
              "off", "fitted", "0", "6", "4.5"),
        Mouth("11=2.5", "11=2.2", "25", "0.3 0.4 0.2 0.3 0.2", "0.4 0.3 0.5 0.2 0.3",
              "fitted", "", "", "2", "0"),
    ),
)  # fmt: skip


def sheet(stage: str, age_months: int, mouth: Mouth) -> Sheet:
    """The sheet of one stage."""
    return Sheet(
        stage,
        "permanent",
        findings=tuple(_findings(mouth)),
        age_months=age_months,
        occlusion="intercuspal",
        medium="plaster",
    )


def _findings(mouth: Mouth) -> Iterator[Finding]:
    yield from _pairs("overjet", mouth.overjet, "caliper", "rest_none")
    yield from _pairs("overbite", mouth.overbite, "caliper", "rest_none")
    for contacts, offsets in ((UPPER, mouth.upper), (LOWER, mouth.lower)):
        for contact, offset in zip(contacts, offsets.split(), strict=True):
            yield Finding("contact_offset", contact, offset, method="gauge")
    yield from _pairs("gap", mouth.gaps, "gauge", "rest_none" if mouth.gaps else "none")
    for contact in (pair.split("=")[0] for pair in mouth.gaps.split()):
        yield Finding("gap_plan", contact, "close", method="history")
    yield from _pairs("crossbite", mouth.crossbite, "eye", "rest_none" if mouth.crossbite else "none")
    for quantity in ("posterior_open_bite", "missing", "impacted"):
        yield Finding(quantity, "mouth", "none", method="eye")
    for quantity, site, value in (
        ("overbite_cover", "mouth", mouth.cover),
        ("buccal_interdigitation", "right", mouth.right),
        ("buccal_interdigitation", "left", mouth.left),
        ("midline_share", "mouth", mouth.midline),
        ("aesthetic_component", "mouth", mouth.looks),
        ("crowding", "upper", mouth.crowding),
    ):
        if value:
            yield Finding(quantity, site, value, method="eye")


def _pairs(quantity: str, pairs: str, method: str, rest: str) -> Iterator[Finding]:
    """Values of a row, and what is said of the rest of the mouth."""
    for pair in pairs.split():
        site, value = pair.split("=")
        yield Finding(quantity, site, value, method=method)
    yield Finding(quantity, "mouth", rest, method="eye")


def _cases() -> Iterator[DemoCase]:
    for number, row in enumerate(TABLE, start=1):
        before, after = row.ages
        yield DemoCase(
            note=row.note,
            locator=f"Shelf 5, box {number}",
            sex=row.sex,
            signer="guardian" if after < 18 * 12 else "patient",
            signed_on=date(2026, 2, number),
            sheets=(sheet("initial", before, row.before), sheet("final", after, row.after)),
            state="done",
            treatment=short(number, after - before - 2),
        )


RESULTS = DemoPortfolio(
    name="Results of one year",
    cases=tuple(_cases()),
    indices={"initial": ("par", "icon"), "final": ("par", "icon")},
)
