"""Findings and sheets, their checks, and the sheet file (JSON and CSV)."""

import csv
import io
import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from portfolio import teeth
from portfolio.contradictions import AS_IN_FILES, Naming, finding_faults, sheet_faults
from portfolio.finding_sheet import Fault, Finding, Sheet, SheetRefused, State, says_nothing_there, state
from portfolio.vocabulary import DENTITIONS, MEDIA, OCCLUSIONS, QUANTITIES, STAGES

__all__ = [
    "Fault",
    "Finding",
    "Sheet",
    "SheetRefused",
    "State",
    "check",
    "read_csv",
    "read_csv_rows",
    "read_json",
    "says_nothing_there",
    "state",
    "write_csv",
    "write_json",
]

FINDING_KEYS = ("quantity", "site", "value", "method", "medium", "plane", "note", "sd")
SHEET_KEYS = (
    "sheet",
    "stage",
    "dentition",
    "age_months",
    "notation",
    "occlusion",
    "medium",
    "teeth",
    "findings",
)
IGNORED_KEYS = ("derived", "not_derived")
MOST_MONTHS = 1500
MOST_FINDINGS = 5000
MOST_AGE_DIGITS = 6
ABOUT_TEETH = ("teeth", "dentition")


def check(
    sheet: Sheet,
    where: Callable[[Finding], str] | None = None,
    teeth_known: bool = True,
    naming: Naming = AS_IN_FILES,
) -> list[Fault]:
    """Every fault of a sheet: each finding alone, doubles, then contradictions among the sound ones.

    `where` names a finding's place; by default its quantity and site, as `naming` says them.  Without
    `teeth_known`, or with a list of teeth or a dentition that is refused, findings are not held against
    the teeth.
    """
    name = where or (lambda f: f"{naming.quantity(f.quantity)} {naming.site(f.site)}")
    faults: list[Fault] = list(_frame_faults(sheet))
    teeth_known = teeth_known and not any(f.where in ABOUT_TEETH for f in faults)
    sound: list[Finding] = []
    met: set[tuple[str, str, int]] = set()
    for finding in sheet.findings:
        messages = list(finding_faults(finding, naming))
        key = (finding.quantity, finding.site, finding.nth)
        if key in met:
            messages.append(f"{finding.quantity} at {finding.site} is given twice")
        met.add(key)
        faults += [Fault(name(finding), m, finding.quantity, finding.site, finding.nth) for m in messages]
        if not messages:
            sound.append(finding)
    return [*faults, *sheet_faults(replace(sheet, findings=tuple(sound)), name, teeth_known, naming)]


def _frame_faults(sheet: Sheet) -> Iterator[Fault]:
    for key, value, allowed in (
        ("stage", sheet.stage, STAGES),
        ("dentition", sheet.dentition, DENTITIONS),
        ("occlusion", sheet.occlusion, OCCLUSIONS),
        ("medium", sheet.medium or MEDIA[0], MEDIA),
    ):
        if value not in allowed:
            yield Fault(key, f'"{value[:40]}" is not allowed; allowed: {", ".join(allowed)}')
    if sheet.age_months is not None and not 0 <= sheet.age_months <= MOST_MONTHS:
        yield Fault("age_months", f"{sheet.age_months} is out of range; allowed: 0 to {MOST_MONTHS}")
    unknown = [t for t in sheet.teeth if not teeth.is_tooth(t)]
    if unknown:
        yield Fault("teeth", f'"{unknown[0][:40]}" is not an ISO 3950 tooth (11 to 48, 51 to 85)')
    doubled = sorted(t for t, times in Counter(sheet.teeth).items() if times > 1)
    if doubled:
        yield Fault("teeth", f"{', '.join(t[:40] for t in doubled[:5])} is listed twice")
    if sheet.dentition == "mixed" and not sheet.teeth:
        yield Fault("teeth", "a mixed dentition needs the list of teeth that stand")


@dataclass
class _Gathered:
    """A sheet file on its way in: parts as found, with the place of every finding."""

    frame: dict[str, Any] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    places: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    repeated: Counter[tuple[str, str]] = field(default_factory=Counter)

    def fault(self, where: str, message: str) -> None:
        self.faults.append(Fault(where, message))

    def add(self, where: str, parts: Mapping[str, str]) -> None:
        quantity = QUANTITIES.get(parts["quantity"])
        value = quantity.canonical(parts["value"]) if quantity else parts["value"]
        nth = 1
        if quantity and quantity.repeats:
            nth += self.repeated[quantity.key, parts["site"]]
            self.repeated[quantity.key, parts["site"]] += 1
        details: dict[str, Any] = {k: parts.get(k, "") for k in ("method", "medium", "plane", "note", "sd")}
        self.findings.append(Finding(parts["quantity"], parts["site"], value, nth, **details))
        self.places.append(f"{where} ({parts['quantity'][:40]} {parts['site'][:40]})")

    def sheet(self) -> Sheet:
        sheet = Sheet(findings=tuple(self.findings), **self.frame)
        places = {id(f): p for f, p in zip(self.findings, self.places, strict=True)}
        teeth_known = not any(f.where in ABOUT_TEETH for f in self.faults)
        self.faults += check(sheet, lambda f: places[id(f)], teeth_known)
        if self.faults:
            raise SheetRefused(self.faults)
        return sheet


