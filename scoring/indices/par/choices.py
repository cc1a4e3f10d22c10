"""Rule choices of PAR: where the published text is silent or its copies differ, and our defaults."""

from scoring.index import RuleChoice

CHOICES = (
    RuleChoice(
        "space_and_offset",
        "Contact with a space and an offset",
        (
            ("straight", "the straight distance between the contact points"),
            ("larger", "the larger of space and offset"),
        ),
        "Print measures the shortest distance between the contact points; some measure both ways and keep the larger.",
        ("upper_anterior", "lower_anterior"),
    ),
    RuleChoice(
        "transverse_single",
        "One tooth in scissor bite",
        (("form", "scores 2, as on the form"), ("papers", "scores nothing, as in the papers")),
        "The form counts one tooth in crossbite or scissor bite; the papers speak of crossbite only (from memory).",
        ("buccal",),
    ),
)
