"""Drawn pictures of invented people: line and flat colour, so that nobody takes them for photographs."""

import io
from collections.abc import Callable

from PIL import Image, ImageDraw, ImageFont

SKIN, HAIR, INK, LIP = (238, 205, 178), (92, 70, 58), (70, 60, 58), (190, 104, 100)
GUM, TOOTH, DARK = (214, 134, 132), (250, 246, 232), (96, 48, 50)
GROUND, STEEL = (214, 224, 226), (186, 192, 198)
FACE, MOUTH = (900, 1200), (1200, 800)
WIDTHS = (86, 66, 78, 72, 70, 96)
"""Drawn widths of the teeth from the middle backwards; only their order is meant."""

ARCH_RULER_MM = 50
ARCH_RULERS = {1: ((390, 744), (810, 744)), -1: ((270, 34), (930, 34))}
"""Ends of the ruler in the drawings of arches, as `_arch` opens, where its width tells drawn teeth their usual size."""

Draw = ImageDraw.ImageDraw


def drawn(view: str, uneven: int) -> bytes:
    """A drawing of one of the eight usual views as PNG; `uneven` 0 to 30 is how far the teeth are out of line."""
    face = view in ("face_rest", "face_smiling", "profile")
    picture = Image.new("RGB", FACE if face else MOUTH, GROUND if face else DARK)
    HOW[view](ImageDraw.Draw(picture), uneven)
    to = io.BytesIO()
    picture.save(to, "PNG")
    return to.getvalue()


def _head(draw: Draw) -> None:
    draw.ellipse((180, 90, 720, 760), fill=HAIR)
    draw.rectangle((370, 900, 530, 1200), fill=SKIN, outline=INK, width=4)
    draw.ellipse((210, 180, 690, 980), fill=SKIN, outline=INK, width=4)
    for x in (340, 560):
        draw.ellipse((x - 50, 470, x + 50, 520), fill="white", outline=INK, width=4)
        draw.ellipse((x - 18, 477, x + 18, 513), fill=INK)
        draw.arc((x - 65, 400, x + 65, 480), 200, 340, fill=HAIR, width=9)
    draw.line((450, 500, 425, 650, 465, 660), fill=INK, width=4)


def _face_rest(draw: Draw, uneven: int) -> None:
    _head(draw)
    draw.line((370, 790, 450, 780, 530, 790), fill=LIP, width=16, joint="curve")


def _face_smiling(draw: Draw, uneven: int) -> None:
    _head(draw)
    draw.chord((340, 690, 560, 860), 0, 180, fill=DARK, outline=LIP, width=12)
    for number in range(6):
        left, drop = 362 + number * 30, uneven // 3 if number % 2 else 0
        draw.rounded_rectangle((left, 776 + drop, left + 27, 812 + drop), 6, fill=TOOTH, outline=INK)


def _profile(draw: Draw, uneven: int) -> None:
    """Seen from the patient's right: the nose points to the right of the picture."""
    draw.ellipse((170, 90, 680, 760), fill=HAIR)
    upper, lower = 655 + uneven, 650 - uneven // 2
    outline = [(400, 180), (600, 260), (640, 470), (720, 620), (640, 650), (upper, 720), (640, 760)]
    outline += [
        (lower, 800),
        (620, 840),
        (640, 920),
        (560, 980),
        (430, 930),
        (430, 1200),
        (230, 1200),
        (260, 700),
    ]
    draw.polygon(outline, fill=SKIN, outline=INK, width=4)
    draw.ellipse((540, 450, 600, 485), fill="white", outline=INK, width=4)
    draw.arc((300, 500, 370, 620), 60, 330, fill=INK, width=5)


def _tooth(draw: Draw, left: float, width: float, top: float, bottom: float) -> None:
    draw.rounded_rectangle((left, top, left + width, bottom), 20, fill=TOOTH, outline=INK, width=3)


def _gums(draw: Draw) -> None:
    draw.rectangle((0, 90, 1200, 260), fill=GUM)
    draw.rectangle((0, 560, 1200, 720), fill=GUM)


