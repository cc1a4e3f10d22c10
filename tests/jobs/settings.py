"""The shipped settings with kinds of jobs that tests start in a served app."""

from config.settings import *  # noqa: F403

JOB_KINDS = [f"tests.factories.jobs.{name}" for name in ("STIR", "CRUMBLE", "TOO_DRY", "WAIT")]
