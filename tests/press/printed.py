"""Looks into printed PDFs with other programs than the one that wrote them."""

from __future__ import annotations

import html
import re
import subprocess
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pikepdf

STREAM = re.compile(rb"stream\r?\n(.*?)\r?\nendstream", re.DOTALL)


def words_of(pdf: Path, page: int | None = None) -> str:
    """Text as a reader's program extracts it, of one page (from 1) or all."""
    text = _told("pdftotext", "-layout", str(pdf), "-", stamp=_stamp(pdf))
    return text if page is None else text.split("\f")[page - 1]


def facts_of(pdf: Path) -> str:
    """Document metadata as a reader's program tells it."""
    return "".join(_told("pdfinfo", *option, str(pdf), stamp=_stamp(pdf)) for option in ((), ("-meta",)))


def page_count(pdf: Path) -> int:
    return int(re.findall(r"Pages:\s+(\d+)", _told("pdfinfo", str(pdf), stamp=_stamp(pdf)))[0])


@lru_cache(maxsize=32)
def _told(*command: str, stamp: tuple[int, int]) -> str:
    """What a program says of a file; asked once for a file that stays as it is."""
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def _stamp(pdf: Path) -> tuple[int, int]:
    told = pdf.stat()
    return told.st_mtime_ns, told.st_size


def picture_count(pdf: Path) -> int:
    """Pictures placed on pages."""
    listed = subprocess.run(
        ["pdfimages", "-list", str(pdf)], check=True, capture_output=True, text=True
    ).stdout
    return sum(" image " in line for line in listed.splitlines())


def decompressed(pdf: Path) -> bytes:
    """All streams of a PDF, inflated where they are deflated."""
    found = []
    for stream in STREAM.findall(pdf.read_bytes()):
        try:
            found.append(zlib.decompressobj().decompress(stream))
        except zlib.error:
            found.append(stream)
    return b"\n".join(found)


def everything_in(pdf: Path) -> bytes:
    """Raw bytes, inflated streams, extracted text and metadata, one after the other."""
    return b"\n".join([pdf.read_bytes(), decompressed(pdf), words_of(pdf).encode(), facts_of(pdf).encode()])


@dataclass(frozen=True)
class Tagged:
    """One element of a PDF's tagged structure: its kind, page (from 1), alternative text, and the elements in it."""

    kind: str
    page: int
    alt: str
    inside: tuple[Tagged, ...]

    def all_of(self, kind: str) -> Iterator[Tagged]:
        """Elements of a kind, this one included, in the order of reading."""
        if self.kind == kind:
            yield self
        for one in self.inside:
            yield from one.all_of(kind)

    @property
    def pages(self) -> set[int]:
        return {self.page}.union(*(one.pages for one in self.inside))


def structure_of(pdf: Path) -> Tagged:
    """The tagged structure as its own writer declares it (ISO 32000-1, 14.7)."""
    with pikepdf.open(pdf) as opened:
        pages: dict[Any, int] = {page.objgen: number for number, page in enumerate(opened.pages, 1)}
        return _tagged(opened.Root.StructTreeRoot, pages, 1)


def _tagged(node: Any, pages: dict[Any, int], page: int) -> Tagged:
    page = pages[node.Pg.objgen] if "/Pg" in node else page
    kids = node.get("/K", [])
    kids = list(kids) if isinstance(kids, pikepdf.Array) else [kids]
    inside = tuple(
        _tagged(one, pages, page) for one in kids if isinstance(one, pikepdf.Dictionary) and "/S" in one
    )
    return Tagged(str(node.get("/S", "")), page, str(node.get("/Alt", "")), inside)


@dataclass(frozen=True)
class Placed:
    """One picture on a page: its edges in points from the lower left corner, and those of the page."""

    page: int
    left: float
    bottom: float
    right: float
    top: float
    paper: tuple[float, float]


def pictures_placed(pdf: Path) -> list[Placed]:
    """Where every picture stands, worked out from the drawing operators (ISO 32000-1, 8.3.4 and 8.10)."""
    found = []
    with pikepdf.open(pdf) as opened:
        for number, page in enumerate(opened.pages, 1):
            box = [float(one) for one in page.mediabox]
            paper = (box[2] - box[0], box[3] - box[1])
            for matrix in _pictures(page.obj, pikepdf.Matrix(), page.obj.get("/Resources")):
                corners = [matrix.transform((x, y)) for x in (0, 1) for y in (0, 1)]
                across, up = [one[0] for one in corners], [one[1] for one in corners]
                found.append(Placed(number, min(across), min(up), max(across), max(up), paper))
    return found


def _pictures(drawing: Any, matrix: pikepdf.Matrix, resources: Any) -> Iterator[pikepdf.Matrix]:
    kept: list[pikepdf.Matrix] = []
    for instruction in pikepdf.parse_content_stream(drawing):
        operands: Any = instruction.operands
        match str(instruction.operator):
            case "q":
                kept.append(matrix)
            case "Q":
                matrix = kept.pop()
            case "cm":
                matrix = pikepdf.Matrix(*(float(one) for one in operands)) @ matrix
            case "Do":
                thing = resources.XObject[str(operands[0])]
                if thing.Subtype == "/Image":
                    yield matrix
                else:
                    inner = pikepdf.Matrix(*(float(one) for one in thing.get("/Matrix", (1, 0, 0, 1, 0, 0))))
                    yield from _pictures(thing, inner @ matrix, thing.get("/Resources", resources))


@dataclass(frozen=True)
class Word:
    """One word on paper as a reader's program finds it; edges in points from the upper left corner."""

    page: int
    text: str
    left: float
    right: float
    bottom: float
    paper_width: float


BOX = re.compile(
    r'<page width="([\d.]+)"|<word xMin="(\S+)" yMin="\S+" xMax="(\S+)" yMax="(\S+)">(.*?)</word>'
)


def word_places(pdf: Path) -> list[Word]:
    """Every word with its place, in the order in which it was written."""
    command = ["pdftotext", "-bbox", str(pdf), "-"]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found: list[Word] = []
    page, width = 0, 0.0
    for paper, left, right, bottom, text in BOX.findall(told):
        if paper:
            page, width = page + 1, float(paper)
        else:
            found.append(Word(page, html.unescape(text), float(left), float(right), float(bottom), width))
    return found


def glyph_boxes(pdf: Path) -> tuple[int, set[str]]:
    """How often the box for a missing glyph (number 0) is drawn, and the names of the embedded fonts.

    Every font must be embedded and its text two bytes a glyph (Identity-H), as the writer here does it.
    """
    boxes, fonts = 0, set()
    with pikepdf.open(pdf) as opened:
        for page in opened.pages:
            for font in page.obj.Resources.get("/Font", {}).values():
                assert font.Encoding == "/Identity-H"
                descriptor = font.DescendantFonts[0].FontDescriptor
                assert any(key in descriptor for key in ("/FontFile2", "/FontFile3"))
                fonts.add(str(font.BaseFont).partition("+")[2])
            for instruction in pikepdf.parse_content_stream(page):
                operands: Any = instruction.operands
                if str(instruction.operator) in ("Tj", "TJ"):
                    shown = operands[0] if str(instruction.operator) == "TJ" else operands
                    codes = b"".join(bytes(one) for one in shown if isinstance(one, pikepdf.String))
                    boxes += sum(codes[at : at + 2] == b"\0\0" for at in range(0, len(codes), 2))
    return boxes, fonts
