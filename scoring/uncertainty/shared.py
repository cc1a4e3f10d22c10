"""Causes that several readings share: conditioned on, node by node, or worked out exactly for two or three.  Pure.

The offset of the examiner is the outer axis of every array (`hermite` nodes).  Other causes (landmarks of a tracing,
the scale of a picture) tie readings into clusters.  Two or three plain numbers that share causes, such as ANB,
SN-MP and IMPA of one tracing, become one reading of several values whose chances are normal rectangles, nested
Gauss-Legendre inside each piece; larger clusters are conditioned on the common factors of their covariance.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scoring.uncertainty.model import Place
from scoring.uncertainty.normal import Floats, below, hermite, legendre
from scoring.uncertainty.reading import NEGLIGIBLE, Cuts, Reading

OFFSET_NODES = 21
MOST_EXACT = 3
MOST_FACTORS = 3
FINEST = 50
"""Panels to a deviation at most, for numbers that are nearly one."""
NODES_BY_FACTORS = {0: 1, 1: 32, 2: 15, 3: 9}
PANEL_NODES = 7
"""Nodes in a panel of 1.25 narrow deviations: 4e-15 from 20 nodes on angles of drawn tracings."""
REACH = 7.5
"""Deviations to which the outer numbers are followed (6e-14 is left)."""


@dataclass(frozen=True)
class Grid:
    """Nodes of the common factors of a cluster: weights, and how each reading is moved at every node."""

    weights: Floats
    shifts: Mapping[Place, Floats]
    rest: Mapping[Place, float]
    """What is left of a shared variance beyond the factors, as a deviation of the reading's own."""


ALONE = Grid(np.ones(1), {}, {})


def covariance(readings: Sequence[Reading]) -> Floats:
    """What the shared causes of readings (the offset left out) come to."""
    names = sorted({name for reading in readings for name, _ in reading.shared})
    loads = np.zeros((len(readings), len(names)))
    for row, reading in enumerate(readings):
        for name, part in reading.shared:
            loads[row, names.index(name)] += part
    return loads @ loads.T


def factors(readings: Sequence[Reading]) -> Grid:
    """The common factors of a cluster's shared causes, at most three, as nodes."""
    shared = covariance(readings)
    sizes, vectors = np.linalg.eigh(shared)
    order = [k for k in np.argsort(sizes)[::-1] if sizes[k] > 1e-12 * max(sizes.max(), 1e-300)]
    kept = order[:MOST_FACTORS]
    loads = vectors[:, kept] * np.sqrt(sizes[kept])
    left = np.maximum(np.diag(shared) - (loads**2).sum(axis=1), 0.0)
    nodes, weights = hermite(NODES_BY_FACTORS[len(kept)])
    if len(kept) == 1:
        ratio = max(
            (abs(load) / (r.law.sd or 1e-9) for load, r in zip(loads[:, 0], readings, strict=True)), default=0
        )
        nodes, weights = hermite(32 if ratio < 3 else 128)
    points = np.array(list(itertools.product(nodes, repeat=len(kept))))
    mass = np.array([math.prod(w) for w in itertools.product(weights, repeat=len(kept))])
    moved = points @ loads.T
    places = [r.place for r in readings]
    return Grid(
        mass,
        {p: moved[:, k] for k, p in enumerate(places)},
        {p: math.sqrt(left[k]) for k, p in enumerate(places) if left[k] > 1e-12},
    )


@lru_cache(maxsize=256)
def together(
    mean: tuple[float, ...], spread: tuple[tuple[float, ...], ...], cuts: tuple[Cuts, ...]
) -> Floats:
    """Chances of the boxes between the cuts of two or three normal numbers, an axis of pieces for each.

    `spread` is their covariance.  The last number is told by the normal distribution given the others, the others by
    Gauss-Legendre inside each piece.
    """
    sigma = np.array(spread)
    sigma = sigma + np.eye(len(mean)) * 1e-12 * np.diag(sigma)
    limits = [np.array([float(c) for c in one]) for one in cuts]
    outer = sigma[:-1, :-1]
    inverse = np.linalg.inv(outer)
    slope = sigma[-1, :-1] @ inverse
    last_sd = math.sqrt(max(sigma[-1, -1] - slope @ sigma[:-1, -1], 0.0))
    axes = []
    for n in range(len(mean) - 1):
        # as fine as the number varies given the other, and as the last one turns over
        narrow = min(1 / math.sqrt(inverse[n, n]), last_sd / max(abs(slope[n]), 1e-300))
        axes.append(_panels(mean[n], math.sqrt(outer[n, n]), limits[n], narrow))
    found = np.zeros(tuple(len(one) + 1 for one in cuts))
    scale = math.sqrt((2 * math.pi) ** len(axes) * np.linalg.det(outer))
    pieces, at, widths = axes[0]
    second, at_second, widths_second = (
        axes[1] if len(axes) > 1 else (np.zeros(1, dtype=int), np.zeros(1), np.ones(1))
    )
    starts = np.flatnonzero(np.diff(second, prepend=-1))
    for piece in np.unique(pieces):
        # one piece of the first number at a time: its arrays stay near the processor
        here = pieces == piece
        parts = [at[here] - mean[0], *([at_second - mean[1]] if len(axes) > 1 else [])]
        away = np.stack(np.meshgrid(*parts, indexing="ij"), axis=-1).reshape(-1, len(axes))
        mass = np.exp(-np.einsum("ni,ij,nj->n", away, inverse, away) / 2) / scale
        mass *= np.outer(widths[here], widths_second).ravel()
        z = (limits[-1] - mean[-1] - (away @ slope)[:, None]) / last_sd
        share = below(np.hstack([z, np.full((len(z), 1), np.inf)])) * mass[:, None]
        share = share.reshape(int(here.sum()), len(second), -1).sum(axis=0)
        up_to_each = np.add.reduceat(share, starts, axis=0)
        told = np.diff(up_to_each, axis=1, prepend=0.0)
        if len(axes) == 1:
            found[piece] = told[0]
        else:
            found[piece, second[starts]] = told
    found[found <= NEGLIGIBLE] = 0.0
    found /= found.sum()
    return found


def rectangles(
    mean: tuple[float, ...], spread: tuple[tuple[float, ...], ...], cuts: tuple[Cuts, ...]
) -> tuple[tuple[tuple[int, ...], ...], Floats]:
    """The same as a list of the boxes that can be: which pieces, and how likely."""
    found = together(mean, spread, cuts)
    kept = np.argwhere(found)
    return tuple(tuple(int(k) for k in box) for box in kept), found[tuple(kept.T)]


def _panels(mean: float, sd: float, limits: Floats, narrow: float) -> tuple[Floats, Floats, Floats]:
    """Nodes of every piece within reach with their widths, each piece in panels little wider than a narrow deviation."""
    nodes, weights = legendre(PANEL_NODES)
    ends = np.unique(np.concatenate([[mean - REACH * sd], limits, [mean + REACH * sd]]))
    ends = ends[(ends >= mean - REACH * sd) & (ends <= mean + REACH * sd)]
    piece, at, mass = [], [], []
    for low, high in itertools.pairwise(ends):
        panels = max(1, math.ceil((high - low) / max(1.25 * narrow, sd / FINEST)))
        width = (high - low) / panels
        starts = low + width * np.arange(panels)
        at.append((starts[:, None] + width * nodes).ravel())
        mass.append(np.tile(width * weights, panels))
        piece.append(np.full(panels * len(nodes), np.searchsorted(limits, (low + high) / 2)))
    return np.concatenate(piece), np.concatenate(at), np.concatenate(mass)
