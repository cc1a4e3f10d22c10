"""Superimpositions in print: three ways on one page, pairs, what each copy says, and the size that is told."""

from __future__ import annotations

import re
import subprocess
import uuid
from pathlib import Path

import numpy as np
import pytest
from django.utils import timezone
from PIL import Image

from accounts.models import User
from dossier.case_file import PAPERS, CaseFile
from dossier.selectors import Wanted, printable
from dossier.superimpositions import TOLD, pairs
from imaging.models import Tracing
from imaging.superimposing import services
from imaging.superimposing.selectors import stage_lines, traced_stages
from imaging.tracing.as_face import Placed
from portfolio.ages import latest_day
from portfolio.models import Case, RecordItem
from portfolio.services import record_items
from tests.factories.accounts import person
from tests.factories.dossier import printed
from tests.factories.portfolio import NOON, case_of, record_set_of
from tests.factories.tracing import calibrated, pixel, placed, put, radiograph_of, traced
from tests.press.printed import page_count, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
MARKS: dict[str, Placed | None] = {
    key: placed(*pixel(*at))
    for key, at in {
        "sella_wall": (4.5, 1.0),
        "walker": (6.0, 3.5),
        "orbital_roof": (52, 14),
        "zygomatic_upper": (46, -24),
        "zygomatic_lower": (44, -40),
        "palate_front": (66, -50),
        "symphysis_upper": (60, -90),
        "symphysis_lower": (57, -101),
        "canal_bend": (8, -62),
    }.items()
}


@pytest.fixture
def owner() -> User:
    return person()


@pytest.fixture
def case(owner: User) -> Case:
    return case_of(owner)


def stage(
    owner: User, case: Case, key: str = "initial", *, marked: bool = True, scale: bool = True
) -> Tracing:
    """A traced radiograph of a stage, looked through for names."""
    here = record_set_of(case)
    if key != "initial":
        here.pk, here.public_id, here.stage = None, uuid.uuid4(), key
        here.save()
    item = radiograph_of(owner, here, shade=60 + 20 * len(key))
    record_items.state_no_text(owner, item, item.version, NOON)
    tracing = traced(calibrated(item) if scale else item)
    if marked:
        services.save_marks(tracing, MARKS, 0)
    return tracing


def file_of(case: Case, edition: str = "examiner") -> CaseFile:
    owner = case.patient.portfolio.owner
    return printable(owner, case, Wanted(edition, "a4"), latest_day(timezone.now())).file


@pytest.mark.parametrize("paper", PAPERS)
def test_cranial_base_maxilla_and_mandible_stand_on_one_page(
    owner: User, case: Case, tmp_path: Path, paper: str
) -> None:
    stage(owner, case)
    put(stage(owner, case, "final"), {"Pog": placed(*pixel(66, -103)), "U1": placed(*pixel(70, -75))})
    pdf = printed(case, tmp_path, "examiner", paper)
    page = next(n for n in range(1, page_count(pdf) + 1) if "Superimposition" in words_of(pdf, n))
    words = " ".join(words_of(pdf, page).split())
    for said in (
        "Final against initial",
        "Cranial base",
        "Maxilla",
        "Mandible",
        "down 6.0",
        "back 3.0",
        "2·√2",
        "per cent",
    ):
        assert said in words, said
    lines = file_of(case).superimpositions[0].moved
    assert [line.point for line in lines] == list(TOLD), "the longest table that there is"
    assert words_of(pdf, page).count("± ") >= len(lines)
    assert lines[-1].cells[0] in words, "the table goes on over the page"
    assert page == page_count(pdf) or "How points moved" not in words_of(pdf, page + 1)
    percent = file_of(case).superimpositions[0].percent
    assert f"All drawings at {percent} per cent" in words
    assert len(runs_of_ink(pdf, page, 20 * percent / 100, tmp_path)) >= 3, "a bar of 20 mm under each drawing"


def runs_of_ink(pdf: Path, page: int, length_mm: float, to: Path) -> list[float]:
    """Horizontal runs of ink on the page that are as long as that within 0.2 mm, in mm."""
    command = ["pdftoppm", "-r", "300", "-f", str(page), "-l", str(page), "-gray", "-singlefile"]
    subprocess.run([*command, str(pdf), str(to / "page")], check=True)
    found = []
    for row in np.asarray(Image.open(to / "page.pgm")) < 100:
        edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
        found += [(b - a) * 25.4 / 300 for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return [length for length in found if abs(length - length_mm) < 0.2]


def test_interim_records_give_three_pairs(owner: User, case: Case) -> None:
    for key in ("initial", "interim", "final"):
        stage(owner, case, key)
    stages = traced_stages(stage_lines(owner, case))
    assert [(a.label, b.label) for a, b in pairs(stages)] == [
        ("initial", "final"),
        ("initial", "interim 1"),
        ("interim 1", "final"),
    ]
    assert [part.heading for part in file_of(case).superimpositions] == [
        "Final against initial",
        "Interim 1 against initial",
        "Final against interim 1",
    ]


def test_without_two_tracings_there_is_no_page(owner: User, case: Case) -> None:
    assert file_of(case).superimpositions == ()
    stage(owner, case)
    assert file_of(case).superimpositions == ()


def test_different_scales_are_explained_in_both_copies_and_nothing_is_drawn(owner: User, case: Case) -> None:
    stage(owner, case)
    stage(owner, case, "final", scale=False)
    told = {}
    for edition in ("examiner", "candidate"):
        (part,) = file_of(case, edition).superimpositions
        assert [view.sketch for view in part.views] == [None]
        told[edition] = part.views[0].refused
        assert told[edition].startswith("No scale: final.")
        assert (part.percent, part.moved) == (0, ())
    assert "on its own page" in told["candidate"]
    assert "on its own page" not in told["examiner"]


def test_a_tracing_that_cannot_be_read_is_a_matter_of_the_candidates_copy(owner: User, case: Case) -> None:
    stage(owner, case)
    item = stage(owner, case, "final").item
    RecordItem.objects.filter(pk=item.pk).update(operations=[{"kind": "quarter_left"}])
    assert file_of(case).superimpositions == ()
    (own,) = file_of(case, "candidate").superimpositions
    assert "lies on its side" in own.views[0].refused


def test_what_waits_to_be_marked_is_said_in_the_candidates_copy_alone(owner: User, case: Case) -> None:
    stage(owner, case, marked=False)
    stage(owner, case, "final", marked=False)
    (examiners,), (own,) = (file_of(case, edition).superimpositions for edition in ("examiner", "candidate"))
    assert [view.label for view in examiners.views if view.sketch] == ["S-N at S"]
    assert [view.refused for view in examiners.views if view.refused] == []
    assert [view.label for view in own.views if "Mark the stable structures" in view.refused] == [
        "Maxilla",
        "Mandible",
    ]
    assert examiners.columns == own.columns == ("S-N at S",)


def test_the_drawings_have_room_on_the_page_and_one_size(owner: User, case: Case) -> None:
    stage(owner, case)
    stage(owner, case, "final")
    (part,) = file_of(case).superimpositions
    assert part.percent % 5 == 0
    for view, wide in zip(part.views, (92, 72, 72), strict=True):
        assert view.sketch
        assert view.width_mm <= wide
        assert view.width_mm / view.sketch.width == pytest.approx(part.percent / 100)
    assert re.match(r"3 marks, left 0\.00 mm apart", part.views[0].fit)
