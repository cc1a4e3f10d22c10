"""Pixels only: an uploaded picture becomes an upright sRGB picture without anything else that was in the file."""

import io
import numbers
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from PIL import ExifTags, Image, ImageChops, ImageCms

from imaging import dicom_files, dicom_pixels, greys, heif_files, tiff_files
from imaging.file_facts import FileFacts, resolution_spacing
from imaging.file_kinds import inspect
from imaging.intake_limits import (
    CUT_SHORT,
    DAMAGED,
    INCOMPLETE,
    FrameAsked,
    PictureRefused,
    Structure,
    chosen,
)
from imaging.jpeg_scans import with_bits_behind

__all__ = ["SRGB_PROFILE", "Cleaned", "FrameAsked", "PictureRefused", "clean", "encoded", "smaller"]

OPENED_AS = {"JPEG": ["JPEG", "MPO"], "PNG": ["PNG"], "WebP": ["WEBP"]}
EXIF_RESOLUTION, EXIF_UNIT, INCHES = (0x011A, 0x011B), 0x0128, {2: 1.0, 3: 2.54}
"""Fields of pixels across and down for the unit, and how many of the unit make an inch (Exif 2.32 section 4.6.4)."""
JPEG_QUALITY = 90
STRIP = 256


def _fixed_profile() -> bytes:
    """The sRGB profile without the moment it was made (ICC.1 header bytes 24 to 35), so it is always the same."""
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return made[:24] + bytes(12) + made[36:]


SRGB_PROFILE = _fixed_profile()


@dataclass(frozen=True, slots=True)
class Cleaned:
    """Upright RGB pixels in sRGB, and the names (never the contents) of the fields that were left behind.

    `width` and `height` are those of the original, upright; the pixels may be fewer. `facts` is the small record that
    is kept beside them.
    """

    pixels: Image.Image
    removed: tuple[str, ...]
    width: int
    height: int
    kind: str
    facts: FileFacts = field(default_factory=FileFacts)


def clean(
    data: bytes, longest: int | None = None, *, proven: bool = False, frame: int | None = None
) -> Cleaned:
    """Decode one whole picture (JPEG, PNG, TIFF, HEIC, WebP, DICOM) into pixels and nothing else.

    `longest` in pixels limits the longer side; the whole file is decoded all the same. `proven`: this very file has
    been found whole before, so that is not looked into again. `frame`, from 1, chooses among the pages of a TIFF or
    the frames of a DICOM file; of other kinds the first picture is taken. Raises FrameAsked where it is needed, and
    PictureRefused with the reason in words. Orientation is applied once; colours go through the embedded profile to
    sRGB.
    """
    structure = inspect(data)
    if structure.kind == "DICOM":
        return _of_dicom(data, structure, longest, frame)
    page = chosen(frame, len(structure.pages), "page")
    try:
        if structure.kind == "TIFF":
            picture = tiff_files.upright(data, structure.pages[page - 1])
            size = Structure("TIFF", *picture.size, structure.beside)
            facts = FileFacts(frame=page, frames=len(structure.pages)) if len(structure.pages) > 1 else None
            return _from(picture, size, longest, facts)
        if structure.kind == "HEIC":
            return _from(heif_files.opened(data).to_pillow(), structure, longest)
        if structure.kind == "JPEG" and not proven:
            # One after the other, so that only one of them is in memory.
            with _loaded(with_bits_behind(data, structure.scan_ends), structure, longest) as other:
                with_bits = _checksums(other)
            with _loaded(data, structure, longest) as picture:
                if _checksums(picture) != with_bits:
                    raise PictureRefused(CUT_SHORT)
                return _from(picture, structure, longest)
        with _loaded(data, structure, longest) as picture:
            return _from(picture, structure, longest)
    except PictureRefused:
        raise
    except (OSError, SyntaxError, ValueError, EOFError, RuntimeError, zlib.error) as error:
        raise PictureRefused(INCOMPLETE if "truncated" in str(error) else DAMAGED) from error


