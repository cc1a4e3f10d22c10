"""What the findings of a sheet rest on, and which findings rest on a picture."""

from dataclasses import dataclass

from portfolio.models import Evidence, Finding, RecordItem, Sheet
from portfolio.services.answers import EvidencePiece, Place
from portfolio.services.evidence_writing import piece_of
from portfolio.wording import quantity_words, site_words


def evidence_of(sheet: Sheet) -> dict[Place, tuple[EvidencePiece, ...]]:
    """Each finding that has evidence → its pieces as they stand now, in the order they were given; two queries."""
    points_to = {
        (quantity, site, nth, at)
        for quantity, site, nth, at in Finding.objects.filter(sheet=sheet, evidence_at__gt=0).values_list(
            "quantity", "site", "nth", "evidence_at"
        )
    }
    found: dict[Place, tuple[EvidencePiece, ...]] = {}
    for row in Evidence.objects.filter(sheet=sheet).select_related("item").order_by("pk"):
        place = (row.quantity, row.site, row.nth)
        if (*place, row.at_change) in points_to:
            found[place] = (*found.get(place, ()), piece_of(row))
    return found


@dataclass(frozen=True, slots=True)
class RestingFinding:
    """One finding that rests on a picture; `stands` is False where only the history of the sheet does."""

    label: str
    value: str
    reader: str
    stands: bool


def findings_resting_on(item: RecordItem, notation: str = "iso3950") -> tuple[RestingFinding, ...]:
    """The findings whose evidence is this picture, those that stand first; empty when nothing rests on it."""
    rows = Evidence.objects.filter(item=item).select_related("sheet__reader").order_by("pk")
    found: dict[tuple[int, str, str, int], RestingFinding] = {}
    for row in rows:
        place = (row.sheet_id, row.quantity, row.site, row.nth)
        now = Finding.objects.filter(
            sheet=row.sheet_id, quantity=row.quantity, site=row.site, nth=row.nth, evidence_at=row.at_change
        ).first()
        if now is None and place in found:
            continue
        label = quantity_words(row.quantity)
        if row.site != "mouth":
            label = f"{label}, {site_words(row.site, notation)}"
        found[place] = RestingFinding(
            label, now.value if now else "", str(row.sheet.reader), stands=now is not None
        )
    return tuple(sorted(found.values(), key=lambda one: not one.stands))
