"""Who may see submissions: whoever sees the portfolio; of their cases those that are not deleted."""

from django.db.models import QuerySet

from plans.submitting.models import Submission, SubmittedCase
from portfolio.access import Asker, visible_cases, visible_portfolios


def visible_submissions(user: Asker) -> QuerySet[Submission]:
    """Submissions of visible portfolios."""
    return Submission.objects.filter(portfolio__in=visible_portfolios(user))


def visible_submitted(user: Asker) -> QuerySet[SubmittedCase]:
    """Submitted cases that are visible themselves."""
    return SubmittedCase.objects.filter(
        submission__in=visible_submissions(user), case__in=visible_cases(user)
    )
