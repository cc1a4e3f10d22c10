"""What a portfolio can be held against, and what a move from one version to another brings."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from plans import plan_file
from plans.access import visible_versions
from plans.differences import Difference, differences
from plans.document import Plan
from plans.models import PlanVersion
from plans.selectors.held import HeldPlan, PlacedCase, placed_cases
from portfolio.access import Asker


@dataclass(frozen=True, slots=True)
class VersionChoice:
    """A kept version that may be chosen."""

    public_id: UUID
    number: int
    made_at: datetime
    note: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class PlanChoice:
    """A plan with its versions, the newest first."""

    public_id: UUID
    name: str
    versions: tuple[VersionChoice, ...]


@dataclass(frozen=True, slots=True)
class Move:
    """What changes if a portfolio moves to a version.

    `differences` is None where nothing was chosen before or another plan was.  `let_go` are cases that are fixed to
    slots which the version does not have (on another plan: all that are fixed).
    """

    differences: tuple[Difference, ...] | None
    let_go: tuple[PlacedCase, ...]


def plan_choices(user: Asker, held: HeldPlan | None) -> tuple[PlanChoice, ...]:
    """Plans in use that have versions, by name, and the held one even when it was put away; one query."""
    rows = visible_versions(user).select_related("plan").order_by("plan__name", "plan__pk", "-number")
    found: dict[UUID, list[PlanVersion]] = {}
    for row in rows:
        if row.plan.archived_at is None or (held and held.plan_id == row.plan.public_id):
            found.setdefault(row.plan.public_id, []).append(row)
    return tuple(
        PlanChoice(
            plan_id,
            versions[0].plan.name,
            tuple(
                VersionChoice(
                    one.public_id,
                    one.number,
                    one.made_at,
                    one.note,
                    bool(held and held.version_id == one.public_id),
                )
                for one in versions
            ),
        )
        for plan_id, versions in found.items()
    )


def move(user: Asker, held: HeldPlan | None, version: PlanVersion) -> tuple[Plan, Move]:
    """The document of a version, and what moving to it changes."""
    plan = plan_file.read_plan(version.document)
    if held is None:
        return plan, Move(None, ())
    same = held.plan_id == version.plan.public_id
    kept = {slot.key for slot in plan.slots} if same else set()
    fixed = [one for one in placed_cases(user, held) if one.fixed and one.slot not in kept]
    return plan, Move(differences(held.plan, plan) if same else None, tuple(fixed))
