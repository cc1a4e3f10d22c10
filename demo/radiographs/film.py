"""Lateral radiographs of invented faces: how the head lay, the ruler beside it, and the picture as JPEG."""

import io
from dataclasses import dataclass, field

import numpy
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from demo.radiographs.face import Jaws, Skull, landmarks
from demo.radiographs.head import Exposure, draw_head
from demo.radiographs.jaws import draw_jaws
from demo.radiographs.outlines import rows
from demo.radiographs.plate import Floats, Plate, enlarged, mottled
from demo.radiographs.stable import stable_marks
from demo.radiographs.teeth import Dentition
from imaging.geometry import Motion, Vector, motion

WIDTH, HEIGHT = 200.0, 236.0
LEFT, TOP = -86.0, 98.0
"""The field in millimetres, and where its upper left corner lies from the sella of a level head."""
COARSER = 3
RULER_MM = 100.0
RULER_TOP = Vector(97.0, 92.0)
"""The upper end of the ruler's scale in the field; it hangs straight down in the midline."""
QUALITY = 72


@dataclass(frozen=True, slots=True)
class Film:
    """One exposure: pixels per mm, how the head lay (degrees chin up, shift in mm), grain, and a seed."""

    fineness: float = 7.0
    chin_up: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)
    grain: float = 4.0
    seed: int = 1

    @property
    def lay(self) -> Motion:
        """From the frame of the face to that of the field."""
        return motion(self.chin_up, Vector(*self.shift))

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return round(WIDTH * self.fineness), round(HEIGHT * self.fineness)

    def pixel(self, point: Vector) -> tuple[float, float]:
        """Where a point of the face lies in the picture, x to the right and y down."""
        laid = self.lay(point)
        return (laid.x - LEFT) * self.fineness, (TOP - laid.y) * self.fineness

    def ruler_ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Upper and lower end of the ruler's 100 mm in the picture."""
        x, y = (RULER_TOP.x - LEFT) * self.fineness, (TOP - RULER_TOP.y) * self.fineness
        return (x, y), (x, y + RULER_MM * self.fineness)


@dataclass(frozen=True, slots=True)
class Radiograph:
    """What a radiograph is drawn from."""

    skull: Skull
    jaws: Jaws
    dentition: Dentition = field(default_factory=Dentition)
    film: Film = field(default_factory=Film)

    def face(self) -> dict[str, Vector]:
        """Every landmark in the frame of the face."""
        return landmarks(self.skull, self.jaws)

    def points(self) -> dict[str, tuple[float, float]]:
        """Every landmark in pixels of the picture."""
        return {name: self.film.pixel(at) for name, at in self.face().items()}

    def stable_marks(self) -> dict[str, tuple[float, float]]:
        """Marks on stable structures in pixels of the picture."""
        marks = stable_marks(self.skull, self.jaws, self.face(), self.film.seed)
        return {key: self.film.pixel(at) for key, at in marks.items()}

    def outlines(self) -> dict[str, list[str | tuple[float, float]]]:
        """Every structure as a row of landmarks' keys and places in pixels of the picture."""
        return {
            key: [knot if isinstance(knot, str) else self.film.pixel(knot) for knot in row]
            for key, row in rows(self.skull, self.jaws, self.face()).items()
        }


def picture(radiograph: Radiograph) -> bytes:
    """The radiograph as a grey JPEG; the same radiograph gives the same bytes on one machine."""
    to = io.BytesIO()
    grey(radiograph).save(to, "JPEG", quality=QUALITY)
    return to.getvalue()


def grey(radiograph: Radiograph) -> Image.Image:
    """The radiograph in grey, light bones on dark ground."""
    film = radiograph.film
    points = radiograph.face()
    outlines = rows(radiograph.skull, radiograph.jaws, points)
    corner, size = (LEFT, TOP), (WIDTH, HEIGHT)
    coarse = film.fineness / COARSER
    on = Exposure(
        Plate(corner, size, coarse, film.lay),
        Plate(corner, size, coarse, film.lay),
        Plate(corner, size, film.fineness, film.lay),
        Plate(corner, size, film.fineness, film.lay),
    )
    draw_head(on, radiograph.skull, points, outlines, film.seed)
    draw_jaws(on, radiograph.skull, radiograph.jaws, radiograph.dentition, points, outlines)
    on.fine.values += _metal(film)
    return Image.fromarray(_shadow(on, film))


def _metal(film: Film) -> Floats:
    """What hangs beside the head: the ruler with a tick each 5 mm, and letters that say that nobody was exposed."""
    mask = Image.new("L", film.size)
    draw, fine = ImageDraw.Draw(mask), film.fineness
    letters = ImageFont.load_default(5.2 * fine)
    draw.text((7 * fine, (HEIGHT - 12) * fine), "DRAWN, NOBODY EXPOSED", fill=190, font=letters)
    (x, y), (_, end) = film.ruler_ends()
    draw.rectangle((x, y, x + 0.8 * fine, end), fill=255)
    for number in range(21):
        long = 5.5 if number % 10 == 0 else 3.6 if number % 2 == 0 else 2.2
        at = y + number * 5 * fine
        draw.rectangle((x, at - 0.25 * fine, x + long * fine, at + 0.25 * fine), fill=255)
    for mm, words in ((0, "0"), (50, "50"), (100, "100"), (106, "mm")):
        draw.text((x + 6.4 * fine, y + mm * fine), words, fill=190, font=letters, anchor="lm")
    blurred = mask.filter(ImageFilter.GaussianBlur(0.16 * fine))
    return numpy.asarray(blurred, numpy.float32) * numpy.float32(1.5 / 255)


def _shadow(on: Exposure, film: Film) -> NDArray[numpy.uint8]:
    """From what was met to greys: texture in bone, absorption, a lift of small contrasts, vignette, grain."""
    random = numpy.random.default_rng(film.seed)
    lines, columns = on.fine.values.shape
    rows_small, columns_small = on.wide.values.shape
    texture = numpy.zeros_like(on.wide.values)
    for share, grains in ((0.06, 2), (0.08, 5), (0.05, 20)):
        texture += numpy.float32(share) * mottled(random, rows_small, columns_small, grains)
    bone = enlarged(on.wide.values, lines, columns) + on.fine.values
    bone += numpy.maximum(bone, 0) * enlarged(texture, lines, columns)
    soft = enlarged(on.soft.values, lines, columns) * on.skin.values
    light = 1 - numpy.exp(-1.15 * numpy.maximum(soft + bone, 0.2 * soft))
    small = Image.fromarray(numpy.clip(light[::8, ::8] * 255, 0, 255).astype(numpy.uint8))
    around = numpy.asarray(small.filter(ImageFilter.GaussianBlur(9)), numpy.float32) / numpy.float32(255)
    light = light + 0.55 * (light - enlarged(around, lines, columns))
    down = numpy.linspace(-1, 1, lines, dtype=numpy.float32)[:, None]
    across = numpy.linspace(-1, 1, columns, dtype=numpy.float32)[None, :]
    fall = 1 - 0.16 * (down * down + across * across)
    fine, coarse = (mottled(random, lines, columns, grains) for grains in (1, 2))
    value = 14 + 232 * numpy.clip(light, 0, 1.04) * fall + film.grain * (0.7 * fine + 0.8 * coarse)
    shadow: NDArray[numpy.uint8] = numpy.clip(value, 0, 255).astype(numpy.uint8)
    return shadow
