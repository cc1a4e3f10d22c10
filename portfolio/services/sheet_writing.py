"""The one way findings are written: one locked sheet, one short transaction, one line of history."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from accounts.models import User
from portfolio import readings, sites
from portfolio.contradictions import AS_IN_FILES, Naming
from portfolio.models import ChangeAction, Finding, Sheet, SheetChange
from portfolio.readings import Fault
from portfolio.services.answers import Beside, EvidencePiece, Place, Recorded, Refused, Stored, Theirs
from portfolio.services.evidence_writing import write_evidence
from portfolio.wording import screen_naming

PARTICULARS = ("method", "medium", "plane", "note", "sd")
BACKING = ("error_parts", "evidence_at")
"""What speaks for one value only: it goes with the value, where the particulars stay."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed for a finding, the value it means, and whether that was rounded to the sheet's step."""

    text: str = ""
    value: str = ""
    rounded: bool = False


@dataclass(slots=True)
class OpenSheet:
    """A sheet locked for writing, with all it holds."""

    row: Sheet
    stored: dict[Place, Finding]
    now: dict[Place, readings.Finding]
    """The stored rows as plain findings."""

    @property
    def teeth(self) -> tuple[str, ...]:
        """Teeth that stand, as the record set lists them."""
        return tuple(self.row.record_set.teeth.split())

    def faults(self, findings: Iterable[readings.Finding], naming: Naming = AS_IN_FILES) -> list[Fault]:
        """Contradictions of these findings with each other and with the record set."""
        here = self.row.record_set
        return readings.check(
            readings.Sheet(
                stage=here.stage,
                dentition=here.dentition,
                teeth=self.teeth,
                occlusion=here.occlusion,
                medium=self.row.medium,
                findings=tuple(findings),
            ),
            naming=naming,
        )

    @property
    def naming(self) -> Naming:
        """What the pages of this sheet's portfolio call teeth and quantities."""
        return screen_naming(self.row.record_set.case.patient.portfolio.notation)


@dataclass(slots=True)
class Wanted:
    """Findings to stand after the change (None = cleared), what was typed, and what comes along and why."""

    findings: dict[Place, readings.Finding | None] = field(default_factory=dict)
    typed: dict[Place, Typed] = field(default_factory=dict)
    beside: dict[Place, str] = field(default_factory=dict)
    evidence: dict[Place, tuple[EvidencePiece, ...]] = field(default_factory=dict)


def as_reading(row: Finding) -> readings.Finding:
    """A stored row as the plain finding that rules read."""
    return readings.Finding(
        quantity=row.quantity,
        site=row.site,
        value=row.value,
        nth=row.nth,
        **{name: getattr(row, name) for name in PARTICULARS},
        error_parts=tuple(sorted(row.error_parts.items())),
        evidence_at=row.evidence_at,
    )


def open_sheet(sheet: Sheet) -> OpenSheet:
    """Lock the sheet for the transaction that is open and read it anew.

    On PostgreSQL the row is locked; on SQLite the transaction itself is the only one that may write.
    """
    # The record set is locked too: a row that is only joined would be read as it was before the wait.
    locked = Sheet.objects.select_for_update(of=("self", "record_set"), no_key=True)
    row = locked.select_related("record_set").get(pk=sheet.pk)
    stored = {(one.quantity, one.site, one.nth): one for one in Finding.objects.filter(sheet=row)}
    return OpenSheet(row, stored, {place: as_reading(one) for place, one in stored.items()})


def answered_before(opened: OpenSheet, request_key: str) -> Recorded | None:
    """The first answer to a request that is sent again because its answer was lost."""
    change = SheetChange.objects.filter(sheet=opened.row, request_key=request_key).first()
    return answer_of(change, repeated=True) if change else None


def answer_of(change: SheetChange, *, repeated: bool = False) -> Recorded:
    """The answer that belongs to a line of history."""
    findings, also = [], []
    for item in change.items:
        new = item["new"] or {}
        place = {name: item[name] for name in ("quantity", "site", "nth")}
        value, changed_in = new.get("value", ""), new.get("changed_in", 0)
        if item["beside"]:
            also.append(Beside(**place, value=value, changed_in=changed_in, words=item["beside"]))
        else:
            findings.append(
                Stored(
                    **place,
                    value=value,
                    typed=item["typed"],
                    rounded=item["rounded"],
                    changed_in=changed_in,
                )
            )
    return Recorded(change.number, change.number, tuple(findings), tuple(also), repeated)


