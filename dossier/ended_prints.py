"""Why a finished print may not be handed out any more: consent, pictures that were deleted, names that may stand in one."""

from collections.abc import Mapping
from datetime import datetime

from dossier.consent import WAY_OUT, why_no_faces
from imaging.selectors import HeldPicture, held_pictures
from jobs.models import Job
from portfolio.access import deleted_cases, visible_cases
from portfolio.ages import latest_day
from portfolio.selectors import patient_facts

PRINT_AGAIN = "Print the case again."


def why_withheld(job: Job, at: datetime) -> str:
    """Why the print that a job has made may not be handed out any more; empty while it may.

    A consent ends a print with faces on the first day that it is over anywhere on earth. Deleted cases are asked too:
    they may come back; their pictures stay as they are meanwhile.
    """
    held: Mapping[str, int] = job.options.get("holds", {})
    asker = job.asked_by
    case = visible_cases(asker).filter(public_id=job.subject).first()
    standing = held_pictures(asker, case) if held and case else {}
    now_faces = any(one.faces for key, one in standing.items() if key in held)
    if job.options.get("holds_faces", True) or now_faces:
        own = case or deleted_cases(asker).filter(public_id=job.subject).first()
        if own is None:
            return "The case of this print is not among your cases any more."
        if said := why_no_faces(patient_facts(own.patient, latest_day(at)).consents):
            return f"This print holds photographs of the face, and {said}. {WAY_OUT}"
    return _picture_ended(held, standing) if case else ""


def _picture_ended(held: Mapping[str, int], standing: Mapping[str, HeldPicture]) -> str:
    """What became of a picture so that no print may hold it as it was printed; empty when nothing did."""
    for key, masks in held.items():
        here = standing.get(key)
        if here is None:
            return f"This print holds a picture that was deleted since. {PRINT_AGAIN}"
        if here.masks > masks:
            return f"Part of a picture in this print was masked since: {here.label}. {PRINT_AGAIN}"
        if here.text_unchecked:
            return (
                f"Names, dates or numbers may stand in a picture of this print, and nobody states otherwise any more: "
                f"{here.label}. Look at it on its own page, state there that none is left, and print the case again."
            )
    return ""
