"""The bibliography: every rule and definition names one of these.

`certainty` says how far the text itself could be read when the entry was made:
`read` (the figure stands in a text that was read), `memory` (known, not confirmed in a text),
`derived` (follows by arithmetic), `practice` (common practice, no source).
"""

from functools import cache

from portfolio.error_sources import ERRORS
from portfolio.source import Source
from portfolio.tracing_sources import TRACING

__all__ = ["CERTAINTIES", "SOURCES", "Source", "cite"]


_ENTRIES = (
    Source(
        "di_slides",
        "Certifying board",
        "undated",
        "training slides on the discrepancy index (public copy)",
        "table of points",
    ),
    Source(
        "di_article",
        "Cangialosi TJ, Riolo ML, Owens SE Jr, et al.",
        "2004",
        "The discrepancy index: a measure of case complexity",
        "Am J Orthod Dentofacial Orthop 125:270-278",
    ),
    Source(
        "di_worksheet",
        "Certifying board",
        "about 2008",
        "later worksheet and instructions of the discrepancy index, as reprinted in case reports",
        "from memory",
    ),
    Source("di_settled", "Foliowright", "2026", "reading chosen where the published text is silent"),
    Source("practice", "common practice, no source", "", ""),
    Source(
        "iso3950",
        "ISO",
        "2016",
        "ISO 3950, Dentistry: designation system for teeth and areas of the oral cavity",
    ),
    Source(
        "par_1992",
        "Richmond S, Shaw WC, O'Brien KD, et al.",
        "1992",
        "The development of the PAR index: reliability and validity",
        "Eur J Orthod 14:125-139",
    ),
    Source(
        "icon_2000",
        "Daniels C, Richmond S",
        "2000",
        "The development of the index of complexity, outcome and need (ICON)",
        "J Orthod 27:149-162",
    ),
    Source(
        "iotn_1989",
        "Brook PH, Shaw WC",
        "1989",
        "The development of an index of orthodontic treatment priority",
        "Eur J Orthod 11:309-320",
    ),
    Source(
        "irregularity_1975",
        "Little RM",
        "1975",
        "The irregularity index: a quantitative score of mandibular anterior alignment",
        "Am J Orthod 68:554-563",
    ),
    Source(
        "tooth_size_1958",
        "Bolton WA",
        "1958",
        "Disharmony in tooth size and its relation to the analysis and treatment of malocclusion",
        "Angle Orthod 28:113-130",
    ),
    Source(
        "outcome_1998",
        "Casko JS, Vaden JL, Kokich VG, et al.",
        "1998",
        "Objective grading system for dental casts and panoramic radiographs",
        "Am J Orthod Dentofacial Orthop 114:589-599",
    ),
    Source(
        "outcome_2012",
        "Certifying board",
        "2012",
        "Grading system for dental casts and panoramic radiographs, revision of June 2012",
        "list of contents read, limits from memory",
    ),
    Source(
        "outcome_settled",
        "Foliowright",
        "2026",
        "outcome evaluation, reading chosen where the published text is silent",
    ),
    Source(
        "outcome_araujo",
        "Araujo",
        "2009",
        "outcome evaluation of 106 untreated good occlusions, thesis",
        "Saint Louis University",
    ),
    Source(
        "outcome_santiago",
        "Santiago, Martinez",
        "",
        "outcome evaluation of 64 cases of 2007 and 2008",
        "P R Health Sci J",
    ),
    Source(
        "outcome_panel",
        "Song et al.",
        "2013",
        "outcome evaluation against the judgement of 69 orthodontists",
        "Am J Orthod Dentofacial Orthop 144:391-397",
    ),
    Source(
        "outcome_board_pages",
        "Certifying board",
        "undated",
        "pages on mail-in questions and case records (public copies)",
    ),
    Source(
        "outcome_hildebrand",
        "Hildebrand et al.",
        "2008",
        "outcome evaluation on digital and plaster casts of 36 cases",
        "Am J Orthod Dentofacial Orthop 133:283-289",
    ),
    Source(
        "outcome_okunami",
        "Okunami et al.",
        "2007",
        "outcome evaluation on digital and plaster casts of 30 cases",
        "Am J Orthod Dentofacial Orthop 131:51-56",
    ),
    Source(
        "outcome_wirtz", "Wirtz", "", "outcome evaluation from photographs, thesis", "Saint Louis University"
    ),
    Source("wheeler", "Wheeler RC", "", "Dental anatomy: widths of crowns", "from memory"),
    Source(
        "tooth_size_1962",
        "Bolton WA",
        "1962",
        "The clinical application of a tooth-size analysis",
        "Am J Orthod 48:504-529, means and deviations as quoted by an encyclopaedia page",
    ),
    Source(
        "tooth_size_limits",
        "Othman S, Harradine N",
        "2007",
        "Tooth size discrepancies in an orthodontic population",
        "Angle Orthod 77:668-674",
    ),
    Source("tooth_size_settled", "Foliowright", "2026", "reading chosen where the published text is silent"),
    Source(
        "space_lectures",
        "Lecturers of two universities",
        "2022 and undated",
        "lecture slides on cast analysis and space analysis (public copies)",
        "available less required, four segments or one piece",
    ),
    Source(
        "tanaka_johnston_1974",
        "Tanaka MM, Johnston LE",
        "1974",
        "The prediction of the size of unerupted canines and premolars in a contemporary orthodontic population",
        "J Am Dent Assoc 88:798-801, equations as quoted by an encyclopaedia page",
    ),
    Source(
        "moyers_1973",
        "Moyers RE",
        "1973",
        "Handbook of orthodontics: probability table, 75 %, sexes pooled",
        "from memory",
    ),
    Source(
        "crowding_words",
        "Cobourne MT, DiBiase AT",
        "2010",
        "Handbook of orthodontics: mild, moderate and severe crowding",
        "as quoted by a teaching page",
    ),
    Source("space_settled", "Foliowright", "2026", "reading chosen where the published text is silent"),
    Source(
        "widths_1957",
        "Moorrees CFA, Thomsen SO, Jensen E, Yen PK",
        "1957",
        "Mesiodistal crown diameters of the deciduous and permanent teeth in individuals",
        "J Dent Res 36:39-47, means and deviations from memory",
    ),
    Source(
        "clinic_widths",
        "A clinic",
        "undated",
        "ranges of tooth widths printed with a student's dental analysis (shared document)",
        "table read",
    ),
    Source(
        "hint_limits",
        "Foliowright",
        "2026",
        "limit chosen for a hint: a second look, never a rule; common practice, no source",
    ),
    Source(
        "cephalometry",
        "Steiner 1953, Downs 1948, Tweed 1954, Ricketts 1960 and others",
        "",
        "cephalometric analyses",
        "definitions as listed with each measure",
    ),
    Source(
        "par_form",
        "Austrian dental chamber and social insurers",
        "undated",
        "form and instructions for the evaluation of treatment by the PAR index",
        "table of points, weights, conventions",
    ),
    Source(
        "par_1992_rules",
        "Richmond S, Shaw WC, O'Brien KD, et al.",
        "1992",
        "The development of the PAR index, rules as passed on",
        "from memory",
    ),
    Source(
        "par_outcome_1992",
        "Richmond S, Shaw WC, Roberts CT, Andrews M",
        "1992",
        "The PAR index: methods to determine outcome of treatment in terms of improvement and standards",
        "Eur J Orthod 14:180-187",
    ),
    Source("par_settled", "Foliowright", "2026", "reading of the PAR index chosen where its text is silent"),
    Source(
        "par_us_1995",
        "DeGuzman L, Bahiraei D, Vig KWL, et al.",
        "1995",
        "The validation of the peer assessment rating index for malocclusion severity and treatment difficulty",
        "Am J Orthod Dentofacial Orthop 107:172-176, weights from memory",
    ),
    Source(
        "par_need_2002",
        "Firestone AR, Beck FM, Beglin FM, Vig KWL",
        "2002",
        "Evaluation of the peer assessment rating (PAR) index as an index of orthodontic treatment need",
        "Am J Orthod Dentofacial Orthop 122:463-469",
    ),
    Source(
        "icon_2000_rules",
        "Daniels C, Richmond S",
        "2000",
        "Index of complexity, outcome and need, rules as passed on",
        "from memory",
    ),
    Source(
        "icon_annex",
        "Public annex in Portuguese",
        "undated",
        "explanation of the index of complexity, outcome and need",
        "components and conventions",
    ),
    Source(
        "icon_need_2015",
        "Torkan S, Pakshir HR, Fattahi HR, et al.",
        "2015",
        "An analytical study on an orthodontic index: index of complexity, outcome and need (ICON)",
        "43 as the cut-off of need",
    ),
    Source("icon_settled", "Foliowright", "2026", "reading of ICON chosen where its text is silent"),
    Source(
        "iotn_lists",
        "Brook PH, Shaw WC, as reprinted",
        "2019 and undated",
        "dental health component: quick reference sheet (grades 3 to 5), table 1 of PMC10329520 (grade 2)",
        "limits of the letters",
    ),
    Source(
        "iotn_grade_5",
        "University of Manchester",
        "undated",
        "public page on the index of orthodontic treatment need, grade 5",
        "impeded eruption, submerged primary teeth",
    ),
    Source(
        "iotn_quadrants",
        "Seminar after Davies",
        "2020",
        "shared seminar on treatment need (document 578111752)",
        "missing teeth counted by quadrant",
    ),
    Source(
        "iotn_on_casts",
        "Two decks of teaching cards",
        "undated",
        "conventions of the need index, also on casts without clinical notes",
        "lips, shift, function, exact limits, aesthetic component",
    ),
    Source(
        "iotn_support_zone",
        "Austrian dental chamber and social insurers",
        "undated",
        "instructions for the need index",
        "impeded eruption measured on casts",
    ),
    Source(
        "iotn_memory",
        "Brook PH, Shaw WC",
        "1989",
        "The development of an index of orthodontic treatment priority, rules as passed on",
        "from memory",
    ),
    Source(
        "iotn_settled", "Foliowright", "2026", "reading of the need index chosen where its text is silent"
    ),
    Source(
        "irregularity_page",
        "Encyclopaedia page after Little RM 1975",
        "undated",
        "Little's irregularity index",
        "five displacements, bands in whole millimetres",
    ),
    Source(
        "irregularity_settled",
        "Foliowright",
        "2026",
        "reading of the irregularity index chosen where its text is silent",
    ),
    *TRACING,
    *ERRORS,
)
SOURCES: dict[str, Source] = {entry.key: entry for entry in _ENTRIES}
CERTAINTIES = ("read", "memory", "derived", "practice")


@cache
def cite(key: str) -> str:
    """The citation of a source as one line of text; KeyError for an unknown key."""
    return str(SOURCES[key])
