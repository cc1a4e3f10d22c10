"""Who may see which plans: their owner, and nobody else; portfolios and cases as `portfolio.access` shows them."""

from django.db.models import QuerySet

from plans.models import Placement, Plan, PlanVersion, PortfolioPlan
from portfolio.access import Asker, visible_cases, visible_portfolios


def visible_plans(user: Asker) -> QuerySet[Plan]:
    """The person's own plans, archived ones too."""
    if not user.is_authenticated or not user.is_active:
        return Plan.objects.none()
    return Plan.objects.filter(owner=user.pk)


def visible_versions(user: Asker) -> QuerySet[PlanVersion]:
    """Kept versions of the person's own plans."""
    return PlanVersion.objects.filter(plan__in=visible_plans(user))


def visible_portfolio_plans(user: Asker) -> QuerySet[PortfolioPlan]:
    """What visible portfolios are held against."""
    return PortfolioPlan.objects.filter(portfolio__in=visible_portfolios(user))


def visible_placements(user: Asker) -> QuerySet[Placement]:
    """Fixed and excluded cases of visible portfolios; deleted cases are not among them."""
    return Placement.objects.filter(
        portfolio_plan__in=visible_portfolio_plans(user), case__in=visible_cases(user)
    )
