"""All that a printed page may see: frozen values without names, dates, locators or file names.

What only the candidate's copy holds stands in classes of its own, which an examiner's file leaves empty.
"""

from dataclasses import dataclass

from dossier.points import PointsPart
from dossier.reading_direction import Paragraph, direction, paragraphs
from dossier.repeats import RepeatTold
from imaging.superimposing.drawing import Sketch
from scoring.present import ShownChoice, ShownScore

EXAMINER, CANDIDATE = "examiner", "candidate"
EDITIONS = {EXAMINER: "examiner's copy", CANDIDATE: "candidate's copy"}
EIGHT_POINT_MM = 2.83
LYING_MM, UPRIGHT_MM = 84.0, 50.0
"""Width of a picture among the evidence on A4, the narrower paper."""
WIDEST_SIGN = 0.6
"""Of the size of type: signs in names of landmarks are that wide on the average or narrower."""
PAPERS = {"a4": "A4", "letter": "Letter"}


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One finding: what, where, how much; `note` in the candidate's copy only."""

    quantity: str
    site: str
    value: str
    note: str = ""
    traced: bool = False
    """Read from a tracing, not measured on the stage's casts."""

    @property
    def value_direction(self) -> str:
        return direction(self.value)

    @property
    def note_direction(self) -> str:
        return direction(self.note)


@dataclass(frozen=True, slots=True)
class ScoreLine:
    """One line of a score; `more`, `fewer` (distance to the next step) in the candidate's copy only."""

    site: str
    findings: tuple[str, ...]
    rule: str
    points: str
    source: int
    certainty: str
    beaten_by: str
    more: str = ""
    fewer: str = ""


@dataclass(frozen=True, slots=True)
class CategoryRows:
    """One row of the form with its lines."""

    label: str
    total: str
    missing: bool
    of_the_form: bool
    lines: tuple[ScoreLine, ...]


