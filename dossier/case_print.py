"""The print of one case as a kind of background work."""

from dossier.ended_prints import why_withheld
from dossier.printing import KIND, print_case
from dossier.services import ask_again
from jobs.registry import Kind


def page_of(subject: str) -> str:
    """Address of the page a case is printed from."""
    return f"/cases/{subject}/print/"


CASE_PRINT = Kind(KIND, "Print of one case", print_case, page=page_of, again=ask_again, withheld=why_withheld)
