"""Every index that is built, found by its folder; one that cannot load stops the start with its name."""

import hashlib
import pkgutil
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from importlib import import_module

from portfolio.finding_sheet import Sheet
from portfolio.vocabulary import ORDER, QUANTITIES
from scoring import indices, kernel
from scoring.hits import Ask
from scoring.index import Index
from scoring.kernel import Detail
from scoring.result import Score

KEYS = ("discrepancy", "par", "icon", "iotn", "outcome", "irregularity", "tooth_size", "space")
"""Every key the sheet file's command line knows, built or not."""


def _scanned() -> dict[str, Index]:
    found: dict[str, Index] = {}
    for module in pkgutil.iter_modules(indices.__path__):
        index = getattr(import_module(f"{indices.__name__}.{module.name}"), "INDEX", None)
        if not isinstance(index, Index) or index.key != module.name or index.key not in KEYS:
            raise ImportError(f"scoring/indices/{module.name} has no INDEX with the key {module.name!r}")
        found[index.key] = index
    return {key: found[key] for key in KEYS if key in found}


INDEXES: dict[str, Index] = _scanned()


class IndexRefused(ValueError):
    """A key that no index has, or one that is not built yet."""


def index(key: str) -> Index:
    """The index of a key; IndexRefused in words otherwise."""
    if key in INDEXES:
        return INDEXES[key]
    if key in KEYS:
        raise IndexRefused(f"index {key!r} is not built yet; built: {', '.join(INDEXES)}")
    raise IndexRefused(f"index {key!r} is not known; built: {', '.join(INDEXES)}")


def score(
    key: str,
    sheet: Sheet,
    edition: str | None = None,
    choices: Mapping[str, str] | None = None,
    detail: Detail = "all",
) -> Score:
    """The score of a sheet by the index of a key."""
    return kernel.score(index(key), sheet, edition, choices, detail)


def meant_for(sheet: Sheet) -> tuple[str, ...]:
    """Keys of the built indices that have a meaning for a sheet's stage and dentition."""
    return tuple(key for key, built in INDEXES.items() if not built.outside(sheet))


def needs(
    keys: Iterable[str],
    sheet: Sheet,
    choices: Mapping[str, Mapping[str, str]] | None = None,
    editions: Mapping[str, str | None] | None = None,
) -> tuple[Ask, ...]:
    """The union of what the named indices read, once each, in the order round the casts."""
    merged: dict[str, Ask] = {}
    for key in keys:
        for ask in kernel.asks(index(key), sheet, (choices or {}).get(key), (editions or {}).get(key)):
            known = merged.get(ask.quantity, Ask(ask.quantity, (), False))
            sites = tuple(dict.fromkeys((*known.sites, *ask.sites)))
            merged[ask.quantity] = Ask(ask.quantity, sites, known.needed or ask.needed)
    unknown = [q for q in merged if q not in QUANTITIES]
    if unknown:
        raise IndexRefused(f"an index reads quantities that the vocabulary lacks: {', '.join(unknown)}")
    return tuple(sorted(merged.values(), key=lambda a: ORDER[a.quantity]))


@lru_cache(maxsize=64)
def rules_digest(key: str) -> str:
    """A digest over the values of an index's rules under every choice, not over their text.

    It moves when a limit, a number of points or the declared revision of a worked rule moves.
    """
    built = index(key)
    parts = [built.key, *built.editions, *built.categories]
    for edition in built.editions:
        if edition != built.editions[0]:
            parts.append(edition)
        if edition in built.weight_sets:
            parts.append(repr(sorted(built.weight_sets[edition].items())))
        for settled in _variants(built):
            components = built.components(tuple(sorted(settled.items())), edition)
            parts.append(repr(sorted(settled.items())))
            parts += [repr(component) for component in components]
    if built.revision:
        parts.append(built.revision)
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]


def _variants(built: Index) -> Sequence[dict[str, str]]:
    base = dict(built.defaults)
    return [base, *({**base, c.id: value} for c in built.choices for value in c.values[1:])]
