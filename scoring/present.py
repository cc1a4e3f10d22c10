"""A score in plain words for pages: frozen objects, teeth in the reader's notation, signs as directions."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from portfolio import teeth
from portfolio.finding_sheet import Finding
from portfolio.quantities.radiograph import PLANE_LABELS
from portfolio.sources import SOURCES
from portfolio.vocabulary import QUANTITIES
from portfolio.wording import quantity_words, site_words, value_words
from scoring.facts import facts, figure, in_place_of_a_total
from scoring.hits import Missing
from scoring.index import Index
from scoring.line_names import line_anchor, line_names
from scoring.result import Line, OtherTotal, Score
from scoring.shapes import plain
from scoring.step_words import minus, step_words

CERTAINTY_WORDS = {
    "read": "read",
    "memory": "from memory",
    "derived": "by arithmetic",
    "practice": "common practice, no source",
}
OWN_READING = "our reading, print is silent"
_OWN_READINGS = frozenset(str(source) for key, source in SOURCES.items() if key.endswith("_settled"))
POINT_SPACE, DIGIT_SPACE = "\u2008", "\u2007"
_SIGN = re.compile(r"(?<![\w–])-(?=\d)")


@dataclass(frozen=True, slots=True)
class ShownLine:
    """One line: where, what was found, which rule, how many points, and what would change them."""

    site: str
    findings: tuple[str, ...]
    rule: str
    points: str
    scores: bool
    source: int
    """Number in the list of sources at the foot of the page."""
    certainty: str
    more: str
    fewer: str
    beaten_by: str
    anchor: str = ""
    """The line's name on the point-by-point page."""


@dataclass(frozen=True, slots=True)
class ShownCategory:
    """One row of the form with its lines; `total` is empty while nothing is recorded."""

    key: str
    label: str
    total: str
    missing: bool
    of_the_form: bool
    """Whether it is a row of the form, not only a letter that lines name."""
    scoring: tuple[ShownLine, ...]
    silent: tuple[ShownLine, ...]
    """Lines without points, folded on the page."""


@dataclass(frozen=True, slots=True)
class ShownMissing:
    """A quantity that nobody recorded: where, and for which rows of the form; empty where its name says so."""

    quantity: str
    label: str
    where: str
    categories: str


@dataclass(frozen=True, slots=True)
class ShownVerdict:
    """A published judgement on the score and where it stands."""

    says: str
    source: str


@dataclass(frozen=True, slots=True)
class ShownScore:
    """A whole score; `total` is a floor while `complete` is false, empty when there is none."""

    label: str
    edition: str
    figure: str
    """The total, or the grade where that stands for it; empty when there is neither."""
    facts: tuple[str, ...]
    """What the index says beside its total."""
    verdicts: tuple[ShownVerdict, ...]
    total: str
    total_in_column: str
    """The total as it stands under the points of the rows."""
    complete: bool
    categories: tuple[ShownCategory, ...]
    missing: tuple[ShownMissing, ...]
    conventions: tuple[str, ...]
    sources: tuple[str, ...]
    outside: str
    counted_in: str = "points"

    @property
    def step_heads(self) -> tuple[str, str]:
        """Headings of the two columns of steps; empty where no line has one, as with lengths added up."""
        lines = (line for row in self.categories for line in (*row.scoring, *row.silent))
        if not any(line.more or line.fewer for line in lines):
            return "", ""
        if self.counted_in == "grade":
            return "To a worse grade", "To a better grade"
        return f"To more {self.counted_in}", f"To fewer {self.counted_in}"

    @property
    def measured(self) -> bool:
        """Whether anything at all is recorded for this index."""
        return any(row.total or row.scoring or row.silent for row in self.categories)

    @property
    def total_words(self) -> str:
        return total_words(self.figure, self.complete)


@dataclass(frozen=True, slots=True)
class ShownOption:
    """One reading of a rule choice and what the total would be by it."""

    value: str
    words: str
    in_force: bool
    default: bool
    total: str
    """The other total as the page says it; empty where the total stays."""


@dataclass(frozen=True, slots=True)
class ShownChoice:
    """A rule choice with its readings."""

    id: str
    label: str
    why: str
    exception: str
    options: tuple[ShownOption, ...]
    changed: bool
    """Whether another reading than the default is in force."""
    matters: bool
    """Whether another reading changes the total of this sheet."""
    compared: bool
    """Whether totals by its other readings are worked out at all."""


