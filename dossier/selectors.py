"""Read one case as the frozen values its printed pages see, with the stored pictures beside them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from dossier.case_file import (
    CANDIDATE,
    CaseFile,
    EvidencePart,
    FindingLine,
    Picture,
    PictureBand,
    ScorePart,
    StagePart,
    score_part,
)
from dossier.consent import WAY_OUT, why_no_faces
from dossier.evidence import SUFFIXES, Cut, Evidence, evidence_parts
from dossier.points import PointsPart, points_part
from dossier.radiographs import true_size_part
from dossier.repeats import repeats_told
from dossier.superimpositions import superimposition_parts
from dossier.true_size import CUT, FIT
from filing.models import StoredFile
from imaging.evidence import anchor_of
from imaging.selectors import PrintPicture, absent_views, print_pictures
from portfolio.access import Asker, visible_record_sets, visible_sheets
from portfolio.ages import age_text, in_order
from portfolio.error_figures.selectors import errors_in_force
from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Case, Portfolio, RecordSet, Sheet
from portfolio.photographs import BANDS, BY_KEY, VIEWS, WITNESS
from portfolio.selectors import patient_facts, reading, sheets_to_read, stage_label
from portfolio.wording import medium_words, quantity_words, site_words, value_words
from scoring import registry
from scoring.index import Index
from scoring.present import show, show_choices
from scoring.result import Score
from scoring.selectors import Ways, ways_of


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which copy of a case is asked for."""

    edition: str
    paper: str
    faces: bool = True
    true_size: bool = False
    larger: str = FIT
    """What becomes of a radiograph that is larger than the paper."""


@dataclass(frozen=True, slots=True)
class Printable:
    """A case file with the pictures it names, whether one is of the face; `stops` says why it may not be printed.

    `held`: public id of every picture in it → how many areas of it are masked.
    """

    file: CaseFile
    pictures: dict[str, StoredFile] = field(default_factory=dict)
    faces: bool = False
    stops: tuple[str, ...] = ()
    held: dict[str, int] = field(default_factory=dict)
    cuts: dict[str, Cut] = field(default_factory=dict)
    """Pictures of which a part alone is printed."""


def printable(user: Asker, case: Case, wanted: Wanted, today: date) -> Printable:
    """One case, loaded with patient and portfolio, as an edition prints it."""
    patient = patient_facts(case.patient, today)
    pictures: dict[str, StoredFile] = {}
    any_faces = False
    stages = []
    ways = ways_of([case.patient.portfolio_id])[case.patient.portfolio_id]
    unread: list[str] = []
    held: dict[str, int] = {}
    gathered = Evidence(pictures, with_faces=wanted.faces)
    for record_set in in_order(visible_record_sets(user).filter(case=case)):
        shown = [
            one
            for one in print_pictures(user, record_set)
            if (wanted.faces or not one.faces) and BY_KEY[one.view].band != WITNESS
        ]
        held |= {one.key: one.masks for one in shown}
        any_faces = any_faces or any(one.faces for one in shown)
        here = stage_label(record_set.stage, record_set.ordinal).capitalize()
        unread += [f"{here}: {one.label}" for one in shown if one.text_unchecked]
        bands = _bands(shown, absent_views(user, record_set), pictures, with_faces=wanted.faces)
        stages.append(_stage(user, record_set, bands, ways, case.patient.portfolio, wanted.edition, gathered))
        unread += [f"{here}: {label}" for label in gathered.unread_here()]
    held |= gathered.held
    any_faces = any_faces or gathered.faces
    said = why_no_faces(patient.consents) if any_faces else ""
    refusal = f"Photographs of the face stop this print: {said}. {WAY_OUT}" if said else ""
    file = CaseFile(
        code=case.code,
        patient_code=patient.code,
        sex=patient.sex,
        edition=wanted.edition,
        paper=wanted.paper,
        stages=tuple(stages),
        note=case.note if wanted.edition == CANDIDATE else "",
        superimpositions=superimposition_parts(user, case, wanted.edition),
        true_size=true_size_part(user, case, wanted.paper, pictures, cut=wanted.larger == CUT)
        if wanted.true_size
        else None,
    )
    stops = (refusal, _text_stop(unread))
    told = tuple(words for words in stops if words)
    return Printable(file, pictures, any_faces, told, held, gathered.cuts)