def read_json(text: str) -> Sheet:
    """A sheet from the text of a JSON sheet file; SheetRefused with every fault."""
    doubled: list[str] = []

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        doubled.extend(key for key, times in Counter(key for key, _ in pairs).items() if times > 1)
        return dict(pairs)

    def never(constant: str) -> Any:
        raise ValueError(f"{constant} is not a value")

    try:
        data = json.loads(text.removeprefix("\ufeff"), object_pairs_hook=once, parse_constant=never)
    except (ValueError, RecursionError) as error:
        raise SheetRefused([Fault("file", f"is not readable as JSON: {error}")]) from None
    if not isinstance(data, dict):
        raise SheetRefused(
            [Fault("file", "is not a sheet: an object with sheet, stage, dentition and findings is expected")]
        )
    gathered = _Gathered()
    for key in doubled:
        gathered.fault("file", f'key "{key[:40]}" stands twice in one object')
    _read_frame(data, gathered)
    entries = data.get("findings", [])
    if not isinstance(entries, list):
        gathered.fault("findings", "is not a list")
        entries = []
    if len(entries) > MOST_FINDINGS:
        gathered.fault("findings", f"has {len(entries)} entries; at most {MOST_FINDINGS} are taken")
        entries = []
    for index, entry in enumerate(entries):
        _read_finding(f"findings[{index}]", entry, gathered)
    return gathered.sheet()


def _read_frame(data: Mapping[str, Any], gathered: _Gathered) -> None:
    for key in data:
        if key not in SHEET_KEYS and key not in IGNORED_KEYS:
            gathered.fault(key[:40], f"is not a key of a sheet; allowed: {', '.join(SHEET_KEYS)}")
    for key in ("sheet", "stage", "dentition", "findings"):
        if key not in data:
            gathered.fault(key, "is required and not there")
    version = data.get("sheet", 1)
    if version != 1 or isinstance(version, bool) or not isinstance(version, int):
        gathered.fault("sheet", "must be the number 1, the version of the format")
    if data.get("notation", "iso3950") != "iso3950":
        gathered.fault("notation", 'must be "iso3950"')
    frame: dict[str, Any] = {"stage": "initial", "dentition": "permanent"}
    for key in ("stage", "dentition", "occlusion", "medium"):
        value = data.get(key)
        if isinstance(value, str):
            frame[key] = value
            if key == "medium" and not value:
                gathered.fault(key, f"is empty; allowed: {', '.join(MEDIA)}")
        elif key in data:
            gathered.fault(key, "must be a text in quotation marks")
    age = data.get("age_months")
    if isinstance(age, int) and not isinstance(age, bool):
        frame["age_months"] = age
    elif "age_months" in data and age is not None:
        gathered.fault("age_months", f"must be a whole number of months from 0 to {MOST_MONTHS}")
    listed = data.get("teeth")
    if isinstance(listed, list) and all(isinstance(t, str) for t in listed):
        frame["teeth"] = tuple(listed)
        if not listed:
            gathered.fault("teeth", "is an empty list; leave it out for the default")
    elif "teeth" in data:
        gathered.fault("teeth", "must be a list of teeth in quotation marks")
    gathered.frame = frame


def _read_finding(where: str, entry: Any, gathered: _Gathered) -> None:
    if not isinstance(entry, dict):
        gathered.fault(where, "is not an object with quantity, site and value")
        return
    sound = True
    for key, value in entry.items():
        if key not in FINDING_KEYS:
            gathered.fault(
                where, f'"{key[:40]}" is not a key of a finding; allowed: {", ".join(FINDING_KEYS)}'
            )
        elif not isinstance(value, str):
            hint = ", numbers too" if key in ("value", "sd") else ""
            gathered.fault(where, f"{key} must be a text in quotation marks{hint}")
            sound = False
    for key in ("quantity", "site", "value"):
        if key not in entry:
            gathered.fault(where, f"{key} is required and not there")
            sound = False
    if sound:
        gathered.add(where, entry)