def number_words(points: Decimal | None) -> str:
    """Points without trailing zeros, with a true minus; empty for none."""
    return "" if points is None else minus(plain(points))


def aligned(points: Decimal | None, places: int) -> str:
    """Points for a column: spaces as wide as digits stand in for decimals that other rows have."""
    text = number_words(points)
    if not text or not places:
        return text
    decimals = len(text.partition(".")[2])
    point = "" if decimals else POINT_SPACE
    return text + point + DIGIT_SPACE * (places - decimals)


def _places(score: Score) -> int:
    numbers = [line.points for line in score.lines] + [p for p in score.categories.values() if p is not None]
    return max((len(plain(number).partition(".")[2]) for number in numbers), default=0)


def total_words(total: str, complete: bool) -> str:
    """`35`, `at least 12`, `no total`."""
    if not total:
        return "no total"
    return total if complete else f"at least {total}"


def show_score(
    score: Score,
    label: str,
    category_labels: Mapping[str, str],
    notation: str = "iso3950",
    counted_in: str = "points",
) -> ShownScore:
    """The page objects of a score, computed now or kept before."""
    sources = tuple(dict.fromkeys(line.source for line in score.lines))
    lacking = {m.category for m in score.missing}
    return ShownScore(
        label=label,
        edition=score.edition,
        figure=figure(score),
        facts=tuple(f"{one[:1].upper()}{one[1:]}." for one in facts(score, notation)),
        verdicts=tuple(ShownVerdict(f"{v.says[:1].upper()}{v.says[1:]}", v.source) for v in score.verdicts),
        total=number_words(score.total),
        total_in_column=aligned(score.total, _places(score)),
        complete=score.complete,
        categories=tuple(
            _category(
                key, category_labels.get(key, key), score, sources, key in lacking, notation, counted_in
            )
            for key in _rows_of(score)
        ),
        missing=show_missing(score.missing, category_labels, notation),
        conventions=tuple(
            convention_words(c.quantity, c.site, c.taken_as, notation) for c in score.conventions
        ),
        sources=tuple(signs(source) for source in sources),
        outside=f"{score.outside[:1].upper()}{score.outside[1:]}." if score.outside else "",
        counted_in=counted_in,
    )


def show(score: Score, index: Index, notation: str = "iso3950") -> ShownScore:
    """The page objects of a score just worked out, in the words its index has now."""
    return show_score(score, index.label, index.labels, notation, index.counted_in)


def _rows_of(score: Score) -> tuple[str, ...]:
    """The rows of the form, then those that only lines name, such as the letters of a grade."""
    return tuple(dict.fromkeys((*score.categories, *(line.category for line in score.lines))))


def _category(
    key: str, label: str, score: Score, sources: Sequence[str], missing: bool, notation: str, counted_in: str
) -> ShownCategory:
    lines = [line for line in score.lines if line.category == key]
    named = len({f.quantity for line in lines for f in line.findings}) > 1
    places = _places(score)
    shown = [
        (
            line,
            show_line(
                line,
                sources.index(line.source) + 1,
                notation,
                named=named,
                places=places,
                counted_in=counted_in,
                anchor=line_anchor(name),
            ),
        )
        for name, line in zip(line_names(lines), lines, strict=True)
    ]
    return ShownCategory(
        key=key,
        label=label,
        total=aligned(score.categories.get(key), places),
        missing=missing,
        of_the_form=key in score.categories,
        scoring=tuple(one for line, one in shown if line.points),
        silent=tuple(one for line, one in shown if not line.points),
    )


def show_line(
    line: Line,
    source: int,
    notation: str,
    *,
    named: bool = True,
    places: int = 0,
    counted_in: str = "points",
    anchor: str = "",
) -> ShownLine:
    """One line in words; `named` puts the quantity's name before its value."""
    return ShownLine(
        site=site_words(line.site, notation),
        findings=tuple(finding_words(f, line.site, notation, named=named) for f in line.findings),
        rule=signs(line.rule[:1].upper() + line.rule[1:]),
        points=aligned(line.points, places),
        scores=bool(line.points),
        source=source,
        certainty=certainty_words(line),
        more=step_words(line.next_step, line, counted_in),
        fewer=step_words(line.previous_step, line, counted_in),
        beaten_by=_beaten_words(line.beaten_by, notation),
        anchor=anchor,
    )


