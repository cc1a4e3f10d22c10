"""What an index is: its categories in the order of the form, its editions, its choices, its rows."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from portfolio.finding_sheet import Sheet
from scoring.hits import Ask, Component, Missing, Tallies, gathered
from scoring.result import Json, Verdict
from scoring.shapes import ZERO

ONE = Decimal(1)


class ChoiceRefused(ValueError):
    """An edition, a choice or its value that the index does not know."""


@dataclass(frozen=True, slots=True)
class RuleChoice:
    """A place where the published text is silent or can be read in two ways.

    `options` are value and words, default first.  `categories` are those a change rescores.
    """

    id: str
    label: str
    options: tuple[tuple[str, str], ...]
    why: str
    categories: tuple[str, ...]
    exception: str = ""
    """Said where the default is neither print nor the reading with fewer points."""
    alternative: bool = True
    """Whether other totals are shown for it."""

    @property
    def default(self) -> str:
        return self.options[0][0]

    @property
    def values(self) -> tuple[str, ...]:
        return tuple(value for value, _ in self.options)


@dataclass(frozen=True, slots=True)
class Terms:
    """What a sheet is scored by.  `weights`: category → weight; a category that is not named counts once."""

    edition: str
    choices: Mapping[str, str]
    weights: Mapping[str, Decimal]

    def weight(self, category: str) -> Decimal:
        return self.weights.get(category, ONE)


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What the rows of a form come to together.

    `found` holds the rows in the order in which they are shown, with hits marked that another has beaten.
    """

    total: Decimal | None
    complete: bool
    missing: tuple[Missing, ...]
    categories: dict[str, Decimal | None]
    found: Tallies
    verdicts: tuple[Verdict, ...] = ()
    extra: Mapping[str, Json] = field(default_factory=dict)
    instead: Mapping[str, Json] | None = None
    """What stands for the total in other totals where an index has none."""


Reckon = Callable[["Index", Sheet, Tallies, Terms], Reckoned]


def weighted_sum(index: "Index", sheet: Sheet, found: Tallies, terms: Terms) -> Reckoned:
    """Every category is the sum of its hits times its weight, the total is the sum of the categories.

    A category of which nothing is recorded is None; the total is a floor while something is missing.
    """
    categories: dict[str, Decimal | None] = dict.fromkeys(index.categories)
    total = ZERO
    missing: list[Missing] = []
    for category, tally in found:
        if tally.recorded:
            points = tally.points * terms.weight(category)
            categories[category] = (categories[category] or ZERO) + points
            total += points
        missing += tally.missing
    return Reckoned(total, not missing, gathered(missing), categories, found)


@dataclass(frozen=True)
class Index:
    """A published index."""

    key: str
    label: str
    editions: tuple[str, ...]
    categories: Mapping[str, str]
    choices: tuple[RuleChoice, ...]
    components: Callable[[tuple[tuple[str, str], ...], str], tuple[Component, ...]]
    """Rows for choices given as sorted pairs and an edition; kept by the index."""
    outside: Callable[[Sheet], str]
    """Why a sheet lies outside the index's meaning; empty when it lies inside."""
    extra_asks: tuple[Ask, ...] = ()
    """Quantities that are only recorded when there is something to record."""
    choice_sets: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    worse: Mapping[str, str] = field(default_factory=dict)
    """Quantity → direction (up, down, both) in which points never fall."""
    reckon: Reckon = weighted_sum
    weight_sets: Mapping[str, Mapping[str, Decimal]] = field(default_factory=dict)
    """Edition → weights by category; an edition that is not named counts every category once."""
    own_weights: Callable[[str], Mapping[str, Decimal]] | None = None
    """Reads an edition of the site's own; ChoiceRefused in words where it cannot be read."""
    edition_labels: Mapping[str, str] = field(default_factory=dict)
    """Edition → words; an edition that is not named is shown by its id."""
    line_labels: Mapping[str, str] = field(default_factory=dict)
    """Words for lines whose category is no row of the form, such as the letters of a grade."""
    counted_in: str = "points"
    """What the numbers of lines and total are: points, mm, or the grade of a letter."""
    revision: str = ""
    """Moves the digest of the rules when `reckon` changes its meaning."""

    @cached_property
    def defaults(self) -> dict[str, str]:
        return {choice.id: choice.default for choice in self.choices}

    @cached_property
    def labels(self) -> dict[str, str]:
        """Words for every category and letter that a line may name."""
        return {**self.categories, **self.line_labels}

    def edition_words(self, edition: str) -> str:
        return self.edition_labels.get(edition, edition)

    def choice(self, choice_id: str) -> RuleChoice:
        for choice in self.choices:
            if choice.id == choice_id:
                return choice
        raise ChoiceRefused(
            f"{self.key} has no rule choice {choice_id!r}; allowed: {', '.join(c.id for c in self.choices) or 'none'}"
        )

    def edition(self, edition: str | None) -> str:
        """The edition asked for, or the default; ChoiceRefused for an unknown one."""
        if edition is None:
            return self.editions[0]
        if edition not in self.editions:
            if self.own_weights is not None and edition.startswith("site:"):
                self.own_weights(edition)
                return edition
            own = ", site:NAME:WEIGHTS" if self.own_weights else ""
            raise ChoiceRefused(
                f"{self.key} has no edition {edition!r}; allowed: {', '.join(self.editions)}{own}"
            )
        return edition

    def terms(self, edition: str | None, choices: Mapping[str, str]) -> Terms:
        """Edition, its weights and every choice in force; ChoiceRefused for what the index does not know."""
        named = self.edition(edition)
        if named in self.editions:
            weights = self.weight_sets.get(named, {})
        else:
            assert self.own_weights is not None
            weights = self.own_weights(named)
        return Terms(named, self.settled(choices), weights)

    def settled(self, choices: Mapping[str, str]) -> dict[str, str]:
        """Every choice with its value in force; ChoiceRefused for unknown ids and values."""
        settled = dict(self.defaults)
        for choice_id, value in choices.items():
            choice = self.choice(choice_id)
            if value not in choice.values:
                raise ChoiceRefused(
                    f"{self.key}.{choice_id} has no value {value!r}; allowed: {', '.join(choice.values)}"
                )
            settled[choice_id] = value
        return settled