def _front(draw: Draw, uneven: int) -> None:
    _gums(draw)
    for side in (-1, 1):
        at = 0.0
        for number, width in enumerate(WIDTHS):
            drop = uneven if number % 2 else 0
            left = 600 + at if side > 0 else 600 - at - width
            _tooth(draw, left, width, 380 + uneven, 600 + drop // 2 + uneven)
            _tooth(draw, left, width, 210 + drop, 440 + drop)
            at += width


def _side(draw: Draw, uneven: int, front: int) -> None:
    """Seen from one side; `front` 1: the front teeth are on the right of the picture, -1: on the left."""
    _gums(draw)
    at = 60.0
    for number, width in enumerate(reversed((*WIDTHS, 100))):
        wide = width * 1.7
        drop = uneven if number % 2 else 0
        for shift, top, bottom in ((-30 - uneven, 400, 600), (uneven, 220, 450)):
            left = at + shift if front > 0 else 1200 - at - wide - shift
            _tooth(draw, left, wide, top + drop, bottom + drop)
        at += wide


def arch_tooth(number: int, uneven: int, opens: int) -> tuple[float, float, float]:
    """Middle and half the width of a drawn tooth in pixels; 0 to 13 from the left of the picture to its right."""
    place = (number - 6.5) / 6.5
    x = 600 + 300 * place * (1.15 - 0.15 * abs(place))
    depth = 130 + 470 * abs(place) ** 2.2 + (uneven if number % 2 else 0)
    return x, depth if opens > 0 else 800 - depth, 34 + 22 * abs(place)


def _arch(draw: Draw, uneven: int, opens: int) -> None:
    """An arch from the chewing side; `opens` 1: front teeth at the top of the picture, -1: at the bottom."""
    draw.ellipse((230, 60, 970, 1100) if opens > 0 else (230, -300, 970, 740), fill=GUM)
    for number in range(14):
        x, y, size = arch_tooth(number, uneven, opens)
        draw.ellipse((x - size, y - size, x + size, y + size), fill=TOOTH, outline=INK, width=3)
    _ruler(draw, *ARCH_RULERS[opens])


def _ruler(draw: Draw, start: tuple[int, int], end: tuple[int, int]) -> None:
    """A ruler of `ARCH_RULER_MM` lying level, with a tick each 5 mm."""
    (left, top), (right, _) = start, end
    draw.rectangle((left - 14, top - 12, right + 14, top + 34), fill="white", outline=INK, width=2)
    for number in range(ARCH_RULER_MM // 5 + 1):
        x = left + (right - left) * number * 5 / ARCH_RULER_MM
        draw.line((x, top - 12, x, top + (8 if number % 2 else 16)), fill=INK, width=2)
    draw.text((right - 96, top + 12), f"{ARCH_RULER_MM} mm", fill=INK, font=ImageFont.load_default(20))


def caliper(reading: str) -> bytes:
    """A caliper held to an upper incisor, with its reading in mm, as PNG: a witness picture."""
    picture = Image.new("RGB", (900, 600), (232, 226, 212))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 0, 900, 180), fill=GUM)
    _tooth(draw, 250, 150, 120, 420)
    _tooth(draw, 404, 150, 120, 420)
    draw.polygon([(236, 560), (236, 380), (250, 330), (250, 560)], fill=STEEL, outline=INK)
    draw.polygon([(416, 560), (416, 380), (402, 330), (402, 560)], fill=STEEL, outline=INK)
    draw.rectangle((120, 500, 860, 560), fill=STEEL, outline=INK, width=3)
    draw.rectangle((470, 450, 800, 580), fill=(206, 218, 196), outline=INK, width=4)
    draw.text((490, 470), f"{reading} mm", fill=INK, font=ImageFont.load_default(72))
    to = io.BytesIO()
    picture.save(to, "PNG")
    return to.getvalue()


HOW: dict[str, Callable[[Draw, int], None]] = {
    "face_rest": _face_rest,
    "face_smiling": _face_smiling,
    "profile": _profile,
    "right": lambda draw, uneven: _side(draw, uneven, 1),
    "front": _front,
    "left": lambda draw, uneven: _side(draw, uneven, -1),
    "upper": lambda draw, uneven: _arch(draw, uneven, 1),
    "lower": lambda draw, uneven: _arch(draw, uneven, -1),
}