def _of_dicom(data: bytes, structure: Structure, longest: int | None, frame: int | None) -> Cleaned:
    """One frame of a DICOM file, with the few facts that are kept of it."""
    stored = dicom_files.opened(data)
    unlike = (
        f" The file itself declares {stored.declared_frames}."
        if stored.frames != stored.declared_frames
        else ""
    )
    number = chosen(frame, stored.frames, "frame", unlike)
    picture, how = dicom_pixels.picture_of(stored, number)
    facts: FileFacts = {**dicom_files.kept_facts(stored), **how}
    if stored.frames > 1:
        facts |= {"frame": number, "frames": stored.frames}
    return _from(picture, structure, longest, facts)


@contextmanager
def _loaded(data: bytes, structure: Structure, longest: int | None) -> Iterator[Image.Image]:
    """The decoded picture; of a JPEG perhaps at a half, quarter or eighth, which still reads every byte."""
    with Image.open(io.BytesIO(data), formats=OPENED_AS[structure.kind]) as picture:
        if structure.kind == "JPEG" and longest and longest < max(picture.size):
            picture.draft(None, _size_within(picture.size, longest))
        picture.load()
        yield picture


def _checksums(picture: Image.Image) -> list[int]:
    """One checksum for each strip of the picture, so that no second copy of all pixels is made."""
    strips = range(0, picture.height, STRIP)
    boxes = ((0, top, picture.width, min(top + STRIP, picture.height)) for top in strips)
    return [zlib.crc32(picture.crop(box).tobytes()) for box in boxes]


def _from(
    picture: Image.Image, structure: Structure, longest: int | None, facts: FileFacts | None = None
) -> Cleaned:
    # A TIFF was turned by the library when it was loaded, and its fields are named already; a HEIC by its container.
    exif = Image.Exif() if structure.kind in ("TIFF", "DICOM") else _exif(picture)
    removed = tuple(dict.fromkeys([*structure.beside, *_exif_names(exif)]))
    if structure.kind == "HEIC":
        exif = Image.Exif()
    kept: FileFacts = {**_resolution(picture, structure.kind, exif), **(facts or {})}
    profile = picture.info.get("icc_profile")
    if picture.mode == "CMYK" and structure.kind == "JPEG" and "adobe" not in picture.info:
        # Only Adobe's programs store inks inverted; the library takes that for granted.
        picture = ImageChops.invert(picture)
    if picture.mode.startswith("I"):
        kept["window"] = f"{greys.NO_WINDOW}; {greys.BY_RANGE}"
    upright = _turned(_in_srgb(_shrunk(picture, longest), profile), exif)
    width, height = structure.width, structure.height
    if upright.width != upright.height and (upright.width > upright.height) != (width > height):
        width, height = height, width
    # A new picture from the bare pixels: nothing that came with the file can travel on.
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    return Cleaned(bare, removed, width, height, structure.kind, kept)


def _resolution(picture: Image.Image, kind: str, exif: Image.Exif) -> FileFacts:
    """The resolution a file states with a unit of length: JFIF's before that of Exif, as both stand in a JPEG."""
    across, down = picture.info.get("dpi", (0, 0)) if kind in ("TIFF", "PNG") else (0, 0)
    if kind == "JPEG" and picture.info.get("jfif_unit") in (1, 2):
        across, down = picture.info["dpi"]
    elif kind == "JPEG" and exif.get(EXIF_UNIT) in INCHES:
        inches = INCHES[exif[EXIF_UNIT]]
        across, down = (exif.get(tag, 0) for tag in EXIF_RESOLUTION)
        across, down = (one * inches if isinstance(one, numbers.Real) else 0 for one in (across, down))
    return resolution_spacing(
        float(across), float(down), quarter_turned=exif.get(tiff_files.ORIENTATION, 1) in tiff_files.QUARTERS
    )


def _shrunk(picture: Image.Image, longest: int | None) -> Image.Image:
    """The picture at its final size, before copies are made of it; palettes and clear places are resolved first."""
    if picture.mode.startswith("I"):
        return _eight_bits(picture, longest)
    if picture.mode in ("1", "P", "PA") or "transparency" in picture.info:
        picture = picture.convert("RGBA" if picture.has_transparency_data else "RGB")
    return smaller(picture, longest)


