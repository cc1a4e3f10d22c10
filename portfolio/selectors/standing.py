"""What stands on a sheet, for pages that save as one types: findings with their change numbers, and what can be undone."""

from dataclasses import dataclass

from portfolio import readings
from portfolio.models import ChangeAction, Finding, Sheet, SheetChange
from portfolio.selectors.sheets import round_the_casts
from portfolio.services.answers import Place
from portfolio.services.sheet_writing import as_reading

FAR_ENOUGH_BACK = 200


@dataclass(frozen=True, slots=True)
class Standing:
    """A sheet as rules read it, and for each place the change that wrote its finding."""

    sheet: readings.Sheet
    changed_in: dict[Place, int]


def standing(sheet: Sheet) -> Standing:
    """The findings of a sheet in one query; its record set is expected to be loaded with it."""
    rows = list(Finding.objects.filter(sheet=sheet))
    here = sheet.record_set
    return Standing(
        sheet=readings.Sheet(
            stage=here.stage,
            dentition=here.dentition,
            findings=tuple(sorted(map(as_reading, rows), key=round_the_casts)),
            teeth=tuple(here.teeth.split()),
            age_months=here.age_months,
            occlusion=here.occlusion,
            medium=sheet.medium,
        ),
        changed_in={(row.quantity, row.site, row.nth): row.changed_in for row in rows},
    )


def next_undo(sheet: Sheet) -> int:
    """Number of the newest change that is neither an undo nor undone; 0 when there is none."""
    changes = (
        SheetChange.objects.filter(sheet=sheet)
        .order_by("-number")
        .values_list("number", "action", "undoes__number")[:FAR_ENOUGH_BACK]
    )
    undone: set[int] = set()
    for number, action, undoes in changes:
        if number in undone:
            continue
        if action != ChangeAction.UNDO:
            return int(number)
        undone.add(undoes)
    return 0