def _text_stop(unread: Sequence[str]) -> str:
    """Why radiographs and casts stop a print as long as nobody has looked for names and numbers in them."""
    if not unread:
        return ""
    return (
        f"Names, dates or numbers may stand in these pictures: {'; '.join(unread)}. Look at each on its own page, mask "
        "or crop what names anybody, and state there that none is left."
    )


def _stage(
    user: Asker,
    record_set: RecordSet,
    bands: tuple[PictureBand, ...],
    ways: Ways,
    portfolio: Portfolio,
    edition: str,
    gathered: Evidence,
) -> StagePart:
    notation = portfolio.notation
    rows = (
        visible_sheets(user)
        .filter(record_set=record_set)
        .select_related("record_set", "reader")
        .order_by("pk")
    )
    sheet = sheets_to_read(rows).get(record_set.pk)
    found = reading(sheet) if sheet else None
    scores = _scores(found, ways, notation) if found else ()
    read = {anchor_of(finding) for score, _ in scores for line in score.lines for finding in line.findings}
    evidence = evidence_parts(user, sheet, notation, gathered, read) if sheet else ()
    months = record_set.age_months
    return StagePart(
        key=record_set.stage,
        label=stage_label(record_set.stage, record_set.ordinal).capitalize(),
        age="" if months is None else age_text(months),
        dentition=record_set.get_dentition_display(),
        occlusion=record_set.get_occlusion_display(),
        medium=medium_words(sheet.medium) if sheet else "",
        bands=bands,
        findings=_findings(found, notation, whole=edition == CANDIDATE),
        scores=tuple(_printed_score(score, index, notation, edition) for score, index in scores),
        reason=record_set.reason if edition == CANDIDATE else "",
        evidence=evidence,
        points=_points(scores, found, sheet, notation, evidence, portfolio.pk)
        if found and sheet and edition == CANDIDATE
        else (),
        repeats=repeats_told(sheet, found) if found and sheet and edition == CANDIDATE else (),
        anchor=f"{record_set.stage}-{record_set.ordinal}",
    )


def _findings(found: SheetReading | None, notation: str, *, whole: bool) -> tuple[FindingLine, ...]:
    return tuple(
        FindingLine(
            quantity_words(one.quantity),
            site_words(one.site, notation),
            value_words(one.quantity, one.value),
            one.note if whole else "",
            traced=one.method == "tracing",
        )
        for one in (found.findings if found else ())
    )


def _scores(found: SheetReading, ways: Ways, notation: str) -> tuple[tuple[Score, Index], ...]:
    """Scores by the indices that records of the stage are measured for, as far as anything is recorded."""
    scores = []
    for key in ways.indices(found):
        index, chosen = registry.index(key), ways.chosen[key]
        score = registry.score(key, found, chosen.edition, chosen.values)
        if show(score, index, notation).measured:
            scores.append((score, index))
    return tuple(scores)


def _printed_score(score: Score, index: Index, notation: str, edition: str) -> ScorePart:
    choices = show_choices(index, score)
    return score_part(show(score, index, notation), choices, edition, index.edition_words(score.edition))


def _points(
    scores: tuple[tuple[Score, Index], ...],
    found: SheetReading,
    sheet: Sheet,
    notation: str,
    evidence: tuple[EvidencePart, ...],
    portfolio: int,
) -> tuple[PointsPart, ...]:
    own = errors_in_force(sheet.reader, portfolio)
    printed = {one.anchor for one in evidence}
    return tuple(points_part(score, index, found, notation, own, printed) for score, index in scores)


def _bands(
    shown: Sequence[PrintPicture],
    absent: dict[str, str],
    files: dict[str, StoredFile],
    *,
    with_faces: bool,
) -> tuple[PictureBand, ...]:
    """Bands with their pictures; each picture gets a name of ours and its stored file in `files`."""
    bands = []
    for number, heading in BANDS.items():
        row = []
        for view in (one for one in VIEWS if one.band == number):
            for one in (p for p in shown if p.view == view.key):
                name = f"pictures/{len(files) + 1}{SUFFIXES[one.file.media_type]}"
                files[name] = one.file
                row.append(Picture(one.label, name, "; ".join(one.operations), one.file.sha256))
            if view.key in absent and (with_faces or not BY_KEY[view.key].faces):
                row.append(Picture(view.label, "", absent[view.key], ""))
        if row:
            bands.append(PictureBand(heading, tuple(row)))
    return tuple(bands)
