"""Changing the draft of a plan, one change after another; the last one can be taken back and done again."""

from plans import document, plan_file
from plans.models import TAKEN_BACK, Plan
from portfolio.services.saving import ChangedMeanwhile, save_version


def edit_draft(row: Plan, seen_version: int, plan: document.Plan, words: str) -> bool:
    """Save the changed draft; `words` say what was done ("slot A moved up").  False where nothing differs.

    Raises ChangedMeanwhile where another window has saved since `seen_version`; nothing is written then.
    """
    draft = plan_file.as_json(plan)
    if draft == row.draft and seen_version == row.version:
        return False
    changes = {"draft": draft, "before": row.draft, "last_change": words[:200], "name": plan.name}
    save_version(row, seen_version, changes)
    return True


def take_back(row: Plan, seen_version: int) -> str:
    """Bring back the draft before the last change; doing it twice does the change again.  Gives the words of it.

    Raises ChangedMeanwhile where another window has saved since, or there is nothing to take back.
    """
    if row.before is None:
        raise ChangedMeanwhile
    words = (
        row.last_change.removeprefix(TAKEN_BACK)
        if row.last_change.startswith(TAKEN_BACK)
        else f"{TAKEN_BACK}{row.last_change}"[:200]
    )
    back = {"draft": row.before, "before": row.draft, "last_change": words, "name": row.before["name"]}
    save_version(row, seen_version, back)
    return words