def write(
    opened: OpenSheet,
    wanted: Wanted,
    *,
    by: User,
    at: datetime,
    action: ChangeAction,
    request_key: str,
    undoes: SheetChange | None = None,
) -> Recorded | Refused:
    """Check the whole sheet and write rows, history and version; the caller's transaction is open."""
    if opened.row.sealed or opened.row.handed_in_at:
        return Refused((Fault("sheet", "This sheet is closed; its findings stay as they are."),))
    now = opened.now
    differing = {p: f for p, f in wanted.findings.items() if f != now.get(p)}
    if not differing:
        return _unchanged(opened, wanted)
    if faults := would_refuse(opened, wanted):
        return Refused(tuple(faults))
    number = opened.row.version + 1
    # What was asked for but stands already is answered too, and so stays in the history with the rest.
    places = [p for p in wanted.findings if p in differing or p not in wanted.beside]
    items = [_item(opened, p, wanted, number if p in differing else None) for p in places]
    _write_rows(opened, differing, number)
    write_evidence(opened.row, {p: e for p, e in wanted.evidence.items() if p in differing}, number)
    change = SheetChange(
        sheet=opened.row,
        number=number,
        by=by,
        at=at,
        action=action,
        undoes=undoes,
        request_key=request_key,
        items=items,
    )
    change.full_clean(exclude=["sheet", "by", "undoes"], validate_unique=False, validate_constraints=False)
    change.save(force_insert=True)
    opened.row.version = number
    opened.row.save(update_fields=["version"])
    return answer_of(change)


def last_changes(opened: OpenSheet, places: Iterable[Place]) -> tuple[Theirs, ...]:
    """Who last changed each of these findings, when, and what it is now."""
    looked_for = list(places)
    found: dict[Place, Theirs] = {}
    for change in SheetChange.objects.filter(sheet=opened.row).select_related("by").order_by("-number"):
        for item in change.items:
            place = (item["quantity"], item["site"], item["nth"])
            if place in looked_for and place not in found and moved(item):
                row = opened.stored.get(place)
                found[place] = Theirs(
                    *place,
                    value=row.value if row else "",
                    by_name=str(change.by),
                    at=change.at,
                    changed_in=row.changed_in if row else 0,
                )
        if len(found) == len(looked_for):
            break
    return tuple(found[place] for place in looked_for if place in found)


def hundredths(finding: readings.Finding) -> int | None:
    """The value as whole hundredths for sorting, or None for a value that is no number."""
    try:
        number = Decimal(finding.value) * 100
    except InvalidOperation:
        return None
    return int(number) if number.is_finite() else None


def would_refuse(opened: OpenSheet, wanted: Wanted) -> list[Fault]:
    """Contradictions this change would bring; those that stood before do not stop other work.

    They are told as the portfolio's pages name teeth and quantities.
    """
    after = [one for one in {**opened.now, **wanted.findings}.values() if one is not None]
    if not opened.faults(after):
        return []
    naming = opened.naming
    known = {_identity(fault) for fault in opened.faults(opened.now.values(), naming)}
    return [fault for fault in opened.faults(after, naming) if _identity(fault) not in known]


def _identity(fault: Fault) -> tuple[str, str, str]:
    # `where` may count findings, and the count moves when another finding comes or goes.
    return fault.quantity, fault.site, fault.message


def _unchanged(opened: OpenSheet, wanted: Wanted) -> Recorded:
    """The answer when everything asked for stands already; it leaves no line in the history."""
    found = []
    for place in wanted.findings:
        row, typed = opened.stored.get(place), wanted.typed.get(place, Typed())
        value, changed_in = (row.value, row.changed_in) if row else ("", 0)
        found.append(Stored(*place, value, typed.text, typed.rounded, changed_in))
    return Recorded(opened.row.version, 0, tuple(found))


def moved(item: Mapping[str, Any]) -> bool:
    """Whether a finding in a line of history was changed by it, and not only asked for again."""
    return bool(item["old"] != item["new"])


