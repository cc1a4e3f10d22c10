"""What an index says beside its total, in words: a grade's companions, ratios, lengths, teeth left out."""

from collections.abc import Iterator, Mapping, Sequence

from portfolio import teeth
from portfolio.wording import site_words
from scoring.result import Json, Score
from scoring.step_words import minus

_WEIGHTS = {"uk1992": "weights of 1992", "us1995": "United States weights of 1995"}
_METHODS = {"segments": "four segments", "wire": "brass wire", "curve": "fitted curve"}


def figure(score: Score) -> str:
    """What stands for the score at a glance: the grade where there is one, else the total."""
    from_grade = score.extra.get("grade")
    if isinstance(from_grade, str):
        return from_grade
    return "" if score.total is None else minus(_plain(score))


def _plain(score: Score) -> str:
    printed = score.as_dict("")["total"]
    return printed if isinstance(printed, str) else ""


def facts(score: Score, notation: str = "iso3950") -> tuple[str, ...]:
    """Sentences for everything in `extra`, in the reader's notation."""
    return tuple(minus(words) for words in _facts(score.extra, notation, score.edition))


def _facts(extra: Mapping[str, Json], notation: str, edition: str) -> Iterator[str]:
    for name, value in extra.items():
        match name:
            case "totals" if isinstance(value, Mapping):
                for key, total in value.items():
                    if key != edition and total is not None:
                        yield f"{_WEIGHTS.get(key, key)}: {total}"
            case "aesthetic_component":
                if value is not None:
                    yield f"aesthetic component {value}"
            case "band":
                if value is not None:
                    yield f"{value}".replace("_", " ")
            case "overall_percent" | "anterior_percent":
                if value is not None:
                    yield f"{name.split('_')[0]} ratio {value} %"
            case "overall_excess" | "anterior_excess" if isinstance(value, Mapping):
                yield f"{name.split('_')[0]}: {value.get('mm')} mm too much in the {value.get('arch')} arch"
            case "upper" | "lower" if isinstance(value, Mapping):
                yield from _space(name, value)
            case "teeth_scored" if isinstance(value, Sequence):
                yield f"{len(value)} teeth scored"
            case "left_out" if isinstance(value, Sequence):
                for one in value:
                    if isinstance(one, Mapping):
                        yield f"left out: {_left_out(one, notation)}"


def in_place_of_a_total(instead: Mapping[str, Json]) -> str:
    """What another rule choice gives where an index has no total: `upper arch short by 2 mm, lower …`."""
    arches = {arch: found for arch, found in instead.items() if isinstance(found, Mapping)}
    return ", ".join(f"{arch} arch {_fits(found)}" for arch, found in arches.items())


def _fits(found: Mapping[str, Json]) -> str:
    short = found.get("discrepancy")
    if not isinstance(short, str):
        return "not to be told yet"
    if not short.strip("-0."):
        return "space fits"
    return f"short by {short[1:]} mm" if short.startswith("-") else f"{short} mm to spare"


def _space(arch: str, found: Mapping[str, Json]) -> Iterator[str]:
    words = _fits(found)
    if found.get("discrepancy") is None:
        yield f"{arch} arch: {words}"
        return
    method = found.get("method")
    taken = f", {_METHODS.get(str(method), method)}" if method else ""
    yield f"{arch} arch: {words} (available {found.get('available')}, required {found.get('required')} mm{taken})"


def _left_out(one: Mapping[str, Json], notation: str) -> str:
    tooth, site = one.get("tooth"), one.get("site")
    where = teeth.shown(str(tooth), notation) if tooth else site_words(str(site), notation)
    return f"{where}, {one.get('why')}"
