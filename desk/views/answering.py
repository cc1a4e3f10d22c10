"""Answers for pages that save as one types."""

from portfolio.models import Sheet
from portfolio.views import answering

answers_in_json = answering.answers_in_json(
    Sheet.DoesNotExist, "This sheet has been removed; nothing can be saved on it any more."
)
