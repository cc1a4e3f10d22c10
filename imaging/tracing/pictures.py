"""The picture under a tracing: how it lies as shown, and whether it can be traced."""

from imaging.operations import share_kept
from imaging.services import PRINT_PIXELS, WORKED_PIXELS
from imaging.tracing.on_picture import Shown, shown_picture
from portfolio.models import ItemState, RecordItem

VIEW = "lateral"


def picture_of(item: RecordItem) -> Shown:
    """From pixels of the original to those of the rendition that is traced on, the larger one."""
    worked = min(WORKED_PIXELS, round(PRINT_PIXELS / share_kept(item.operations)))
    return shown_picture((item.width or 1, item.height or 1), item.operations, PRINT_PIXELS, worked)


def traceable_fault(item: RecordItem) -> str:
    """Why a picture cannot be traced, in words; empty when it can."""
    if item.state != ItemState.PRESENT:
        return "There is no picture here to trace."
    if item.view != VIEW:
        return "Only lateral radiographs are traced. Assign the picture to that view first, if it is one."
    return ""