def read_csv(text: str) -> Sheet:
    """A sheet from the text of a CSV sheet file (comma, UTF-8); SheetRefused with every fault."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            rows.append((reader.line_num, row))
    except csv.Error as error:
        raise SheetRefused([Fault(f"line {reader.line_num}", f"is not readable as CSV: {error}")]) from None
    return read_csv_rows(rows)


def read_csv_rows(rows: Iterable[tuple[int, Sequence[str]]]) -> Sheet:
    """A sheet from rows that are already split, each with its line number."""
    gathered = _Gathered()
    data: dict[str, Any] = {"findings": []}
    header: list[str] | None = None
    for line, row in rows:
        cells = [cell.strip() for cell in row]
        if not any(cells):
            continue
        if header is None and cells[0].startswith("#"):
            _read_csv_frame(f"line {line}", cells, data, gathered)
        elif header is None:
            header = cells
            if not _check_header(f"line {line}", header, gathered):
                break
        elif len(gathered.findings) >= MOST_FINDINGS:
            gathered.fault(f"line {line}", f"a sheet takes at most {MOST_FINDINGS} findings")
            break
        else:
            _read_csv_finding(f"line {line}", header, cells, gathered)
    if header is None:
        gathered.fault("file", "has no header row; expected quantity,site,value,method,…")
    _read_frame({"sheet": 1} | data, gathered)
    return gathered.sheet()


def _read_csv_frame(where: str, cells: Sequence[str], data: dict[str, Any], gathered: _Gathered) -> None:
    key, value = cells[0][1:].strip(), cells[1] if len(cells) > 1 else ""
    if any(cells[2:]):
        gathered.fault(where, f"#{key[:40]} takes one value")
    if key in data and key != "findings":
        gathered.fault(where, f"#{key[:40]} stands twice")
    if key in ("age_months", "sheet"):
        whole = value.isascii() and value.isdigit() and len(value) <= MOST_AGE_DIGITS
        data[key] = int(value) if whole else value
    elif key == "teeth":
        data[key] = value.split()
    elif key in SHEET_KEYS and key != "findings":
        data[key] = value
    else:
        gathered.fault(
            where, f'"#{key[:40]}" is not known; allowed: {", ".join("#" + k for k in SHEET_KEYS[:-1])}'
        )


def _check_header(where: str, header: Sequence[str], gathered: _Gathered) -> bool:
    """Whether rows can be read under this header."""
    absent = [key for key in ("quantity", "site", "value") if key not in header]
    for key in absent:
        gathered.fault(where, f"the header row has no column {key}; cells are separated by commas")
    for key, times in Counter(header).items():
        if key not in FINDING_KEYS:
            gathered.fault(where, f'column "{key[:40]}" is not known; allowed: {", ".join(FINDING_KEYS)}')
        elif times > 1:
            gathered.fault(where, f"column {key} stands twice")
    return not absent and len(set(header)) == len(header)


def _read_csv_finding(where: str, header: Sequence[str], cells: Sequence[str], gathered: _Gathered) -> None:
    if any(cells[len(header) :]):
        gathered.fault(
            where,
            f"has more cells than the header row ({len(header)}); a comma inside a cell needs quotation marks",
        )
        return
    parts = dict(zip(header, cells, strict=False))
    empty = [key for key in ("quantity", "site", "value") if not parts.get(key)]
    for key in empty:
        gathered.fault(where, f"{key} is empty")
    if not empty:
        gathered.add(where, parts)


def _frame(sheet: Sheet) -> dict[str, Any]:
    frame: dict[str, Any] = {"sheet": 1, "stage": sheet.stage, "dentition": sheet.dentition}
    if sheet.age_months is not None:
        frame["age_months"] = sheet.age_months
    frame["notation"] = "iso3950"
    frame["occlusion"] = sheet.occlusion
    if sheet.medium:
        frame["medium"] = sheet.medium
    if sheet.teeth:
        frame["teeth"] = list(sheet.teeth)
    return frame


def write_json(sheet: Sheet) -> str:
    """The text of a JSON sheet file; reading it gives the same sheet back."""
    entries = [{key: text for key in FINDING_KEYS if (text := getattr(f, key))} for f in sheet.findings]
    return json.dumps(_frame(sheet) | {"findings": entries}, ensure_ascii=False, indent=1) + "\n"


def write_csv(sheet: Sheet) -> str:
    """The text of a CSV sheet file; reading it gives the same sheet back, but for blanks round a text."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for key, value in _frame(sheet).items():
        writer.writerow([f"#{key}", " ".join(value) if isinstance(value, list) else value])
    writer.writerow(FINDING_KEYS)
    for finding in sheet.findings:
        writer.writerow([getattr(finding, key) for key in FINDING_KEYS])
    return out.getvalue()
