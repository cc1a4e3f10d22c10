"""The page of a caseload: sorted and cut into pages, figures in words, sums of what is left out."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from urllib.parse import urlencode

from django.core.paginator import Paginator

from desk.change.many import OFFERED, ONE_SIDED, Many, Pair
from scoring import registry
from scoring.compare.caseload import NEGLIGIBLE_WORSE_PERCENT, ParCaseload, Spread
from scoring.compare.par_change import GREATLY_POINTS, SOURCE, VERDICT_WORDS
from scoring.moved import signed
from scoring.present import number_words

ON_A_PAGE = 50
COLUMNS = (
    ("code", "Case"),
    ("before", "Before"),
    ("after", "After"),
    ("difference", "Change"),
    ("percent", "Reduction"),
    ("verdict", "Verdict"),
)


@dataclass(frozen=True, slots=True)
class Heading:
    """A column with the address that sorts by it."""

    label: str
    url: str
    sorted: str
    number: bool


@dataclass(frozen=True, slots=True)
class ShownPair:
    """One case in the table."""

    case: str
    code: str
    before: str
    after: str
    difference: str
    percent: str
    verdict: str
    media: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of figures: cases, mean with standard deviation, range."""

    label: str
    n: int
    mean: str
    sd: str
    span: str


@dataclass(frozen=True, slots=True)
class Share:
    """How many cases got a verdict."""

    words: str
    count: int
    percent: str


@dataclass(frozen=True, slots=True)
class StandardLine:
    """One sentence of the published standard and how this caseload stands to it."""

    words: str
    here: str
    met: bool | None


@dataclass(frozen=True, slots=True)
class ManyPage:
    """All that the page shows."""

    many: Many
    one_sided: str
    headings: tuple[Heading, ...]
    pairs: tuple[ShownPair, ...]
    found: int
    first: int
    last: int
    previous_url: str
    next_url: str
    figures: tuple[Figure, ...]
    rows: tuple[Figure, ...]
    shares: tuple[Share, ...]
    standard: tuple[StandardLine, ...]
    standard_source: str
    indices: tuple[tuple[str, str], ...]
    download: str
    """What the addresses of the downloads end with."""


def many_page(found: Many, asked: Mapping[str, str]) -> ManyPage:
    """The page asked for; `asked` holds filter, sort and page as the address has them."""
    sort = asked.get("sort", "")
    keep = {key: value for key, value in asked.items() if value and key != "page"}
    filter_only = {key: value for key, value in keep.items() if key != "sort"}
    page = Paginator(_sorted(found, sort), ON_A_PAGE).get_page(asked.get("page", "1"))
    one_sided = ONE_SIDED.get(found.wanted.index, "")
    return ManyPage(
        many=found,
        one_sided=one_sided,
        headings=tuple(_heading(key, label, sort, filter_only) for key, label in _columns(found)),
        pairs=tuple(_pair(one) for one in page.object_list),
        found=page.paginator.count,
        first=page.start_index(),
        last=page.end_index(),
        previous_url=_url(keep, page=page.previous_page_number()) if page.has_previous() else "",
        next_url=_url(keep, page=page.next_page_number()) if page.has_next() else "",
        figures=tuple(_figures(found)),
        rows=tuple(_figure(row.label, row.difference, as_change=True) for row in found.rows),
        shares=_shares(found),
        standard=_standard(found),
        standard_source=SOURCE,
        indices=tuple((key, registry.index(key).label) for key in OFFERED),
        download="?" + urlencode(filter_only),
    )


def _columns(found: Many) -> tuple[tuple[str, str], ...]:
    one_sided = ONE_SIDED.get(found.wanted.index, "")
    away = {"before": ("after",), "after": ("before",)}.get(one_sided, ())
    gone = {*away, *(("difference", "percent", "verdict") if one_sided else ())}
    if found.par is None:
        gone.add("percent")
    if found.wanted.index not in ("par", "icon") or (found.wanted.index == "par" and found.par is None):
        gone.add("verdict")
    return tuple(column for column in COLUMNS if column[0] not in gone)


