"""The rule choice of the outcome evaluation."""

from scoring.index import RuleChoice

CHOICES = (
    RuleChoice(
        "exact_limit",
        "A value exactly at a limit",
        (
            ("lower", "belongs to the fewer points"),
            ("upper", "belongs to the more points"),
        ),
        "The limits are remembered as up to and over 0.5, 1 and 2 mm; the pages that print them could not be read, and "
        "the steps of the gauge lie at the very same values. No gap, or a pair that is centred, never loses a point.",
        ("alignment", "ridges", "inclination", "contacts", "relation", "overjet", "interproximal"),
    ),
)
