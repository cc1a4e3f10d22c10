"""Prints of cases for tests, asked for as the page does and done by a worker."""

from __future__ import annotations

from pathlib import Path

from accounts.models import User
from filing.selectors import open_bytes
from jobs import work
from jobs.models import Job
from portfolio.models import Case, Finding, RecordItem, RecordSet, Sheet
from portfolio.photographs import BY_KEY
from portfolio.services import Recorded, RecordSetDetails, add_record_set, import_sheet, record_items
from tests.factories.accounts import signed_in
from tests.factories.imaging import taken
from tests.factories.portfolio import NOON
from tests.factories.scoring import OPEN_FRONT, measured_sheet
from tests.imaging.made_pictures import corner, jpeg
from tests.scoring.sheets import neutral_with


def address(case: Case) -> str:
    return f"/cases/{case.public_id}/print/"


def asked(case: Case, edition: str = "examiner", paper: str = "a4", **more: str) -> Job:
    """The job after a press of the button, done by a worker."""
    who = case.patient.portfolio.owner
    answer = signed_in(who).post(address(case), {"edition": edition, "paper": paper, **more})
    assert answer.status_code == 302, answer.content.decode()
    job = Job.objects.order_by("-pk")[0]
    work.run_job(job.pk)
    job.refresh_from_db()
    return job


def printed(case: Case, to: Path, edition: str = "examiner", paper: str = "a4", **more: str) -> Path:
    job = asked(case, edition, paper, **more)
    assert (job.state, job.message) == ("done", "")
    return fetched(job, to, f"{edition}-{paper}")


def fetched(job: Job, to: Path, name: str = "print") -> Path:
    """The file of a finished print, in a folder."""
    assert job.result is not None
    pdf = to / f"{name}.pdf"
    with open_bytes(job.result) as stream:
        pdf.write_bytes(stream.read())
    return pdf


def assigned(owner: User, record_set: RecordSet, view: str, data: bytes | None = None) -> RecordItem:
    """A picture in a view, looked through for names where that is asked."""
    item = taken(owner, record_set, data or jpeg(corner()), f"{view}.jpg")
    RecordItem.objects.filter(pk=item.pk).update(view=view)
    item.refresh_from_db()
    if BY_KEY[view].text_asked:
        record_items.state_no_text(owner, item, item.version, NOON)
    return item


BY_TOOTH = ("tooth_width", "root_shortening", "recession", "probing_max", "alignment_step", "rotation")
TEETH = [f"{quadrant}{place}" for quadrant in (1, 2, 4, 3) for place in range(1, 8)]


def long_case(owner: User, count: int) -> Case:
    """A measured case of three stages with so many findings; each has a comment between BEGIN and END and its number.

    The comments grow from one line to the longest that is taken.
    """
    case = measured_sheet(owner, *OPEN_FRONT).record_set.case
    for stage in ("interim", "final"):
        record_set = add_record_set(owner, case, RecordSetDetails(stage=stage))
        answer = import_sheet(
            owner, record_set.sheets.get(), neutral_with(OPEN_FRONT, stage=stage), stage, NOON
        )
        assert isinstance(answer, Recorded), answer
    sheets = list(Sheet.objects.filter(record_set__case=case).order_by("pk"))
    already = Finding.objects.filter(sheet__in=sheets).count()
    more = [(sheet, quantity, tooth) for quantity in BY_TOOTH for tooth in TEETH for sheet in sheets]
    Finding.objects.bulk_create(
        Finding(
            sheet=s, quantity=q, site=t, state="measured", value="3", hundredths=300, changed_in=s.version
        )
        for s, q, t in more[: count - already]
    )
    rows = list(Finding.objects.filter(sheet__in=sheets).order_by("pk"))
    for number, row in enumerate(rows):
        row.note = f"BEGIN{number} {'word ' * (number % 96)}END{number}"
    Finding.objects.bulk_update(rows, ["note"])
    assert len(rows) == count
    case.refresh_from_db()
    return case
