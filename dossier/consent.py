"""Whether faces may be printed: purpose examination and medium faces in one consent that is in force."""

from collections.abc import Sequence

from portfolio.selectors import ConsentFacts
from portfolio.services.patients import MEDIA, PURPOSES

IN_FORCE = "in force"
WAY_OUT = "Record a consent that allows it, or print without faces."


def why_no_faces(consents: Sequence[ConsentFacts]) -> str:
    """Why faces may not be printed, in words; empty when they may."""
    fitting = [
        one for one in consents if PURPOSES["examination"] in one.purposes and MEDIA["faces"] in one.media
    ]
    if any(one.standing == IN_FORCE for one in fitting):
        return ""
    if not fitting:
        return "no consent for this board examination names faces"
    return f"the consent that names faces for this board examination is {fitting[0].standing}"
