"""Whose jobs a person sees: only those the person has asked for."""

from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet

from accounts.models import User
from jobs.models import Job


def visible_jobs(user: User | AnonymousUser) -> QuerySet[Job]:
    """Jobs this person has asked for; none for signed-out and deactivated people."""
    if not isinstance(user, User) or not user.is_active:
        return Job.objects.none()
    return Job.objects.filter(asked_by=user)
