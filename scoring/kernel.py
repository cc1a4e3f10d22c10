"""How a score is put together: the explanation is the score.

A component reads findings and gives hits (finding, rule, points); the index reckons its total from them,
and the lines that a reader sees are those same hits in words.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Literal, NamedTuple

from portfolio.finding_sheet import Sheet
from portfolio.sources import cite
from scoring.hits import Ask, Convention, Hit, Missing, Tallies
from scoring.index import Index, Reckoned, Terms
from scoring.result import Line, OtherTotal, Score
from scoring.shapes import Step, Steps, plain

Detail = Literal["totals", "lines", "all"]


def tallies(index: Index, sheet: Sheet, terms: Terms, only: frozenset[str] | None = None) -> Tallies:
    """What each component finds, in the order of the form; `only` names the categories to work out."""
    components = index.components(tuple(sorted(terms.choices.items())), terms.edition)
    return [(c.category, c.tally(sheet)) for c in components if only is None or c.category in only]


def score(
    index: Index,
    sheet: Sheet,
    edition: str | None = None,
    choices: Mapping[str, str] | None = None,
    detail: Detail = "all",
) -> Score:
    """The score of a sheet by one index.

    `detail`: `totals` leaves out lines and other totals, `lines` leaves out other totals.
    Raises ChoiceRefused for an unknown edition or choice.
    """
    terms = index.terms(edition, choices or {})
    found = tallies(index, sheet, terms)
    conventions: list[Convention] = []
    for _, tally in found:
        conventions += tally.conventions
    reckoned = index.reckon(index, sheet, found, terms)
    return Score(
        index=index.key,
        edition=terms.edition,
        total=reckoned.total,
        complete=reckoned.complete,
        missing=reckoned.missing,
        categories=reckoned.categories,
        lines=() if detail == "totals" else lines(reckoned.found, terms),
        choices=dict(terms.choices),
        other_totals=other_totals(index, sheet, terms, found, reckoned) if detail == "all" else (),
        conventions=tuple(dict.fromkeys(conventions)),
        verdicts=reckoned.verdicts,
        outside=index.outside(sheet),
        extra=reckoned.extra,
    )


def lines(found: Tallies, terms: Terms) -> tuple[Line, ...]:
    """The hits in words, with their points weighted."""
    return tuple(
        _line(category, hit, terms.weight(category)) for category, tally in found for hit in tally.hits
    )


def _line(category: str, hit: Hit, weight: Decimal) -> Line:
    rule, value = hit.rule, hit.value
    steps = Steps(None, None) if value is None else rule.steps(value)
    words = rule.words("" if value is None else value)
    return Line(
        category=category,
        site=hit.site,
        findings=hit.findings,
        rule=words if weight == 1 or not hit.raw else f"{words}, weight {plain(weight)}",
        raw=hit.raw,
        points=hit.points * weight,
        source=cite(rule.cited.source),
        certainty=rule.cited.certainty if value is None else rule.certainty(value),
        next_step=_weighted(steps.more, weight),
        previous_step=_weighted(steps.fewer, weight),
        beaten_by=hit.beaten_by,
    )


def _weighted(step: Step | None, weight: Decimal) -> Step | None:
    """A step in weighted points; with a weight of 0 nothing changes anywhere."""
    if step is None or weight == 1:
        return step
    return step._replace(points=step.points * weight) if weight else None


def other_totals(
    index: Index, sheet: Sheet, terms: Terms, found: Tallies, reckoned: Reckoned
) -> tuple[OtherTotal, ...]:
    """Totals that differ when one rule choice is changed; one that lacks a finding is not listed."""
    return tuple(
        OtherTotal(choice, after.total, after.instead)
        for choice, after, lacks in _changed(index, sheet, terms, found)
        if not lacks and (after.total != reckoned.total or after.instead != reckoned.instead)
    )


class ChoiceTotal(NamedTuple):
    """The total under another rule choice; a floor where that reading `lacks` quantities the one in force does not."""

    total: Decimal | None
    lacks: tuple[str, ...] = ()


def totals_by_choice(
    index: Index, sheet: Sheet, edition: str | None = None, choices: Mapping[str, str] | None = None
) -> dict[str, ChoiceTotal]:
    """`id=value` of every other rule choice, one changed at a time → its total.

    Where the score in force is incomplete, all of them are floors.
    """
    terms = index.terms(edition, choices or {})
    found = tallies(index, sheet, terms)
    return {
        choice: ChoiceTotal(after.total, lacks)
        for choice, after, lacks in _changed(index, sheet, terms, found)
    }


def _changed(
    index: Index, sheet: Sheet, terms: Terms, found: Tallies
) -> Iterator[tuple[str, Reckoned, tuple[str, ...]]]:
    """Every other value of every rule choice, what comes of it, and the quantities that it newly lacks."""
    lacking = _lacking(found)
    for choice in index.choices:
        if not choice.alternative:
            continue
        named = frozenset(choice.categories)
        for value in choice.values:
            if value == terms.choices[choice.id]:
                continue
            other = Terms(terms.edition, {**terms.choices, choice.id: value}, terms.weights)
            changed = tallies(index, sheet, other, named)
            more = _lacking(changed) - lacking
            after = index.reckon(index, sheet, _put_in(found, changed, named), other)
            yield f"{choice.id}={value}", after, tuple(dict.fromkeys(one.quantity for one in more))


def _lacking(found: Tallies) -> Counter[Missing]:
    """What each row lacks, site by site: fewer sites are nothing new, a row that newly waits is."""
    return Counter(m._replace(sites=(site,)) for _, tally in found for m in tally.missing for site in m.sites)


def _put_in(found: Tallies, changed: Tallies, named: frozenset[str]) -> Tallies:
    """The rows with those of the named categories replaced by the changed ones.

    Their number may differ, so they all stand where the first of them stood.
    """
    after: Tallies = []
    waiting = changed
    for category, tally in found:
        if category not in named:
            after.append((category, tally))
        elif waiting:
            after += waiting
            waiting = []
    return after + waiting


def asks(
    index: Index, sheet: Sheet, choices: Mapping[str, str] | None = None, edition: str | None = None
) -> list[Ask]:
    """What the index reads on this sheet, one entry a quantity, needed ones first named as such."""
    terms = index.terms(edition, choices or {})
    merged: dict[str, Ask] = {}
    components = index.components(tuple(sorted(terms.choices.items())), terms.edition)
    for ask in (*(a for c in components for a in c.asks(sheet)), *index.extra_asks):
        known = merged.get(ask.quantity)
        if known is None:
            merged[ask.quantity] = ask
        else:
            sites = tuple(dict.fromkeys((*known.sites, *ask.sites)))
            merged[ask.quantity] = Ask(ask.quantity, sites, known.needed or ask.needed)
    return list(merged.values())