def smaller(picture: Image.Image, longest: int | None) -> Image.Image:
    """The picture with its longer side at most `longest` pixels; never larger than it was."""
    if not longest or max(picture.size) <= longest:
        return picture
    return picture.resize(_size_within(picture.size, longest), Image.Resampling.LANCZOS, reducing_gap=2.0)


def _size_within(size: tuple[int, int], longest: int) -> tuple[int, int]:
    share = longest / max(size)
    return max(1, round(size[0] * share)), max(1, round(size[1] * share))


def encoded(picture: Image.Image, kind: str) -> bytes:
    """A file of `kind` "JPEG" or "PNG" that holds the pixels, our fixed sRGB profile and nothing else."""
    to = io.BytesIO()
    bare = Image.frombytes("RGB", picture.size, picture.convert("RGB").tobytes())
    if kind == "JPEG":
        bare.save(to, "JPEG", quality=JPEG_QUALITY, icc_profile=SRGB_PROFILE)
    else:
        bare.save(to, "PNG", icc_profile=SRGB_PROFILE)
    return to.getvalue()


def _exif(picture: Image.Image) -> Image.Exif:
    """The Exif fields; none where the block is damaged, which does not make the picture worthless."""
    try:
        return picture.getexif()
    except Exception:  # the parser raises what it meets: struct.error, SyntaxError, KeyError, ...
        return Image.Exif()


def _exif_names(exif: Image.Exif) -> Iterator[str]:
    """Names of Exif fields, with those of the sub-blocks; unknown numbers are only counted as unknown."""
    for tag in exif:
        if tag in (ExifTags.IFD.Exif, ExifTags.IFD.GPSInfo):
            continue
        yield f"Exif {ExifTags.TAGS.get(tag, 'unknown field')}"
    for block, names in (
        (ExifTags.IFD.Exif, ExifTags.TAGS),
        (ExifTags.IFD.GPSInfo, ExifTags.GPSTAGS),
        (ExifTags.IFD.IFD1, None),
    ):
        try:
            inside = exif.get_ifd(block)
        except Exception:  # as above: damaged blocks raise anything
            inside = {}
        if names is None:
            if inside:
                yield "Exif preview picture"
            continue
        for tag in inside:
            yield f"Exif {names.get(tag, 'unknown field')}"


def _turned(picture: Image.Image, exif: Image.Exif) -> Image.Image:
    how = tiff_files.UPRIGHT.get(exif.get(tiff_files.ORIENTATION, 1))
    return picture if how is None else picture.transpose(how)


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """RGB pixels in sRGB: transparency laid on white, CMYK by its profile."""
    if picture.has_transparency_data:
        layer = picture.convert("RGBA")
        ground = Image.new("RGB", layer.size, "white")
        ground.paste(layer, mask=layer.getchannel("A"))
        picture = ground
    elif picture.mode not in ("RGB", "CMYK", "L"):
        picture = picture.convert("RGB")
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            target = ImageCms.ImageCmsProfile(io.BytesIO(SRGB_PROFILE))
            converted = ImageCms.profileToProfile(picture, source, target, outputMode="RGB")
            if converted is not None:
                return converted
        except (ImageCms.PyCMSError, OSError):
            pass  # not a profile, or one for another kind of picture: the plain conversion is what is left
    return picture.convert("RGB")


def _eight_bits(picture: Image.Image, longest: int | None) -> Image.Image:
    """A grey picture of up to 16 bits in 8, by the range of the whole original however small it becomes."""
    counts = greys.counted(_values(picture), 65536)
    negative = picture.info.get(tiff_files.NEGATIVE)
    table = greys.table_of(counts[::-1])[::-1] if negative else greys.table_of(counts)
    if longest and longest < max(picture.size):
        picture = picture.resize(_size_within(picture.size, longest), Image.Resampling.LANCZOS)
    return Image.fromarray(np.concatenate([table[values] for values in _values(picture)]))


def _values(picture: Image.Image) -> Iterator[npt.NDArray[np.uint16]]:
    """The values of a grey picture of up to 16 bits, by strips."""
    for top in range(0, picture.height, STRIP):
        box = (0, top, picture.width, min(top + STRIP, picture.height))
        yield np.clip(np.asarray(picture.crop(box)), 0, 65535).astype(np.uint16)
