"""Readings that are worked out from two or three others: a straight distance, a share of a width.  Pure."""

import itertools
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scoring.shapes import Value
from scoring.uncertainty.normal import FAR, Floats, below, density, legendre
from scoring.uncertainty.reading import NEGLIGIBLE, Cells, Cuts, Law, between, up_to

NODES = 12


def _pieces(cuts: Cuts, shares: Floats) -> Cells:
    """Chances between limits from the shares up to each of them."""
    found = np.diff(np.clip(shares, 0.0, 1.0), axis=1, prepend=0.0, append=1.0)
    values: tuple[Value, ...] = between(cuts)
    kept = np.flatnonzero(found.max(axis=0) > NEGLIGIBLE)
    chances = np.maximum(found[:, kept], 0.0)
    return Cells(tuple(values[k] for k in kept), chances / chances.sum(axis=1, keepdims=True))


@dataclass(frozen=True)
class Straight:
    """The root of the sum of squares of an offset and a gap (laws in that order), or the larger of both.

    A gap from `ends_at` on counts as none, where that is given.
    """

    cuts: Cuts
    larger: bool
    ends_at: Decimal | None

    def cells(self, laws: tuple[Law, ...], shifts: tuple[Floats, ...]) -> Cells:
        aside, apart = laws
        limits = np.array([float(c) for c in self.cuts])[None, :]
        gaps, masses = _points(apart, shifts[1], self.cuts, self.ends_at)
        counted = np.where(gaps >= float(self.ends_at), 0.0, gaps) if self.ends_at is not None else gaps
        squares = np.maximum(limits**2 - counted[:, None] ** 2, 0.0)
        room = np.where(limits >= counted[:, None], limits if self.larger else np.sqrt(squares), -1.0)
        told = up_to(aside, room.reshape(1, -1), shifts[0]).reshape(-1, *room.shape)
        shares = np.einsum(
            "ng,ngl->nl", masses + np.zeros((len(told), 1)), told + np.zeros((len(masses), 1, 1))
        )
        return _pieces(self.cuts, shares)


def _points(law: Law, shifts: Floats, cuts: Cuts, ends_at: Decimal | None) -> tuple[Floats, Floats]:
    """A gap as points with masses (nodes × points): single values, or Gauss-Legendre between limits.

    Within a piece the points crowd toward its upper end, where the root has a vertical tangent.
    """
    if law.shape == "certain":
        return np.array([float(law.value)]), np.ones((1, 1))
    nodes, weights = legendre(NODES)
    top = law.mean + FAR * law.sd + float(np.max(np.abs(shifts)))
    bottom = max(0.0, law.mean - FAR * law.sd - float(np.max(np.abs(shifts))))
    inner = [float(c) for c in cuts if bottom < c < top]
    inner += [float(ends_at)] if ends_at is not None and bottom < ends_at < top else []
    at, width = [], []
    ends = sorted({bottom, *inner, top})
    for low, high in itertools.pairwise(ends):
        panels = max(1, int(np.ceil((high - low) / (2 * law.sd))))
        for p in range(panels):
            a, b = low + (high - low) * p / panels, low + (high - low) * (p + 1) / panels
            at.append(b - (b - a) * (1 - nodes) ** 2)
            width.append(2 * (b - a) * (1 - nodes) * weights)
    points, widths = np.concatenate(at), np.concatenate(width)
    centre = law.mean + shifts[:, None]
    masses = widths * density((points - centre) / law.sd) / law.sd
    masses /= masses.sum(axis=1, keepdims=True)
    if law.shape == "none":
        return np.concatenate([[0.0], points]), np.hstack(
            [np.full((len(shifts), 1), 1 - law.missed), law.missed * masses]
        )
    return points, masses


@dataclass(frozen=True)
class ShareOfWidth:
    """100 × |offset| / mean width of two teeth (laws in that order).

    Exact: the share is at most t where the offset less t times the mean width is at most 0 on both sides.
    """

    cuts: Cuts

    def cells(self, laws: tuple[Law, ...], shifts: tuple[Floats, ...]) -> Cells:
        moved = [law.mean + shift for law, shift in zip(laws, shifts, strict=True)]
        t = np.array([float(c) / 100 for c in self.cuts])[None, :]
        width = ((moved[1] + moved[2]) / 2)[:, None]
        variance = (laws[1].sd ** 2 + laws[2].sd ** 2) / 4
        sd = np.sqrt(laws[0].sd ** 2 + t**2 * variance)
        offset = moved[0][:, None]
        upper, lower = offset - t * width, offset + t * width
        if (sd > 0).all():
            shares = below(-upper / sd) - below(-lower / sd)
        else:
            shares = ((upper <= 0) & (lower >= 0)).astype(float)
        return _pieces(self.cuts, shares)
