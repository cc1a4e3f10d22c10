"""Writing the case log: rows added, changed and deleted one by one, files imported whole, each step taken back."""

from portfolio.case_log.services.answers import (
    Added,
    Changed,
    Entry,
    Imported,
    Refused,
    Saved,
    Undone,
)
from portfolio.case_log.services.importing import import_rows, merged, row_faults
from portfolio.case_log.services.saving import add_row, delete_row, save_fields
from portfolio.case_log.services.undoing import undo

__all__ = [
    "Added",
    "Changed",
    "Entry",
    "Imported",
    "Refused",
    "Saved",
    "Undone",
    "add_row",
    "delete_row",
    "import_rows",
    "merged",
    "row_faults",
    "save_fields",
    "undo",
]
