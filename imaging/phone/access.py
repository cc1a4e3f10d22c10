"""Who may see which codes: those that the person asked for, for records that `portfolio.access` shows."""

from django.db.models import QuerySet

from accounts.models import User
from imaging.models import PhoneCode
from portfolio.access import visible_record_sets


def visible_phone_codes(user: User) -> QuerySet[PhoneCode]:
    """The person's own codes."""
    return PhoneCode.objects.filter(asked_by=user, record_set__in=visible_record_sets(user))
