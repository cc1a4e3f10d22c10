"""Reading by which rule choices, edition and indices a portfolio is read."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

from django.db.models import Value

from portfolio.finding_sheet import Sheet as SheetReading
from portfolio.models import Portfolio
from scoring import presets, registry
from scoring.digests import choices_digest
from scoring.index import ChoiceRefused, Index
from scoring.models import ChoiceSet, IndexChoice, RuleChoice, StageIndices

EDITION = "edition"
"""Stands where a rule choice has its id; no rule choice is called so."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """By which edition and set a portfolio reads an index, every choice in force, the own set as last left."""

    choice_set: str = ChoiceSet.AS_SHIPPED
    values: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, str] = field(default_factory=dict)
    """Only what was chosen in the own set; empty when there never was one."""
    edition: str | None = None
    """None for the default edition of the index."""

    @property
    def digest(self) -> str:
        return choices_digest(self.values, self.edition)


@dataclass(frozen=True, slots=True)
class Ways:
    """How a portfolio reads its records: index → choices in force, stage → indices chosen for it."""

    chosen: dict[str, Chosen]
    by_stage: Mapping[str, tuple[str, ...]]

    def indices(self, frame: SheetReading) -> tuple[str, ...]:
        """Indices that records of a stage are measured for: those chosen, else the usual ones."""
        return self.by_stage.get(frame.stage) or presets.usual(frame)


def ways_of(portfolio_pks: Iterable[int], keys: Collection[str] | None = None) -> dict[int, Ways]:
    """Primary key of each portfolio → how it reads its records, by all indices or those of the keys; one query."""
    wanted = set(portfolio_pks)
    named = tuple(registry.INDEXES) if keys is None else tuple(keys)
    own: dict[tuple[int, str], dict[str, str]] = {(pk, key): {} for pk in wanted for key in named}
    sets = {place: str(ChoiceSet.AS_SHIPPED) for place in own}
    editions: dict[tuple[int, str], str] = {}
    stages: dict[int, dict[str, tuple[str, ...]]] = {pk: {} for pk in wanted}
    for portfolio, key, choice, value in _stored(wanted, named):
        if not key:
            stages[portfolio][choice] = tuple(k for k in value.split() if k in registry.INDEXES)
        elif not choice:
            sets[portfolio, key] = value
        elif choice == EDITION:
            editions[portfolio, key] = value
        # A value that the index no longer knows is passed over, the default stands.
        elif (
            (index := registry.index(key))
            and choice in index.defaults
            and value in index.choice(choice).values
        ):
            own[portfolio, key][choice] = value
    return {
        pk: Ways(
            {
                key: _chosen(registry.index(key), sets[pk, key], own[pk, key], editions.get((pk, key), ""))
                for key in named
            },
            stages[pk],
        )
        for pk in wanted
    }


def _stored(portfolios: Collection[int], keys: Collection[str]) -> Iterable[tuple[int, str, str, str]]:
    """Rows of portfolio, index, choice, value; a stage's indices come without an index, a set without a choice."""
    of_sets = IndexChoice.objects.filter(portfolio__in=portfolios, index__in=keys)
    of_rules = RuleChoice.objects.filter(portfolio__in=portfolios, index__in=keys)
    of_stages = StageIndices.objects.filter(portfolio__in=portfolios)
    return of_sets.values_list("portfolio", "index", Value(""), "choice_set").union(
        of_sets.values_list("portfolio", "index", Value(EDITION), "edition"),
        of_rules.values_list("portfolio", "index", "choice", "value"),
        of_stages.values_list("portfolio", Value(""), "stage", "indices"),
        all=True,
    )


def chosen_of(portfolio_pks: Iterable[int], index_key: str) -> dict[int, Chosen]:
    """Primary key of each portfolio → its choices for an index; one query for all."""
    return {pk: ways.chosen[index_key] for pk, ways in ways_of(portfolio_pks, (index_key,)).items()}


def _chosen(index: Index, choice_set: str, own: Mapping[str, str], edition: str) -> Chosen:
    values = own if choice_set == ChoiceSet.OWN else index.choice_sets.get(choice_set, {})
    return Chosen(choice_set, index.settled(values), own, _known_edition(index, edition))


def _known_edition(index: Index, edition: str) -> str | None:
    """The stored edition, or None for the default and for one that the index no longer knows."""
    try:
        return index.edition(edition) if edition and edition != index.editions[0] else None
    except ChoiceRefused:
        return None


def limits(portfolio_pks: Iterable[int], index_key: str) -> dict[int, int]:
    """Primary key of each portfolio → the total its owner holds results against, where one is set."""
    rows = IndexChoice.objects.filter(portfolio__in=set(portfolio_pks), index=index_key, limit__isnull=False)
    return {pk: limit for pk, limit in rows.values_list("portfolio", "limit") if limit is not None}


def chosen(portfolio: Portfolio, index_key: str) -> Chosen:
    """The choices of one portfolio for an index."""
    return chosen_of([portfolio.pk], index_key)[portfolio.pk]


def choices(portfolio: Portfolio, index_key: str) -> dict[str, str]:
    """Every rule choice of an index with the value in force in a portfolio."""
    return dict(chosen(portfolio, index_key).values)
