"""The drawing of a superimposition as numbers for SVG, in millimetres of the first radiograph, y down.  Pure.

Colours by stage are a published convention (black, blue, red) and common usage (green, from memory); dashes and the
shapes of points tell the stages apart without colour.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from imaging.cephalometry.face import Face
from imaging.cephalometry.planes import FH, LOWER_INCISOR, MANDIBULAR, OCCLUSAL, PALATAL, SN, UPPER_INCISOR
from imaging.cephalometry.shapes import Line
from imaging.geometry import Motion, Vector
from imaging.superimposing.staged import SHOWN, STILL, Overlay, TracedStage
from imaging.tracing.outlines import teeth

MARGIN_MM = 7.0
BAR_MM = 20
DOT_MM = 0.8
LINES: Mapping[str, tuple[Line, ...]] = {
    "sn": (FH, SN, PALATAL, OCCLUSAL, MANDIBULAR, UPPER_INCISOR, LOWER_INCISOR),
    "cranial_base": (FH, SN, PALATAL, OCCLUSAL, MANDIBULAR, UPPER_INCISOR, LOWER_INCISOR),
    "maxilla": (PALATAL, UPPER_INCISOR),
    "mandible": (MANDIBULAR, LOWER_INCISOR),
}
OUTLINES: Mapping[str, tuple[str, ...]] = {
    "maxilla": ("maxilla", "palate"),
    "mandible": ("mandible", "symphysis"),
}
"""Outlines of the structure that is looked at; of the whole face all are drawn."""
TEETH: Mapping[str, tuple[str, ...]] = {"maxilla": ("U1", "U6"), "mandible": ("L1", "L6")}
NAMED = ("S", "N", "Po", "Or", "ANS", "PNS", "A", "B", "Pog", "Me", "Go", "Ar")
"""Points named in the drawing of the whole face, at the first tracing; the table names all."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a stage is drawn: colour, dashes in millimetres, the shape of its points, and all of it in words."""

    key: str
    colour: str
    dashes: str
    shape: str
    words: str

    @property
    def sample(self) -> str:
        """The path of one point, in the middle of a sample of 18 by 4."""
        return dot(self.shape, Vector(9, -2))


STYLES = {
    "initial": Style("initial", "#111111", "", "disc", "black, full lines, discs"),
    "interim": Style("interim", "#1b4fa8", "0.5 0.9", "square", "blue, dotted, squares"),
    "interim-2": Style("interim-2", "#1b4fa8", "2.4 1.2", "ring", "blue, dashed, rings"),
    "final": Style("final", "#b3211f", "5 1 1 1", "triangle", "red, dashes and dots, triangles"),
    "retention": Style(
        "retention",
        "#1d6b37",
        "3 0.8 0.6 0.8 0.6 0.8",
        "diamond",
        "green, dashes and pairs of dots, diamonds",
    ),
    "post_retention": Style("post_retention", "#1d6b37", "1.4 1.4", "cross", "green, short dashes, crosses"),
}
"""Black, blue, red and green; the colours are those of css/tokens.css, written out for print."""


@dataclass(frozen=True, slots=True)
class Dot:
    """A point: its path, and what it is."""

    path: str
    words: str


