"""Facts from the patient, the face and the history."""

from decimal import Decimal

from portfolio.quantity import ANY_TOOTH, MOUTH, Quantity, SiteRule

_YES_NO_UNKNOWN = ("yes", "no", "unknown")


def _number(
    key: str, label: str, low: int, high: int, definition: str, site: SiteRule = MOUTH, sign: str = ""
) -> Quantity:
    return Quantity(
        key=key,
        label=label,
        kind="number",
        unit="mm",
        minimum=Decimal(low),
        maximum=Decimal(high),
        site=site,
        group="clinical",
        method="clinical",
        definition=definition,
        sign=sign,
    )


def _code(
    key: str,
    label: str,
    codes: tuple[str, ...],
    definition: str,
    site: SiteRule = MOUTH,
    source: str = "practice",
    how: str = "",
) -> Quantity:
    return Quantity(
        key=key,
        label=label,
        kind="code",
        codes=codes,
        takes_unknown="unknown" in codes,
        site=site,
        group="clinical",
        method="clinical",
        definition=definition,
        source=source,
        how=how,
    )


QUANTITIES = (
    _code(
        "lip_competence",
        "Lips",
        ("competent", "incompetent", "unknown"),
        "Whether the lips meet at rest without strain.",
        source="iotn_1989",
        how="Look at the patient sitting upright, lips relaxed, before saying what is looked at. Casts do not show it: "
        "cannot be told.",
    ),
    _code(
        "function_problem",
        "Speech or chewing",
        _YES_NO_UNKNOWN,
        "Whether speech or chewing is impaired.",
        source="iotn_1989",
        how="Ask about biting off and chewing, listen to the speech. Casts do not show it: cannot be told.",
    ),
    _code(
        "cleft_or_syndrome",
        "Cleft or syndrome",
        _YES_NO_UNKNOWN,
        "Whether a cleft of lip or palate or another craniofacial anomaly is present.",
        source="iotn_1989",
        how="From the examination and the history; a repaired cleft counts.",
    ),
    Quantity(
        key="aesthetic_component",
        label="Aesthetic component",
        kind="number",
        minimum=Decimal(1),
        maximum=Decimal(10),
        whole=True,
        site=MOUTH,
        group="clinical",
        method="eye",
        source="icon_2000",
        definition="Grade on the published scale of ten photographs: 1 is the most, 10 the least attractive arrangement.",
        how="The casts from the front or the patient's teeth against the photographs, which are not part of this app. "
        "The grade is for the look of the teeth as a whole, not for the photograph that resembles them.",
    ),
    _number(
        "incisor_show_rest",
        "Incisor shown at rest",
        -20,
        20,
        "Upper incisor shown below the resting upper lip.",
    ),
    _number(
        "incisor_show_smile", "Incisor shown on smiling", -20, 20, "Upper incisor shown on a full smile."
    ),
    _number(
        "gum_show_smile",
        "Gum shown on smiling",
        -20,
        20,
        "Gum shown above the upper incisors on a full smile.",
    ),
    _number(
        "chin_deviation",
        "Chin deviation",
        -30,
        30,
        "Chin against the midline of the face.",
        sign="plus: to the patient's left",
    ),
    _number(
        "occlusal_cant",
        "Occlusal cant",
        -30,
        30,
        "Difference of height between the sides.",
        sign="plus: lower on the patient's left",
    ),
    Quantity(
        key="maturation",
        label="Skeletal maturation",
        kind="number",
        minimum=Decimal(1),
        maximum=Decimal(6),
        whole=True,
        site=MOUTH,
        group="clinical",
        method="clinical",
        definition="Stage 1 to 6; the note names the method.",
    ),
    _number(
        "root_shortening",
        "Root shortening",
        0,
        25,
        "Loss of root length against the first radiograph.",
        ANY_TOOTH,
    ),
    _number("recession", "Recession", 0, 20, "Gum margin below the enamel edge.", ANY_TOOTH),
    _number("probing_max", "Deepest probing", 0, 20, "Deepest probing depth round the tooth.", ANY_TOOTH),
    _code(
        "decalcification",
        "Decalcification",
        ("yes", "no", "unknown"),
        "White or brown marks of the enamel.",
        ANY_TOOTH,
    ),
    _code(
        "untreated_caries", "Untreated caries", ("yes", "no", "unknown"), "Caries not yet treated.", ANY_TOOTH
    ),
    _code("hygiene", "Oral hygiene", ("good", "fair", "poor"), "General impression."),
    _code("joint_signs", "Jaw joints", ("none", "sound", "pain", "limited"), "Signs at the jaw joints."),
    _number("mouth_opening", "Mouth opening", 0, 80, "Greatest opening between the incisal edges."),
    Quantity(
        key="habit",
        label="Habit",
        kind="words",
        repeats=True,
        site=MOUTH,
        group="clinical",
        method="history",
        definition="A habit in words; each entry names one.",
    ),
)
