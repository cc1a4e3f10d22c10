"""Sheets as rules and files read them."""

from collections.abc import Collection, Iterable

from django.db.models import QuerySet

from portfolio import readings, sites, teeth
from portfolio.models import Finding, RecordSet, Sheet, SheetPurpose
from portfolio.services.sheet_writing import as_reading
from portfolio.vocabulary import ORDER
from portfolio.wording import screen_naming


def reading(sheet: Sheet) -> readings.Sheet:
    """A stored sheet as the plain sheet that rules and files read, findings in the order round the casts."""
    return readings_of([sheet])[sheet.pk]


def readings_of(sheets: Iterable[Sheet]) -> dict[int, readings.Sheet]:
    """Many sheets by primary key, all findings in one query; record sets are expected to be loaded."""
    rows = {sheet.pk: sheet for sheet in sheets}
    findings: dict[int, list[readings.Finding]] = {number: [] for number in rows}
    for row in Finding.objects.filter(sheet__in=list(rows)):
        findings[row.sheet_id].append(as_reading(row))
    return {
        number: _plain(sheet, tuple(sorted(findings[number], key=round_the_casts)))
        for number, sheet in rows.items()
    }


def sheets_to_read(sheets: Iterable[Sheet]) -> dict[int, Sheet]:
    """Record set → the sheet that speaks for it: its sheet of record, else the first working one.

    The sheets come in the order of their making, with record sets loaded.
    """
    found: dict[int, Sheet] = {}
    for sheet in sheets:
        of_record = sheet.record_set.sheet_of_record_id == sheet.pk
        first = sheet.purpose == SheetPurpose.WORKING and sheet.record_set_id not in found
        if of_record or first:
            found[sheet.record_set_id] = sheet
    return found


def other_stages(sheet: Sheet, quantities: Collection[str]) -> tuple[readings.Sheet, ...]:
    """The working sheets of the case's other record sets with these quantities only; one query.

    The sheet comes with its record set loaded.
    """
    case = sheet.record_set.case_id
    rows = (
        Finding.objects.filter(
            sheet__record_set__case=case, sheet__purpose=SheetPurpose.WORKING, quantity__in=quantities
        )
        .exclude(sheet__record_set=sheet.record_set_id)
        .select_related("sheet__record_set")
    )
    found: dict[int, tuple[Sheet, list[readings.Finding]]] = {}
    for row in rows:
        found.setdefault(row.sheet_id, (row.sheet, []))[1].append(as_reading(row))
    return tuple(_plain(other, tuple(sorted(one, key=round_the_casts))) for other, one in found.values())


def planes_on_sheets(record_sets: QuerySet[RecordSet]) -> tuple[tuple[str, int, str], ...]:
    """Stage, its number and plane of findings on working sheets of these records that name one; each once."""
    rows = (
        Finding.objects.filter(sheet__record_set__in=record_sets, sheet__purpose=SheetPurpose.WORKING)
        .exclude(plane="")
        .order_by("sheet__record_set__pk", "pk")
        .values_list("sheet__record_set__stage", "sheet__record_set__ordinal", "plane")
    )
    return tuple(dict.fromkeys(rows))


def record_set_contradictions(record_set: RecordSet) -> tuple[str, ...]:
    """What the findings on a record set's sheets say against its stage, dentition and teeth."""
    sheets = Sheet.objects.filter(record_set=record_set).exclude(purpose=SheetPurpose.REPEAT)
    rows = list(sheets.select_related("record_set"))
    naming = screen_naming(record_set.case.patient.portfolio.notation)
    said = [
        str(fault) for plain in readings_of(rows).values() for fault in readings.check(plain, naming=naming)
    ]
    return tuple(dict.fromkeys(said))


def round_the_casts(finding: readings.Finding) -> tuple[int, int, bool, int, str, int]:
    """Sort key: quantities in the vocabulary's order, statements last, upper before lower, right to left."""
    named = sites.teeth_of(finding.site)
    first = named[0] if named else ""
    wide = sites.REGIONS.index(finding.site) if finding.site in sites.REGIONS else 0
    return (
        ORDER.get(finding.quantity, len(ORDER)),
        sites.width(finding.site),
        bool(first) and teeth.arch(first) == "lower",
        teeth.order(first) if first else wide,
        finding.site,
        finding.nth,
    )


def _plain(sheet: Sheet, findings: tuple[readings.Finding, ...]) -> readings.Sheet:
    here = sheet.record_set
    return readings.Sheet(
        stage=here.stage,
        dentition=here.dentition,
        findings=findings,
        teeth=tuple(here.teeth.split()),
        age_months=here.age_months,
        occlusion=here.occlusion,
        medium=sheet.medium,
    )
