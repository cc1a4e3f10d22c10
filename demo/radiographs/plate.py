"""A plate that adds up what rays meet: areas and lines in millimetres, with soft edges, as arrays of floats."""

import math
from collections.abc import Sequence

import numpy
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from imaging.geometry import Motion, Vector

Floats = NDArray[numpy.float32]
Outline = Sequence[Vector]
BLUR_REACH = 3
"""How many times its blur a shape reaches beyond its outline."""


class Plate:
    """A field of `width` × `height` mm with the origin at `left`, `top` (x of its left edge, y of its upper one).

    `fineness` is pixels per millimetre, `lay` the motion that brings what is drawn onto the field.  Weights are
    added; a negative weight is air.
    """

    def __init__(
        self, corner: tuple[float, float], size: tuple[float, float], fineness: float, lay: Motion
    ) -> None:
        (self.left, self.top), (width, height) = corner, size
        self.fineness, self.lay = fineness, lay
        self.values: Floats = numpy.zeros((round(height * fineness), round(width * fineness)), numpy.float32)

    def area(self, outline: Outline, weight: float, soft: float) -> None:
        """A filled outline; `soft` is the blur of its edge in mm."""
        self.areas([outline], weight, soft)

    def areas(self, outlines: Sequence[Outline], weight: float, soft: float) -> None:
        """Filled outlines of one sort; where they overlap they count once."""
        self._laid(outlines, weight, soft, None)

    def line(self, outline: Outline, weight: float, width: float, soft: float = 0.18) -> None:
        """A line of `width` mm along an outline."""
        self.lines([outline], weight, width, soft)

    def lines(self, outlines: Sequence[Outline], weight: float, width: float, soft: float) -> None:
        """Lines of one sort; where they cross they count once."""
        self._laid(outlines, weight, soft, width)

    def body(self, outline: Outline, weight: float, depth: float) -> None:
        """A round body seen from the side: thin at its outline and where it is narrow, full `depth` mm inside."""
        mask, where = self._mask([outline], None, depth)
        near, far = (
            numpy.asarray(mask.filter(ImageFilter.GaussianBlur(share * depth * self.fineness)), numpy.float32)
            for share in (0.12, 0.6)
        )
        within = (near + far) / 510
        self.values[where] += numpy.float32(weight) * within * within

    def _laid(self, outlines: Sequence[Outline], weight: float, soft: float, width: float | None) -> None:
        mask, where = self._mask(outlines, width, soft * BLUR_REACH)
        if mask.width and mask.height:
            blurred = mask.filter(ImageFilter.GaussianBlur(soft * self.fineness))
            self.values[where] += numpy.asarray(blurred, numpy.float32) * numpy.float32(weight / 255)

    def _mask(
        self, outlines: Sequence[Outline], width: float | None, margin: float
    ) -> tuple[Image.Image, tuple[slice, slice]]:
        """The shapes drawn in as much of the plate as they reach, and where that lies."""
        drawn = [[self._spot(point) for point in outline] for outline in outlines]
        spots = [spot for one in drawn for spot in one]
        reach = (margin + (width or 0)) * self.fineness + 1
        rows, columns = self.values.shape
        x0 = min(max(math.floor(min(x for x, _ in spots) - reach), 0), columns)
        y0 = min(max(math.floor(min(y for _, y in spots) - reach), 0), rows)
        x1 = max(min(math.ceil(max(x for x, _ in spots) + reach), columns), x0)
        y1 = max(min(math.ceil(max(y for _, y in spots) + reach), rows), y0)
        mask = Image.new("L", (x1 - x0, y1 - y0))
        draw = ImageDraw.Draw(mask)
        for one in drawn:
            here = [(x - x0, y - y0) for x, y in one]
            if width is None:
                draw.polygon(here, fill=255)
            else:
                draw.line(here, fill=255, width=max(1, round(width * self.fineness)), joint="curve")
        return mask, (slice(y0, y1), slice(x0, x1))

    def _spot(self, point: Vector) -> tuple[float, float]:
        laid = self.lay(point)
        return (laid.x - self.left) * self.fineness, (self.top - laid.y) * self.fineness


def enlarged(values: Floats, rows: int, columns: int) -> Floats:
    """The same field in more pixels."""
    picture = Image.fromarray(values).resize((columns, rows), Image.Resampling.BICUBIC)
    return numpy.asarray(picture, numpy.float32)


def mottled(random: numpy.random.Generator, rows: int, columns: int, coarseness: int) -> Floats:
    """Even noise of mean 0 and deviation 1 with grains of `coarseness` pixels."""
    small = random.standard_normal((rows // coarseness + 2, columns // coarseness + 2), numpy.float32)
    return enlarged(small, rows, columns) if coarseness > 1 else small[:rows, :columns]
