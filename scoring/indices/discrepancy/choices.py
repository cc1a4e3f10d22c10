"""Rule choices of the discrepancy index: where the published text is silent or open, and our defaults.

Principle: the rule as printed, or remembered from print; where print is silent, the reading with
fewer points of complexity.
"""

from scoring.index import RuleChoice

_PART_CATEGORIES = ("anterior_open_bite", "lateral_open_bite", "negative_overjet", "molar_relation")

CHOICES = (
    RuleChoice(
        "open_bite_start",
        "Anterior open bite starts",
        (
            ("millimetres", "full millimetres alone; a tooth edge to edge counts 1"),
            ("edge_point_plus", "1 for edge to edge and 1 for each millimetre beyond it"),
        ),
        "The printed table can be read as one point for edge to edge and one for each additional millimetre: "
        "a tooth 4 mm open scores 4 or 5.",
        ("anterior_open_bite",),
        "common practice, no source; fewer points than print",
    ),
    RuleChoice(
        "part_millimetre",
        "Part millimetres",
        (
            ("floor", "full millimetres only"),
            ("round_up", "a begun millimetre counts as a whole one"),
            ("fraction", "fractions of a point"),
        ),
        "For open bites print says full millimetres; for reverse overjet and beyond a full step nothing is readable.",
        _PART_CATEGORIES,
    ),
    RuleChoice(
        "part_degree",
        "Part degrees",
        (
            ("nearest", "whole degrees first, halves to the side of fewer points"),
            ("floor", "the whole degree toward fewer points"),
            ("fraction", "limits on the value as typed, then fractions of a point"),
        ),
        "The table is in whole degrees; print does not say how parts are read.",
        ("anb", "sn_mp", "impa"),
        "the nearest whole degree, not the reading with fewer points",
    ),
    RuleChoice(
        "overjet_under_1",
        "Overjet between 0 and 1 mm",
        (("1", "1 point, like edge to edge"), ("0", "no point")),
        "The later table leaves a gap between 0 and 1 mm; the older one gives 1.",
        ("overjet",),
    ),
    RuleChoice(
        "overbite_over_7",
        "Overbite over 7 mm without full cover or contact",
        (("3", "3 points, like over 5 to 7 mm"), ("5", "5 points, like full cover")),
        "No band is printed over 7 mm.",
        ("overbite",),
    ),
    RuleChoice(
        "diastema",
        "Gap between the upper central incisors",
        (("over_2", "scores when over 2 mm"), ("from_2", "scores from 2 mm on")),
        "One edition prints over 2 mm, the other at least 2 mm.",
        ("other",),
    ),
    RuleChoice(
        "blocked_canine",
        "Blocked-out canine",
        (
            ("crowding_only", "counts as crowding alone"),
            ("also_impaction", "also scores as an impaction"),
        ),
        "Print does not say whether a canine that is blocked out is an impaction as well.",
        ("other",),
    ),
    RuleChoice(
        "crowding_1",
        "Crowding of exactly 1 mm",
        (("0", "no point"), ("1", "1 point, as printed")),
        "Print starts the first band at 1 mm.",
        ("crowding",),
        "common practice, no source; fewer points than print",
    ),
    RuleChoice(
        "midline_against",
        "Midline is judged against",
        (
            ("arches", "the other arch"),
            ("face", "the face, the greater of the two midlines"),
        ),
        "Print names the midline without saying against what.",
        ("other",),
    ),
    RuleChoice(
        "mandibular_plane",
        "Mandibular plane",
        (
            ("go_me", "gonion to menton"),
            ("go_gn", "gonion to gnathion"),
            ("tangent", "tangent of the lower border"),
        ),
        "About 3° apart, 6 points in a steep case. One case uses one plane at every stage.",
        ("sn_mp", "impa"),
        alternative=False,
    ),
    RuleChoice(
        "missing_closed",
        "Missing tooth whose space is closed",
        (("1", "scores 1 like any missing tooth"), ("0", "scores nothing")),
        "Print does not say. A tooth that never formed always scores 2.",
        ("other",),
    ),
    RuleChoice(
        "spaced_teeth",
        "A spaced tooth has a gap",
        (("both_contacts", "on both sides"), ("any_contact", "on either side")),
        "Four or more spaced teeth in an arch make generalized spacing; print does not say when a tooth is spaced.",
        ("other",),
    ),
    RuleChoice(
        "third_molars_behind",
        "Third molars in open bite and crossbite",
        (("counted", "counted"), ("left_out", "left out")),
        "The instructions remembered go back to the third molar; print does not say.",
        ("lateral_open_bite", "lingual_crossbite", "buccal_crossbite"),
    ),
    RuleChoice(
        "retained_primary",
        "Primary tooth whose successor never formed",
        (
            ("as_congenital", "scores 2 like a tooth that never formed, once"),
            ("not_scored", "scores nothing"),
        ),
        "Print names the missing tooth, not the primary tooth that stands in for it.",
        ("other",),
    ),
)
AS_SHIPPED: dict[str, str] = {choice.id: choice.default for choice in CHOICES}
AS_PRINTED = {**AS_SHIPPED, "open_bite_start": "edge_point_plus", "crowding_1": "1"}
