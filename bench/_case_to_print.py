"""The first case of the invented clinic with photographs, laid out for print as a job does it: run by
`bench/print.py` with a folder to lay it out in.
"""

import io
import random
import sys
from datetime import datetime
from pathlib import Path

import django

django.setup()

from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402
from PIL import Image  # noqa: E402

from accounts.models import User  # noqa: E402
from demo import filling, scenario  # noqa: E402
from demo.drawings import HOW  # noqa: E402
from dossier.printing import lay_out, stops  # noqa: E402
from dossier.selectors import Wanted, printable  # noqa: E402
from imaging import services as imaging  # noqa: E402
from portfolio.access import visible_cases, visible_items, visible_record_sets  # noqa: E402
from portfolio.ages import latest_day  # noqa: E402
from portfolio.services import record_items  # noqa: E402

SIZE = (3000, 2000)


def photograph(seed: int) -> bytes:
    """A JPEG of 6 megapixels with soft shapes and grain."""
    grain = Image.frombytes("RGB", (300, 200), random.Random(seed).randbytes(300 * 200 * 3))
    to = io.BytesIO()
    grain.resize((60, 40)).resize(SIZE, Image.Resampling.BICUBIC).save(to, "JPEG", quality=90)
    return to.getvalue()


def lay_out_first_case(folder: Path, at: datetime) -> None:
    """Fill the database and write the folder of the print; stops when the case may not be printed."""
    filling.fill("a password for measuring", at)
    who = User.objects.get(email=scenario.CANDIDATE.email)
    case = visible_cases(who).select_related("patient__portfolio").get(note=scenario.CASES[0].note)
    for drawing in visible_items(who).filter(record_set__case=case, view__in=HOW):
        record_items.remove_item(drawing, drawing.version)
    number = 0
    for record_set in visible_record_sets(who).filter(case=case):
        for view in HOW:
            number += 1
            taken = imaging.add_picture(who, record_set, f"{view}.jpg", photograph(number))
            if isinstance(taken, imaging.NotTaken):
                sys.exit(f"{view}: {taken.reason}")
            record_items.assign_view(taken.item, view, taken.item.version)
    found = printable(who, case, Wanted("candidate", "a4"), latest_day(at))
    if words := stops(found):
        sys.exit(" ".join(words))
    lay_out(folder, found, lambda percent, message: None)


if __name__ == "__main__":
    call_command("migrate", verbosity=0)
    lay_out_first_case(Path(sys.argv[1]), timezone.now())
