"""The one task the queue knows: do the job of this number."""

from django_tasks import task

from jobs import work


@task()
def do_job(number: int) -> None:
    """Do one job; see `jobs.work.run_job`."""
    work.run_job(number)