def _sorted(found: Many, sort: str) -> list[Pair]:
    """Pairs by a column; those without a number come last either way."""
    key = sort.removeprefix("-")
    if key not in {name for name, _ in _columns(found)}:
        return list(found.pairs)
    if key in ("code", "verdict"):
        return sorted(
            found.pairs, key=lambda p: (getattr(p, key) == "", getattr(p, key)), reverse=sort.startswith("-")
        )
    told = [p for p in found.pairs if getattr(p, key) is not None]
    told.sort(key=lambda p: getattr(p, key), reverse=sort.startswith("-"))
    return told + [p for p in found.pairs if getattr(p, key) is None]


def _heading(key: str, label: str, sort: str, keep: Mapping[str, str]) -> Heading:
    now = "ascending" if sort == key else "descending" if sort == f"-{key}" else "none"
    turned = f"-{key}" if now == "ascending" else key
    return Heading(label, _url(keep, sort=turned), now, key not in ("code", "verdict"))


def _url(keep: Mapping[str, str], **more: object) -> str:
    return "?" + urlencode({**keep, **more})


def _pair(pair: Pair) -> ShownPair:
    return ShownPair(
        case=str(pair.case),
        code=pair.code,
        before=pair.before_words,
        after=pair.after_words,
        difference="" if pair.difference is None else signed(pair.difference),
        percent="" if pair.percent is None else f"{number_words(_tenth(pair.percent))} %",
        verdict=pair.verdict,
        media=pair.media or ("one medium" if pair.both_there else "–"),
    )


def _tenth(number: Decimal) -> Decimal:
    return number.quantize(Decimal("0.1"))


def _figures(found: Many) -> list[Figure]:
    one_sided = ONE_SIDED.get(found.wanted.index, "")
    listed = []
    if one_sided != "after":
        listed.append(_figure("Before", found.before))
    if one_sided != "before":
        listed.append(_figure("After", found.after))
    if not one_sided:
        listed.append(_figure("Change", found.difference, as_change=True))
    return listed


def _figure(label: str, found: Spread | None, *, as_change: bool = False) -> Figure:
    if found is None:
        return Figure(label, 0, "", "", "")
    shown = signed if as_change else number_words
    return Figure(
        label,
        found.n,
        shown(_tenth(found.mean)),
        "" if found.sd is None else number_words(_tenth(found.sd)),
        f"{shown(found.least)} to {shown(found.greatest)}",
    )


def _shares(found: Many) -> tuple[Share, ...]:
    if found.par is None or not found.par.n:
        return ()
    return tuple(
        Share(
            VERDICT_WORDS[verdict], count, f"{number_words(_tenth(found.par.share(verdict) or Decimal(0)))} %"
        )
        for verdict, count in found.par.counts.items()
        if count or verdict != "undefined"
    )


def _standard(found: Many) -> tuple[StandardLine, ...]:
    """The published sentences on a caseload of a high standard, as far as they give a figure."""
    par = found.par
    if par is None or not par.n:
        return ()
    greatly, worse = par.share("greatly_improved"), par.share("worse_or_no_different")
    return (
        StandardLine(
            "mean reduction over 70 per cent",
            f"{_percent(par.mean_of_percents)} (mean of the per cents), {_percent(par.percent_of_means)} (per cent of the means)",
            par.over_70_percent,
        ),
        StandardLine(
            f"a negligible share worse or no different (under about {number_words(NEGLIGIBLE_WORSE_PERCENT)} per cent, from memory)",
            _percent(worse),
            par.few_worse,
        ),
        StandardLine(
            "a high share greatly improved (no figure is published)",
            f"{_percent(greatly)}{_out_of_reach(par)}",
            None,
        ),
    )


def _out_of_reach(par: ParCaseload) -> str:
    """Of how many cases nothing else can be expected; empty where there are none."""
    under = sum(1 for change in par.changes if not change.can_be_greatly_improved)
    if not under:
        return ""
    began = "1 case began" if under == 1 else f"{under} cases began"
    return f"; {began} under {number_words(GREATLY_POINTS)} points and cannot reach it"


def _percent(number: Decimal | None) -> str:
    return "none" if number is None else f"{number_words(_tenth(number))} %"
