"""A person's plans as plain objects: the list, one plan with its versions, one version."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import OuterRef, Subquery

from plans import plan_file
from plans.access import visible_plans, visible_portfolio_plans
from plans.differences import Difference, differences
from plans.document import Plan
from plans.models import TAKEN_BACK, PlanVersion
from plans.models import Plan as PlanRow
from plans.outline import Outline, outline
from portfolio.access import Asker


@dataclass(frozen=True, slots=True)
class HolderLine:
    """A portfolio that is held against a version of a plan."""

    public_id: UUID
    name: str


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One plan in the list.  `number` is that of the newest kept version, None where none was kept yet."""

    public_id: UUID
    name: str
    slots: int
    number: int | None
    kept_at: datetime | None
    holders: tuple[HolderLine, ...]


@dataclass(frozen=True, slots=True)
class VersionLine:
    """One kept version of a plan, with the portfolios that are held against it."""

    public_id: UUID
    number: int
    made_at: datetime
    made_by: str
    note: str
    holders: tuple[HolderLine, ...]


@dataclass(frozen=True, slots=True)
class PlanShown:
    """One plan: its draft in sentences, its versions from the newest on, and what the draft has beyond the newest.

    `unkept` is None where no version was kept yet.  `version` counts the saves of the draft.
    """

    public_id: UUID
    name: str
    version: int
    draft: Outline
    versions: tuple[VersionLine, ...]
    unkept: tuple[Difference, ...] | None
    undo: str
    undone: bool
    archived_at: datetime | None

    @property
    def newest(self) -> VersionLine | None:
        return self.versions[0] if self.versions else None

    @property
    def may_keep(self) -> bool:
        """Whether keeping the draft would make a new version."""
        return self.unkept is None or bool(self.unkept)


def plan_lines(user: Asker, *, archived: bool = False) -> tuple[PlanLine, ...]:
    """The person's plans by name, those in use or those put away; two queries."""
    newest = PlanVersion.objects.filter(plan=OuterRef("pk")).order_by("-number")
    rows = (
        visible_plans(user)
        .filter(archived_at__isnull=not archived)
        .annotate(
            newest=Subquery(newest.values("number")[:1]), kept_at=Subquery(newest.values("made_at")[:1])
        )
        .order_by("name", "pk")
    )
    holders = _holders(user)
    return tuple(
        PlanLine(
            row.public_id,
            row.name,
            len(row.draft["slots"]),
            row.newest,
            row.kept_at,
            tuple(line for (plan, _), lines in holders.items() if plan == row.pk for line in lines),
        )
        for row in rows
    )


def plan_shown(user: Asker, row: PlanRow) -> PlanShown:
    """A plan with its versions; two queries beside its own."""
    holders = _holders(user)
    versions = tuple(row.versions.select_related("made_by").order_by("-number"))
    draft = plan_file.read_plan(row.draft)
    unkept = differences(plan_file.read_plan(versions[0].document), draft) if versions else None
    return PlanShown(
        row.public_id,
        row.name,
        row.version,
        outline(draft),
        tuple(
            VersionLine(
                version.public_id,
                version.number,
                version.made_at,
                version.made_by.name,
                version.note,
                tuple(holders.get((row.pk, version.pk), ())),
            )
            for version in versions
        ),
        unkept,
        row.last_change.removeprefix(TAKEN_BACK) if row.before is not None else "",
        row.last_change.startswith(TAKEN_BACK),
        row.archived_at,
    )


def version_plan(version: PlanVersion) -> Plan:
    """The document of a kept version."""
    return plan_file.read_plan(version.document)


def draft_plan(row: PlanRow) -> Plan:
    """The document that is being edited."""
    return plan_file.read_plan(row.draft)


def _holders(user: Asker) -> dict[tuple[int, int], list[HolderLine]]:
    """Plan and version → the visible portfolios that are held against it, by name."""
    found: dict[tuple[int, int], list[HolderLine]] = {}
    rows = (
        visible_portfolio_plans(user).select_related("portfolio", "plan_version").order_by("portfolio__name")
    )
    for row in rows:
        key = (row.plan_version.plan_id, row.plan_version_id)
        found.setdefault(key, []).append(HolderLine(row.portfolio.public_id, row.portfolio.name))
    return found
