"""Taking in photographs of 24 megapixels, as a ratio to a bare decode-resize-encode loop of the same library.

The bare loop does the least: decode with the library's fast path, resize to both sizes, encode. Taking in also walks
the file, decodes it a second time to see whether anything is missing, goes through the colour profile, lists what it
leaves behind and encodes with a fixed profile. Storing is left out of both; seconds are those of the processor, so that
whatever else runs does not count. Then the same for the further kinds of files,
and the peak memory of the largest pictures that are accepted, each in a process of its own.
"""

import io
import re
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pillow_heif
import pydicom
import tifffile
from PIL import Image, ImageChops

from bench._largest_pictures import LARGEST, make, scene
from imaging.deidentify import clean, encoded, smaller

COUNT = 48
SIZE = (6000, 4000)
SIZES = (2400, 1600)
AT_LEAST = 0.5
AT_MOST_MEGABYTES = 300

WITHOUT_LOSS = ("PNG", "TIFF", "DICOM")
"""Kinds whose rendition for print is a PNG (`imaging.services.PRINTED_WITHOUT_LOSS`)."""
OF_EACH = 6
KINDS: dict[str, tuple[int, str]] = {
    "HEIC": (24, "JPEG"),
    "WebP": (10, "JPEG"),
    "PNG, 16 bits grey": (24, "PNG"),
    "TIFF, 16 bits grey": (24, "PNG"),
    "TIFF, colour": (24, "PNG"),
    "DICOM, 16 bits grey": (16, "PNG"),
    "DICOM, JPEG 2000": (10, "PNG"),
}
"""Further kinds that are timed: millions of pixels, and what the rendition for print is encoded as."""


def photograph() -> bytes:
    """A JPEG of 24 megapixels with the grain of a camera; about 8 MB, as cameras write them."""
    grain = Image.merge("RGB", [Image.effect_noise(SIZE, 5) for _ in range(3)])
    to = io.BytesIO()
    ImageChops.add(scene(SIZE), grain, offset=-128).save(to, "JPEG", quality=90, comment=b"a comment")
    return to.getvalue()


def bare(data: bytes) -> None:
    with Image.open(io.BytesIO(data)) as picture:
        picture.draft("RGB", (SIZES[0], SIZES[0] * 2 // 3))
        for longest in SIZES:
            picture.thumbnail((longest, longest), Image.Resampling.LANCZOS, reducing_gap=2.0)
            picture.save(io.BytesIO(), "JPEG", quality=90)


def bare_of(kind: str, data: bytes) -> None:
    """Decode with the very library that is used, upper 8 bits of deeper greys, both sizes, the same encodings."""
    picture = decoded(kind, data)
    for longest, encoding in zip(SIZES, (KINDS[kind][1], "JPEG"), strict=True):
        picture.thumbnail((longest, longest), Image.Resampling.LANCZOS, reducing_gap=2.0)
        picture.convert("RGB").save(io.BytesIO(), encoding, **({"quality": 90} if encoding == "JPEG" else {}))


def decoded(kind: str, data: bytes) -> Image.Image:
    if kind == "HEIC":
        return pillow_heif.open_heif(io.BytesIO(data)).to_pillow()
    if kind.startswith("DICOM"):
        return Image.fromarray((pydicom.dcmread(io.BytesIO(data)).pixel_array >> 8).astype(np.uint8))
    if kind.startswith("TIFF, 16"):
        return Image.fromarray((tifffile.imread(io.BytesIO(data)) >> 8).astype(np.uint8))
    picture = Image.open(io.BytesIO(data))
    if kind.startswith("PNG, 16"):
        return Image.fromarray((np.asarray(picture) >> 8).astype(np.uint8))
    picture.load()
    return picture


def ratio_of(kind: str, path: str) -> tuple[float, float, float]:
    """Seconds of the bare loop and of taking in, one after the other in turns, and the peak of this process."""
    data = Path(path).read_bytes()
    spent = {bare_of: 0.0, taking_in: 0.0}
    for _ in range(OF_EACH):
        began = time.process_time()
        taking_in(data)
        spent[taking_in] += time.process_time() - began
    peak = peak_megabytes()
    for _ in range(OF_EACH):
        began = time.process_time()
        bare_of(kind, data)
        spent[bare_of] += time.process_time() - began
    return spent[bare_of], spent[taking_in], peak


def taking_in(data: bytes) -> None:
    cleaned = clean(data, SIZES[0])
    encoded(smaller(cleaned.pixels, SIZES[1]), "JPEG")
    encoded(cleaned.pixels, "PNG" if cleaned.kind in WITHOUT_LOSS else "JPEG")


def seconds(work: Callable[[bytes], None], data: bytes) -> float:
    began = time.process_time()
    for _ in range(COUNT):
        work(data)
    return time.process_time() - began


def peak_megabytes() -> float:
    """The most memory this process has held since its program began; what its parent held is left out (Linux)."""
    found = re.search(r"VmHWM:\s*(\d+) kB", Path("/proc/self/status").read_text(encoding="ascii"))
    assert found is not None, "the kernel tells it"
    return int(found[1]) / 1024


def peak_of_taking_in(path: str) -> float:
    taking_in(Path(path).read_bytes())
    return peak_megabytes()


def main() -> None:
    data = photograph()
    with ProcessPoolExecutor(2, get_context("spawn"), max_tasks_per_child=1) as processes:
        taken, peak = processes.submit(all_taken_in, data).result()
        least = processes.submit(seconds, bare, data).result()
        print(f"{COUNT} photographs of {SIZE[0]} x {SIZE[1]}, {len(data) / 1e6:.1f} MB each")
        ratio = least / taken
        print(f"bare loop {least:.1f} s, taking in {taken:.1f} s: throughput {ratio:.2f} of the bare loop")
        print(f"wanted at least {AT_LEAST}; peak {peak:.0f} MB, wanted under {AT_MOST_MEGABYTES} MB")
        with tempfile.TemporaryDirectory() as folder:
            path = f"{folder}/picture"
            print(
                f"further kinds, {OF_EACH} of each, beside a bare loop with the same library in the same process:"
            )
            for kind, (millions, _) in KINDS.items():
                processes.submit(make, kind, millions, path).result()
                least, taken, peak = processes.submit(ratio_of, kind, path).result()
                told = f"bare {least:.1f} s, taking in {taken:.1f} s: {least / taken:.2f}; peak {peak:.0f} MB"
                print(f"  {kind}, {millions} megapixels: {told}", flush=True)
            print("the largest pictures accepted, each in a process of its own:")
            for kind, (millions, _) in LARGEST.items():
                processes.submit(make, kind, millions, path).result()
                peak = processes.submit(peak_of_taking_in, path).result()
                size = Path(path).stat().st_size / 1e6
                print(f"  {kind}, {millions} megapixels, {size:.0f} MB: peak {peak:.0f} MB", flush=True)


def all_taken_in(data: bytes) -> tuple[float, float]:
    """Seconds for all of them, and the peak of the process that did it."""
    return seconds(taking_in, data), peak_megabytes()


if __name__ == "__main__":
    main()
