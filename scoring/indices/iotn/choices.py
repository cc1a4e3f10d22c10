"""The one place where the text of the need index can be read in two ways; the default comes first."""

from scoring.index import RuleChoice

CHOICES = (
    RuleChoice(
        id="reverse_overjet",
        label="Reverse overjet when only some incisors are in reverse",
        options=(
            ("all_recorded", "graded as a crossbite unless every recorded incisor is in reverse"),
            ("any", "graded as a reverse overjet by the worst incisor"),
        ),
        why="Print names the reverse overjet and the crossbite without saying where one ends and the other begins.",
        categories=("m", "b", "c"),
    ),
)
