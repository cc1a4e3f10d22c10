"""Who may see a request: whoever asked, and whoever was asked; of the patient the latter sees the code alone."""

from django.db.models import Q, QuerySet

from portfolio.access import Asker
from portfolio.moving.models import MoveAnswer, MoveRequest


def visible_moves(user: Asker) -> QuerySet[MoveRequest]:
    """Requests that the person asked or was asked."""
    if not user.is_authenticated or not user.is_active:
        return MoveRequest.objects.none()
    return MoveRequest.objects.filter(Q(asked_by=user.pk) | Q(asked_to=user.pk))


def offered_to(user: Asker) -> QuerySet[MoveRequest]:
    """Open requests to the person."""
    return visible_moves(user).filter(asked_to=user.pk, answer=MoveAnswer.OPEN)


def asked_by(user: Asker) -> QuerySet[MoveRequest]:
    """Open requests of the person."""
    return visible_moves(user).filter(asked_by=user.pk, answer=MoveAnswer.OPEN)