@dataclass(frozen=True, slots=True)
class Name:
    """A name beside a point."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Layer:
    """One stage in the drawing: lines and outlines as paths, points, and its marks."""

    label: str
    style: Style
    lines: str
    outlines: str
    dots: tuple[Dot, ...]
    marks: str


@dataclass(frozen=True, slots=True)
class Sketch:
    """The whole drawing; `width` and `height` in millimetres of the radiograph, `bar` is a length drawn as such."""

    left: float
    top: float
    width: float
    height: float
    layers: tuple[Layer, ...]
    names: tuple[Name, ...]
    bar: str
    bar_x: float
    bar_y: float
    bar_words: str
    words: str

    @property
    def box(self) -> str:
        return f"{self.left} {self.top} {self.width} {self.height}"


def style_of(stage: TracedStage) -> Style:
    """How a stage is drawn; a second interim one dashed, like any later one."""
    key = "interim-2" if stage.stage == "interim" and stage.ordinal > 1 else stage.stage
    return STYLES[key]


def sketch(overlay: Overlay) -> Sketch | None:
    """The drawing of what could be laid; None when nothing could, or nothing of it is traced."""
    if not overlay.drawn or overlay.first.face is None:
        return None
    laid = [(overlay.first, STILL), *((one.stage, one.motion or STILL) for one in overlay.drawn)]
    heading = f"Superimposition on {overlay.label}"
    return _drawn(laid, overlay.on, overlay.unit, heading, "The table tells how each point moved.")


def sketch_of(stage: TracedStage) -> Sketch | None:
    """The drawing of one tracing, as large as its radiograph; None where it cannot be read, has no scale or no point."""
    if stage.face is None or stage.scale is None:
        return None
    return _drawn([(stage, STILL)], "sn", stage.scale.unit, "Tracing", "")


def _drawn(
    laid: list[tuple[TracedStage, Motion]], on: str, unit: str, heading: str, more: str
) -> Sketch | None:
    every: list[Vector] = []
    layers = tuple(_layer(stage, moved, on, every) for stage, moved in laid)
    first = laid[0][0].face
    if not every or first is None:
        return None
    left, right = min(p.x for p in every) - MARGIN_MM, max(p.x for p in every) + MARGIN_MM
    top, foot = -max(p.y for p in every) - MARGIN_MM, -min(p.y for p in every) + MARGIN_MM + 6
    names = _names(first) if on not in OUTLINES else ()
    stages = ", ".join(f"{layer.label} in {layer.style.words}" for layer in layers)
    return Sketch(
        round(left, 2),
        round(top, 2),
        round(right - left, 2),
        round(foot - top, 2),
        layers,
        names,
        f"M{left + 2:.2f} {foot - 3:.2f}h{BAR_MM}m0 -1v2m-{BAR_MM} 0v-2",
        round(left + BAR_MM + 3.5, 2),
        round(foot - 2, 2),
        f"{BAR_MM} {unit}",
        f"{heading}: {stages}. {more}".strip(),
    )


def _layer(stage: TracedStage, moved: Motion, on: str, every: list[Vector]) -> Layer:
    face = stage.face
    assert face
    here = {key: moved(face.points[key].at) for key in SHOWN[on] if key in face.points}
    lines = [
        [moved(face.place(start)), moved(face.place(end))]
        for start, end in LINES[on]
        if face.made_of(start) and face.made_of(end)
    ]
    wanted = OUTLINES.get(on, tuple(stage.outlines))
    curves = [[moved(p) for p in stage.outlines[key]] for key in wanted if key in stage.outlines]
    standing = teeth(face)
    curves += [[moved(p) for p in standing[key]] for key in TEETH.get(on, tuple(standing)) if key in standing]
    marks = [moved(spot.at) for spot in face.fiducials.get(on, {}).values()]
    for found in (here.values(), marks, *lines, *curves):
        every += found
    style = style_of(stage)
    return Layer(
        stage.label,
        style,
        " ".join(map(_path, lines)),
        " ".join(map(_path, curves)),
        tuple(Dot(dot(style.shape, at), f"{key}, {stage.label}") for key, at in here.items()),
        " ".join(f"M{p.x - 1.3:.2f} {-p.y:.2f}h2.6M{p.x:.2f} {-p.y - 1.3:.2f}v2.6" for p in marks),
    )


def dot(shape: str, at: Vector) -> str:
    """The path of a point; y of the face goes up, that of the drawing down."""
    x, y, r = at.x, -at.y, DOT_MM
    if shape in ("disc", "ring"):
        return f"M{x - r:.2f} {y:.2f}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z"
    if shape == "square":
        return f"M{x - r:.2f} {y - r:.2f}h{2 * r}v{2 * r}h{-2 * r}z"
    if shape == "triangle":
        return f"M{x:.2f} {y - 1.2 * r:.2f}l{1.1 * r:.2f} {2 * r}h{-2.2 * r:.2f}z"
    if shape == "diamond":
        return f"M{x:.2f} {y - 1.3 * r:.2f}l{r} {1.3 * r:.2f}l{-r} {1.3 * r:.2f}l{-r} {-1.3 * r:.2f}z"
    return f"M{x - r:.2f} {y - r:.2f}l{2 * r} {2 * r}m0 {-2 * r}l{-2 * r} {2 * r}"


def _path(points: list[Vector]) -> str:
    return "M" + "L".join(f"{p.x:.2f} {-p.y:.2f}" for p in points)


def _names(face: Face) -> tuple[Name, ...]:
    return tuple(
        Name(round(face.points[key].at.x + 1.4, 2), round(-face.points[key].at.y - 1.2, 2), key)
        for key in NAMED
        if key in face.points
    )
