"""Writing: plans, their drafts and versions, and what a portfolio is held against."""

from plans.services.choosing import choose_version, take_no_plan
from plans.services.drafts import edit_draft, take_back
from plans.services.plans import archive, copy_plan, make_plan, make_shipped, restore
from plans.services.versions import NothingNew, keep_version

__all__ = [
    "NothingNew",
    "archive",
    "choose_version",
    "copy_plan",
    "edit_draft",
    "keep_version",
    "make_plan",
    "make_shipped",
    "restore",
    "take_back",
    "take_no_plan",
]
