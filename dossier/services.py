"""Ask for the print of a case: one job for a double click, and no second print of the same inputs."""

from dataclasses import dataclass
from datetime import datetime

from accounts.models import User
from dossier.printing import KIND, case_is_gone, input_digest, stops, wanted_of
from dossier.selectors import Wanted, printable
from jobs import services as job_services
from jobs.access import visible_jobs
from jobs.handle import JobFailed
from jobs.models import Job
from portfolio.access import visible_cases
from portfolio.ages import latest_day
from portfolio.models import Case


@dataclass(frozen=True, slots=True)
class Stopped:
    """Nothing was asked for; `words` say why."""

    words: tuple[str, ...]


def ask_for_print(by: User, case: Case, wanted: Wanted, at: datetime) -> Job | Stopped:
    """The job that prints this case: one that is done with the same inputs, one that is unfinished, or a new one."""
    found = printable(by, case, wanted, latest_day(at))
    words = stops(found)
    if words:
        return Stopped(words)
    digest = input_digest(found.file)
    subject = str(case.public_id)
    done = visible_jobs(by).filter(kind=KIND, subject=subject, input_digest=digest, state=Job.State.DONE)
    earlier = done.filter(result__isnull=False, result__state="ok").order_by("-asked_at").first()
    if earlier is not None:
        return earlier
    options = {
        "edition": wanted.edition,
        "paper": wanted.paper,
        "faces": wanted.faces,
        "true_size": wanted.true_size,
        "larger": wanted.larger,
        "holds_faces": found.faces,
        "holds": found.held,
    }
    return job_services.ask(by, KIND, subject, digest, at, options)


def ask_again(job: Job, at: datetime) -> Job:
    """The job that prints the case of an ended one as it is now, in the same copy; raises JobFailed with words."""
    rows = visible_cases(job.asked_by).select_related("patient__portfolio")
    case = rows.filter(public_id=job.subject).first()
    if case is None:
        raise case_is_gone()
    answer = ask_for_print(job.asked_by, case, wanted_of(job.options), at)
    if isinstance(answer, Stopped):
        raise JobFailed(" ".join(answer.words))
    return answer