def certainty_words(line: Line) -> str:
    """How surely the rule is known."""
    if line.certainty == "practice" and line.source in _OWN_READINGS:
        return OWN_READING
    return CERTAINTY_WORDS.get(line.certainty, line.certainty)


def finding_words(finding: Finding, line_site: str, notation: str, *, named: bool) -> str:
    """`Overbite 3 mm open`; with its site where that is not the line's own."""
    quantity = QUANTITIES.get(finding.quantity)
    if quantity is not None and quantity.kind == "tooth" and teeth.is_tooth(finding.value):
        words = teeth.shown(finding.value, notation)
    else:
        words = value_words(finding.quantity, finding.value)
    if finding.plane:
        words += f" to {PLANE_LABELS.get(finding.plane, finding.plane)}"
    if named:
        words = f"{quantity_words(finding.quantity)}: {words}"
    if finding.site != line_site:
        words = f"{site_words(finding.site, notation)}, {words}"
    return words


def signs(text: str) -> str:
    """Text with a true minus before numbers; contacts such as 11-21 stay as they are."""
    return _SIGN.sub("−", text)


def _beaten_words(beaten_by: str, notation: str) -> str:
    if not beaten_by:
        return ""
    quantity, _, site = beaten_by.partition(" ")
    if quantity == "arch_segment":
        return "the four segments are taken"
    where = "" if site == "mouth" else f", {site_words(site, notation)}"
    if quantity == "occlusal_gap":
        return f"the tooth has lost its 2 points{where}"
    return f"only the greatest scores: {quantity_words(quantity)}{where}"


def show_missing(
    missing: Sequence[Missing], category_labels: Mapping[str, str], notation: str
) -> tuple[ShownMissing, ...]:
    """What is missing in words, each quantity once with all its places."""
    merged: dict[tuple[str, str, str], tuple[list[str], list[str]]] = {}
    for one in missing:
        places, rows = merged.setdefault((one.quantity, one.plane, one.lacks), ([], []))
        places += [site for site in one.sites if site != "mouth"]
        rows.append(category_labels.get(one.category, one.category))
    shown = []
    for (quantity, plane, lacks), (places, rows) in merged.items():
        label = quantity_words(quantity)
        named = [row for row in dict.fromkeys(rows) if row != label or len(set(rows)) > 1]
        where = _where(places, plane, notation) + (f", without {lacks}" if lacks else "")
        shown.append(ShownMissing(quantity, label, where, ", ".join(named)))
    return tuple(shown)


def _where(places: Sequence[str], plane: str, notation: str) -> str:
    if plane:
        return f"recorded to another plane, {PLANE_LABELS.get(plane, plane)}"
    found = dict.fromkeys(places)
    round_the_arch = teeth.in_order(site for site in found if teeth.is_tooth(site))
    others = [site for site in found if not teeth.is_tooth(site)]
    return ", ".join(site_words(site, notation) for site in (*round_the_arch, *others))


def convention_words(quantity: str, site: str, taken_as: str, notation: str) -> str:
    """`Missing, 36: taken as 1 point, like a tooth lost`."""
    where = "" if site == "mouth" else f", {site_words(site, notation)}"
    for plane, label in PLANE_LABELS.items():
        taken_as = taken_as.replace(plane, label)
    return f"{quantity_words(quantity)}{where}: {signs(taken_as)}"


def show_choices(index: Index, score: Score) -> tuple[ShownChoice, ...]:
    """Every rule choice with the totals by its other readings."""
    others = {o.choice: _other_words(o, score.complete) for o in score.other_totals}
    return tuple(_choice(index, choice_id, score, others) for choice_id in score.choices)


def _other_words(other: OtherTotal, complete: bool) -> str:
    if other.instead is not None:
        return in_place_of_a_total(other.instead)
    return total_words(number_words(other.total), complete)


def _choice(index: Index, choice_id: str, score: Score, others: Mapping[str, str]) -> ShownChoice:
    choice = index.choice(choice_id)
    in_force = score.choices[choice_id]
    options = tuple(
        ShownOption(
            value=value,
            words=words,
            in_force=value == in_force,
            default=value == choice.default,
            total=others.get(f"{choice_id}={value}", ""),
        )
        for value, words in choice.options
    )
    return ShownChoice(
        id=choice_id,
        label=choice.label,
        why=choice.why,
        exception=choice.exception,
        options=options,
        changed=in_force != choice.default,
        matters=any(option.total for option in options),
        compared=choice.alternative,
    )