def _item(opened: OpenSheet, place: Place, wanted: Wanted, number: int | None) -> dict[str, Any]:
    old, new = opened.stored.get(place), wanted.findings[place]
    typed = wanted.typed.get(place, Typed())
    changed_in = number or (old.changed_in if old else 0)
    return {
        "quantity": place[0],
        "site": place[1],
        "nth": place[2],
        "old": {**_facts(as_reading(old)), "changed_in": old.changed_in} if old else None,
        "new": {**_facts(new), "changed_in": changed_in} if new else None,
        "typed": typed.text,
        "rounded": typed.rounded,
        "beside": wanted.beside.get(place, ""),
    }


def _facts(finding: readings.Finding) -> dict[str, Any]:
    facts: dict[str, Any] = {"value": finding.value}
    facts |= {name: getattr(finding, name) for name in PARTICULARS}
    return facts | {"error_parts": dict(finding.error_parts), "evidence_at": finding.evidence_at}


def from_item(place: Place, facts: Mapping[str, Any] | None) -> readings.Finding | None:
    """The finding that a line of history keeps as before or after; None where there was none."""
    if facts is None:
        return None
    return readings.Finding(
        quantity=place[0],
        site=place[1],
        nth=place[2],
        value=facts["value"],
        **{name: facts[name] for name in PARTICULARS},
        # Lines of history from before evidence was kept have neither.
        error_parts=tuple(sorted(facts.get("error_parts", {}).items())),
        evidence_at=facts.get("evidence_at", 0),
    )


def _write_rows(opened: OpenSheet, differing: Mapping[Place, readings.Finding | None], number: int) -> None:
    gone = [opened.stored[p].pk for p, f in differing.items() if f is None and p in opened.stored]
    if gone:
        Finding.objects.filter(pk__in=gone).delete()
    fresh: list[Finding] = []
    kept: list[Finding] = []
    for place, finding in differing.items():
        if finding is None:
            continue
        row = opened.stored.get(place) or Finding(
            sheet=opened.row, quantity=place[0], site=place[1], nth=place[2]
        )
        row.value, row.state = finding.value, readings.state(finding)
        row.hundredths, row.changed_in = hundredths(finding), number
        for name in PARTICULARS:
            setattr(row, name, getattr(finding, name))
        row.error_parts, row.evidence_at = dict(finding.error_parts), finding.evidence_at
        row.clean_fields(exclude=["sheet"])
        (kept if row.pk else fresh).append(row)
    Finding.objects.bulk_create(fresh)
    if kept:
        Finding.objects.bulk_update(
            kept, ["value", "state", "hundredths", "changed_in", *PARTICULARS, *BACKING], batch_size=100
        )


def contradicts(statement: readings.Finding, single: readings.Finding) -> bool:
    """Whether a single value stands against a statement that its region is free."""
    return (
        statement.quantity == single.quantity
        and statement.is_statement
        and statement.value == "none"
        and not single.is_statement
        and not readings.says_nothing_there(single)
        and statement.site != single.site
        and sites.inside(statement.site, single.site)
    )


def keeping(
    finding: readings.Finding | None, place: Place, value: str, **given: str | None
) -> readings.Finding:
    """A finding with a new value; particulars not given stay, and so does the text of an equal number.

    Another number, or the same one to another plane, loses its evidence, its error parts, and the deviation
    that was made of them; another deviation loses the parts of the old one.
    """
    kept = finding or readings.Finding(quantity=place[0], site=place[1], value=value, nth=place[2])
    details: dict[str, Any] = {"quantity": place[0], "site": place[1], "nth": place[2]}
    details |= {name: text for name, text in given.items() if text is not None}
    if kept.value == value or _same_number(kept.value, value):
        details["value"] = kept.value
        same = details.get("plane", kept.plane) == kept.plane
    else:
        details["value"] = value
        same = (kept.value, value) == ("none", "rest_none")
    if not same:
        details = ({"sd": ""} if kept.error_parts else {}) | details | {"error_parts": (), "evidence_at": 0}
    elif details.get("sd", kept.sd) != kept.sd:
        details["error_parts"] = ()
    return replace(kept, **details)


def _same_number(one: str, other: str) -> bool:
    try:
        return Decimal(one) == Decimal(other)
    except InvalidOperation:
        return False
