"""Every public DICOM sample that ships inside the pydicom package: taken as what it is, or refused in words.

About 200 files of many makers: character sets, codings, multi-frame and damaged ones, and kinds that are no radiograph.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pydicom
import pytest

from imaging.deidentify import FrameAsked, PictureRefused, clean, encoded
from imaging.file_kinds import inspect
from tests.imaging.made_pictures import carries

DATA = Path(pydicom.__file__).parent / "data"
FILES = sorted(
    file
    for file in DATA.rglob("*")
    if file.is_file()
    and (file.suffix == ".dcm" or (not file.suffix and file.read_bytes()[128:132] == b"DICM"))
)
RADIOGRAPHS = [
    DATA / "test_files" / "dicomdirtests" / "77654033" / name for name in ("CR1/6154", "CR2/6247", "CR3/6278")
]


def answer(file: Path) -> str:
    try:
        return clean(file.read_bytes()).facts["stored_as"]
    except FrameAsked:
        return "asked"
    except PictureRefused as refused:
        assert re.fullmatch(r"[A-Z].{20,}\.", refused.reason), refused.reason  # noqa: PT017
        return "refused"


def test_every_sample_is_taken_asked_about_or_refused_in_words() -> None:
    assert len(FILES) > 150
    found = Counter(answer(file) for file in FILES)
    assert found == {
        "secondary capture": 40,
        "computed radiograph": 3,
        "asked": 2,
        "refused": len(FILES) - 45,
    }


@pytest.mark.parametrize("file", RADIOGRAPHS, ids=lambda file: file.name)
def test_the_computed_radiographs_are_taken_whole_with_what_they_say(file: Path) -> None:
    dataset, cleaned = pydicom.dcmread(file), clean(file.read_bytes())
    assert cleaned.facts["modality"] == dataset.Modality == "CR"
    assert (cleaned.width, cleaned.height) == (dataset.Columns, dataset.Rows) == cleaned.pixels.size
    said = [str(one) for one in dataset.get("PixelSpacing") or []]
    assert cleaned.facts.get("PixelSpacing", []) == said
    for keyword in ("PatientName", "PatientID", "StudyInstanceUID"):
        words = str(dataset[keyword].value)
        assert words not in str((cleaned.facts, cleaned.removed))
        assert not carries(encoded(cleaned.pixels, "PNG"), words)
        assert f"DICOM {dataset[keyword].name}" in cleaned.removed


@pytest.mark.parametrize("name", ["chrRuss", "chrArab", "chrH31", "chrX2", "chrGreek", "chrHbrw"])
def test_a_name_in_the_character_sets_of_the_standard_is_left_behind(name: str) -> None:
    """PS3.5 annexes H to K give these very names as examples."""
    file = DATA / "charset_files" / f"{name}.dcm"
    cleaned = clean(file.read_bytes())
    assert "DICOM Patient's Name" in cleaned.removed
    whole = str(pydicom.dcmread(file).PatientName)
    assert whole
    assert whole not in str((cleaned.facts, cleaned.removed))


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("CT_small.dcm", "CT"),
        ("MR_small.dcm", "MR"),
        ("rtplan.dcm", "RT Plan"),
        ("test-SR.dcm", "Comprehensive SR"),
        ("waveform_ecg.dcm", "ECG"),
        ("dicomdirtests/DICOMDIR", "Media Storage Directory"),
    ],
)
def test_a_record_that_is_no_radiograph_is_refused_by_the_name_of_its_kind(name: str, kind: str) -> None:
    with pytest.raises(PictureRefused, match=kind):
        inspect((DATA / "test_files" / name).read_bytes())
