"""Submissions for tests, frozen through the services a page would use."""

from __future__ import annotations

import uuid

from accounts.models import User
from plans.document import Plan
from plans.models import Submission, SubmittedCase
from plans.selectors.held import held_plan
from plans.services import placing
from plans.slots.in_hand import in_hand
from plans.submitting import services
from plans.submitting.access import visible_submitted
from plans.submitting.preparing import head, parts, preparation
from portfolio.models import Portfolio
from tests.factories.plans import held_against, plan
from tests.factories.portfolio import NOON, case_of


def submission_of(owner: User, document: Plan | None = None) -> Submission:
    """The portfolio of the owner (with a case, made where there is none) held against a plan and handed in."""
    portfolio = Portfolio.objects.filter(owner=owner, patients__cases__isnull=False).first()
    if portfolio is None:
        portfolio = case_of(owner).patient.portfolio
    version = held_against(portfolio, document or plan())
    held = held_plan(owner, portfolio)
    assert held is not None
    hand = in_hand(owner, portfolio, held, NOON.date())
    placing.take_choice(owner, portfolio, {case for case, _ in hand.problem.weights})
    hand = in_hand(owner, portfolio, held, NOON.date())
    prepared = preparation(hand)
    return services.freeze(
        owner,
        portfolio,
        version,
        "Spring session",
        NOON.date(),
        head(hand, prepared, "as it stands"),
        parts(owner, hand, prepared, NOON),
        uuid.uuid4(),
        NOON,
    )


def submitted_of(row: Submission) -> SubmittedCase:
    """The first case of a submission."""
    return visible_submitted(row.made_by).filter(submission=row).order_by("place")[0]
