"""What a sheet refuses: single values first, then what findings say against each other."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from portfolio import sites, teeth
from portfolio.finding_sheet import Fault, Finding, Sheet, says_nothing_there
from portfolio.quantity import NUMBER, unprintable
from portfolio.vocabulary import MEDIA, METHODS, PLANES, QUANTITIES

TAKEN_ON_MISSING = frozenset(("missing", "gap_plan", "supernumerary", "retained_primary"))
TAKEN_ON_UNERUPTED = frozenset(
    (
        "eruption",
        "eruption_space",
        "impacted",
        "tooth_width",
        "transposed",
        "ankylosed",
        "anomalous",
        # an extra tooth beside an unerupted one is what often holds it back
        "supernumerary",
        "gap_plan",
    )
)
MOST_NOTE = 500
MOST_REPEATS = 5000
Named = Callable[[Finding], str]


def _as_written(_quantity: str, value: str) -> str:
    return value


@dataclass(frozen=True, slots=True)
class Naming:
    """How the reader of faults knows quantities, sites and values; by default as a sheet file writes them."""

    quantity: Callable[[str], str] = str
    site: Callable[[str], str] = str
    value: Callable[[str, str], str] = _as_written


AS_IN_FILES = Naming()


def finding_faults(finding: Finding, naming: Naming = AS_IN_FILES) -> Iterator[str]:
    """What is wrong with one finding taken alone, in words."""
    quantity = QUANTITIES.get(finding.quantity)
    if quantity is None:
        yield f'quantity "{finding.quantity[:40]}" is not known'
        return
    kind = sites.kind(finding.site)
    stated = finding.value in ("none", "rest_none") and finding.value not in quantity.codes
    if not kind:
        yield f'site "{finding.site[:40]}" is not a site; {finding.quantity} takes {quantity.site.words}'
        if not stated and (fault := quantity.fault(finding.value)):
            yield fault
    elif quantity.takes_region(finding.site, finding.value) or (
        kind == "mouth" and finding.value in quantity.mouth_codes
    ):
        pass
    elif not quantity.site.takes(finding.site):
        if stated:
            yield f"{finding.value} is not taken by {finding.quantity} at {finding.site}"
        else:
            yield f"site {finding.site} is not taken; {finding.quantity} takes {quantity.site.words}"
            if fault := quantity.fault(finding.value):
                yield fault
    elif fault := quantity.fault(finding.value):
        yield fault
    if finding.nth > (MOST_REPEATS if quantity.repeats else 1):
        yield (
            f"{finding.quantity} may be recorded {MOST_REPEATS} times at most"
            if quantity.repeats
            else f"{finding.quantity} is recorded once at a site"
        )
    yield from _detail_faults(finding, quantity.takes_plane)


def _detail_faults(finding: Finding, takes_plane: bool) -> Iterator[str]:
    if finding.method and finding.method not in METHODS:
        yield f'method "{finding.method[:40]}" is not known; allowed: {", ".join(METHODS)}'
    if finding.medium and finding.medium not in MEDIA:
        yield f'medium "{finding.medium[:40]}" is not known; allowed: {", ".join(MEDIA)}'
    if finding.plane and not takes_plane:
        yield f"{finding.quantity} takes no plane"
    elif finding.plane and finding.plane not in PLANES:
        yield f'plane "{finding.plane[:40]}" is not known; allowed: {", ".join(PLANES)}'
    if finding.sd and (not NUMBER.match(finding.sd) or finding.sd.startswith("-") or len(finding.sd) > 8):
        yield f'sd "{finding.sd[:40]}" is not a number of 0 or more with at most two decimals'
    if len(finding.note) > MOST_NOTE:
        yield f"the note has {len(finding.note)} characters; at most {MOST_NOTE} are taken"
    if unprintable(finding.note, but="\t\r\n"):
        yield "the note takes plain text without control characters"


def sheet_faults(
    sheet: Sheet, where: Named, teeth_known: bool = True, naming: Naming = AS_IN_FILES
) -> Iterator[Fault]:
    """What findings that are each sound say against each other.

    `where` names the place of a finding for the reader of the fault.  Where the teeth that stand
    cannot be told, findings are not held against them.
    """
    for finding in sheet.findings:
        for message in (
            *(_standing_faults(sheet, finding, naming) if teeth_known else ()),
            *_statement_faults(sheet, finding, naming),
            *_molar_faults(sheet, finding, teeth_known, naming),
        ):
            yield Fault(where(finding), message, finding.quantity, finding.site, finding.nth)


def _standing_faults(sheet: Sheet, finding: Finding, naming: Naming) -> Iterator[str]:
    named = sites.teeth_of(finding.site)
    away = [t for t in named if t in sheet.missing_teeth]
    if away and finding.quantity not in TAKEN_ON_MISSING:
        tooth, quantity = naming.site(away[0]), naming.quantity(finding.quantity)
        yield f"{tooth} is recorded as missing; {quantity} is not taken there: take one of them out"
        return
    if finding.quantity == "missing":
        return
    buried = [t for t in named if t in sheet.unerupted]
    if buried and finding.quantity not in TAKEN_ON_UNERUPTED:
        tooth, quantity = naming.site(buried[0]), naming.quantity(finding.quantity)
        yield (
            f"{tooth} has not erupted (not among the teeth that stand); {quantity} is not taken there: "
            "take one of them out"
        )
        return
    somewhere = sheet.standing | sheet.missing_teeth | sheet.unerupted
    absent = [t for t in named if teeth.is_primary(t) and t not in somewhere]
    if absent and finding.quantity != "supernumerary":
        yield f"{naming.site(absent[0])} is not among the teeth that stand"
        return
    if sites.kind(finding.site) == "contact":
        yield from _contact_faults(sheet, finding.site, naming)


def _contact_faults(sheet: Sheet, site: str, naming: Naming) -> Iterator[str]:
    first, second = sites.teeth_of(site)
    if teeth.arch(first) != teeth.arch(second):
        yield f"{naming.site(site)} is not a contact: the teeth stand in different arches"
        return
    # a plan for a gap may name the place of a tooth that is not there
    row = teeth.round_the_arch(teeth.arch(first), sheet.standing | {first, second}, sheet.transposed)
    held = [t for t in (first, second) if t not in row]
    if held:
        holds = f"the permanent tooth holds the place of {naming.site(held[0])}"
        yield f"{naming.site(site)} is not a contact: {holds}"
        return
    start, end = row.index(first), row.index(second)
    if end < start:
        written = f"{naming.site(site)} runs the wrong way round; write {naming.site(f'{second}-{first}')}"
        yield f"{written} (from the patient's right to left)"
    elif end - start > 1:
        skipped = ", ".join(naming.site(t) for t in row[start + 1 : end])
        yield f"{naming.site(site)} skips a standing tooth ({skipped})"


def _statement_faults(sheet: Sheet, finding: Finding, naming: Naming) -> Iterator[str]:
    if not finding.is_statement:
        return
    singles = [
        f for f in sheet.singles(finding.quantity) if sites.inside(finding.site, f.site) and f is not finding
    ]
    if finding.value == "none":
        against = [f for f in singles if not says_nothing_there(f)]
        if against:
            quantity, single = finding.quantity, against[0]
            yield (
                f"none at {naming.site(finding.site)} stands beside {naming.quantity(quantity)} "
                f"{naming.value(quantity, single.value)} at {naming.site(single.site)}; "
                f"write {naming.value(quantity, 'rest_none')}, or take one of them out"
            )
    elif finding.quantity in ("overjet", "overbite") and not any(
        teeth.place(f.site) in teeth.UPPER_INCISORS
        for f in sheet.singles(finding.quantity)
        if sites.kind(f.site) == "tooth"
    ):
        stated = f"{naming.value(finding.quantity, 'rest_none')} of {naming.quantity(finding.quantity)}"
        yield f"{stated} needs at least one upper incisor with a value"


def _molar_faults(sheet: Sheet, finding: Finding, teeth_known: bool, naming: Naming) -> Iterator[str]:
    if finding.quantity == "molar_beyond":
        relation = sheet.at("molar_relation", finding.site)
        if relation is None or not relation.value.startswith("beyond"):
            beyond = " or ".join(naming.value("molar_relation", code) for code in ("beyond2", "beyond3"))
            yield (
                f"{naming.quantity('molar_beyond')} at {finding.site} needs "
                f"{naming.quantity('molar_relation')} {beyond} on that side"
            )
    elif finding.quantity == "molar_substitute":
        if teeth.side(finding.value) != finding.site:
            yield f"{naming.site(finding.value)} does not stand on the {finding.site}"
        elif teeth_known and finding.value not in sheet.standing:
            yield f"{naming.site(finding.value)} does not stand and cannot be read instead of the first molar"