@dataclass(frozen=True, slots=True)
class ChoiceLine:
    """A rule choice and the reading in force; other totals in the candidate's copy only."""

    label: str
    reading: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ScorePart:
    """A score as it is printed."""

    label: str
    edition: str
    facts: tuple[str, ...]
    """What the index says beside its total."""
    verdicts: tuple[str, ...]
    """Published judgements; in the candidate's copy only."""
    outside: str
    counted_in: str
    total_words: str
    total_in_column: str
    categories: tuple[CategoryRows, ...]
    missing: tuple[str, ...]
    conventions: tuple[str, ...]
    choices: tuple[ChoiceLine, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph: its label, the file beside the page (empty for a view not taken), the words below it."""

    label: str
    file: str
    words: str
    sha256: str


@dataclass(frozen=True, slots=True)
class PictureBand:
    """One band of photographs."""

    heading: str
    pictures: tuple[Picture, ...]


@dataclass(frozen=True, slots=True)
class EvidencePicture:
    """A picture that a finding rests on: the part round its marks with these drawn on it, or the whole picture.

    `width` and `height` are pixels of the file; paths and points lie in these, `unit` is a hundredth of the longer side.
    """

    label: str
    file: str
    sha256: str
    width: int
    height: int
    words: str
    unit: float = 1.0
    paths: tuple[str, ...] = ()
    points: tuple[tuple[float, float], ...] = ()
    names: tuple[tuple[float, float, str, str], ...] = ()
    """x, y, SVG anchor and text of the names of landmarks; names that people typed are never among them."""

    @property
    def upright(self) -> bool:
        return self.height > self.width

    @property
    def letters(self) -> float:
        """Size of type in pixels of the file, so that it is 8 pt on paper or a little more."""
        return round(EIGHT_POINT_MM * self.width / (UPRIGHT_MM if self.upright else LYING_MM), 2)

    @property
    def wide(self) -> float:
        """Width of the dark stroke under each line."""
        return round(self.unit * 0.9, 2)

    @property
    def narrow(self) -> float:
        """Width of the light stroke over it."""
        return round(self.unit * 0.4, 2)

    @property
    def labels(self) -> tuple[tuple[str, float, float, str, str], ...]:
        """The path of a dark plate, then x, y, SVG anchor and text of each name; light on dark is read on any grey."""
        size = self.letters
        found = []
        for x, y, side, name in self.names:
            wide = size * (WIDEST_SIGN * len(name) + 0.2)
            left = x - wide + 0.1 * size if side == "end" else x - 0.1 * size
            path = f"M{left:.1f} {y - 0.8 * size:.1f}h{wide:.1f}v{size:.1f}h{-wide:.1f}z"
            found.append((path, x, y, side, name))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class EvidencePart:
    """One finding with its error and the pictures it rests on."""

    finding: str
    value: str
    sd: str
    pictures: tuple[EvidencePicture, ...]
    anchor: str
    """Names it among the evidence of its stage."""


LEAST_LEFT_OUT_MM = 0.05
"""Less is a matter of rounding."""


@dataclass(frozen=True, slots=True)
class TrueSizePicture:
    """A radiograph or its tracing at its own size, or as large as fits: `percent` of it, None where it is that size.

    `width` and `height` are millimetres on paper; a `lying` sheet is turned on its side. A tracing is a drawing and
    has no `file`.
    """

    label: str
    file: str
    width: float
    height: float
    lying: bool
    percent: int | None
    size_name: str
    own_size: str
    error: str
    scale_words: str
    sketch: Sketch | None = None
    left_out: tuple[float, float] = (0.0, 0.0)
    """Millimetres cut off at each side edge, and at top and foot each."""

    @property
    def whole(self) -> tuple[float, float]:
        """Width and height of the picture with what is cut off."""
        across, down = self.left_out
        return round(self.width + 2 * across, 3), round(self.height + 2 * down, 3)

    @property
    def left_out_words(self) -> str:
        across, down = self.left_out
        parts = [
            f"{size:.1f} mm at {where} each"
            for size, where in ((across, "left and right"), (down, "top and foot"))
            if size >= LEAST_LEFT_OUT_MM
        ]
        return f"Its edges are left out: {' and '.join(parts)}." if parts else ""


@dataclass(frozen=True, slots=True)
class NotToScale:
    """A radiograph that cannot be printed at its own size, and why."""

    label: str
    why: str


@dataclass(frozen=True, slots=True)
class TrueSizePart:
    """Radiographs and their tracings at their own size, and those that stay among the other pictures, not to scale."""

    pictures: tuple[TrueSizePicture, ...]
    others: tuple[NotToScale, ...]


@dataclass(frozen=True, slots=True)
class StagePart:
    """The records of one stage; `reason` in the candidate's copy only."""

    key: str
    label: str
    age: str
    dentition: str
    occlusion: str
    medium: str
    bands: tuple[PictureBand, ...]
    findings: tuple[FindingLine, ...]
    scores: tuple[ScorePart, ...]
    reason: str = ""
    evidence: tuple[EvidencePart, ...] = ()
    points: tuple[PointsPart, ...] = ()
    """In the candidate's copy only."""
    repeats: tuple[RepeatTold, ...] = ()
    """In the candidate's copy only, beside the first of its points."""
    anchor: str = ""
    """Names the stage among the stages of the case."""

    @property
    def reason_direction(self) -> str:
        return direction(self.reason)


@dataclass(frozen=True, slots=True)
class LaidTracing:
    """A later tracing laid on an earlier one in one way, or why it is not; sizes on paper in millimetres."""

    label: str
    sketch: Sketch | None
    width_mm: float
    height_mm: float
    fit: str
    """What is left between the marks after the fit, with their names."""
    refused: str


@dataclass(frozen=True, slots=True)
class MovedLine:
    """How one point moved, a cell for each way of laying; `beyond` tells which cells are beyond error."""

    point: str
    cells: tuple[str, ...]
    beyond: tuple[bool, ...]

    @property
    def marked(self) -> tuple[tuple[str, bool], ...]:
        """Each cell with whether it is beyond error."""
        return tuple(zip(self.cells, self.beyond, strict=True))


@dataclass(frozen=True, slots=True)
class SuperimpositionPart:
    """Two stages laid on each other on cranial base, maxilla and mandible, drawn to one scale."""

    heading: str
    views: tuple[LaidTracing, ...]
    percent: int
    """Of the size told by the scale of the radiographs; 0 when nothing is drawn."""
    unit: str
    columns: tuple[str, ...]
    moved: tuple[MovedLine, ...]
    cautions: tuple[str, ...]

    @property
    def letters(self) -> float:
        """Size of type in millimetres of the drawing, so that it is 8 pt on paper."""
        return round(EIGHT_POINT_MM * 100 / self.percent, 2) if self.percent else 0


@dataclass(frozen=True, slots=True)
class CaseFile:
    """One case for print; `note` in the candidate's copy only."""

    code: str
    patient_code: str
    sex: str
    edition: str
    paper: str
    stages: tuple[StagePart, ...]
    note: str = ""
    superimpositions: tuple[SuperimpositionPart, ...] = ()
    true_size: TrueSizePart | None = None
    """Where it was asked for."""

    @property
    def note_paragraphs(self) -> tuple[Paragraph, ...]:
        return paragraphs(self.note)

    @property
    def edition_words(self) -> str:
        return EDITIONS[self.edition]

    @property
    def sources(self) -> tuple[str, ...]:
        """Every source cited, each once."""
        return tuple(
            dict.fromkeys(s for stage in self.stages for score in stage.scores for s in score.sources)
        )


def score_part(
    score: ShownScore, choices: tuple[ShownChoice, ...], edition: str, read_by: str = ""
) -> ScorePart:
    """What an edition prints of a score."""
    whole = edition == CANDIDATE
    return ScorePart(
        label=score.label,
        edition=read_by or score.edition,
        facts=score.facts,
        verdicts=tuple(f"{one.says} [{one.source}]" for one in score.verdicts) if whole else (),
        outside=score.outside,
        counted_in=score.counted_in,
        total_words=score.total_words,
        total_in_column=score.total_in_column,
        categories=tuple(
            CategoryRows(
                row.label,
                row.total,
                row.missing,
                row.of_the_form,
                tuple(
                    ScoreLine(
                        line.site,
                        line.findings,
                        line.rule,
                        line.points,
                        line.source,
                        line.certainty,
                        line.beaten_by,
                        more=line.more if whole else "",
                        fewer=line.fewer if whole else "",
                    )
                    for line in row.scoring
                ),
            )
            for row in score.categories
            if row.of_the_form or row.scoring
        ),
        missing=tuple(f"{one.label}{f': {one.where}' if one.where else ''}" for one in score.missing),
        conventions=score.conventions,
        choices=tuple(_choice_line(one, whole=whole) for one in choices),
        sources=score.sources,
    )


def _choice_line(choice: ShownChoice, *, whole: bool) -> ChoiceLine:
    in_force = next(option.words for option in choice.options if option.in_force)
    others = tuple(f"{o.words}: {o.total}" for o in choice.options if not o.in_force and o.total)
    if not others:
        others = ("same total",) if choice.compared else ("not compared",)
    return ChoiceLine(choice.label, in_force, others if whole else ())
