"""The normal distribution and the nodes at which a shared error is looked at.  Pure.

Sources: Abramowitz and Stegun, Handbook of mathematical functions, 25.4.46 (Gauss-Hermite) and 25.4.29
(Gauss-Legendre), by numpy's polynomial package.
"""

import math
from functools import cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
_ROOT2 = math.sqrt(2)
MANY = 20_000
"""From so many places on the library's function is faster, though it has to be loaded."""
FAR = 9.0
"""Beyond so many deviations nothing is left that a sum could feel (1e-19)."""


def below(z: npt.ArrayLike) -> Floats:
    """The share of the standard normal distribution below z, to the last digits at both ends."""
    flat = np.asarray(z, dtype=float)
    if flat.size > MANY:
        # loading it takes longer than all that a plain sheet asks for
        from scipy.special import ndtr

        told: Floats = ndtr(flat)
        return told
    found = np.fromiter(map(math.erfc, (flat.ravel() / -_ROOT2).tolist()), float, flat.size)
    return found.reshape(flat.shape) / 2


def density(z: npt.ArrayLike) -> Floats:
    """The standard normal density."""
    flat = np.asarray(z, dtype=float)
    found: Floats = np.exp(-flat * flat / 2) / math.sqrt(2 * math.pi)
    return found


def below_rounded(z: Floats, half_width: float) -> Floats:
    """The share below z when a uniform error of ± half_width (both in deviations) lies on the normal one.

    (1/h)(G(z + h/2) − G(z − h/2)) with G(z) = z Φ(z) + φ(z), held to 0 … 1.
    """

    def summed(at: Floats) -> Floats:
        return at * below(at) + density(at)

    return np.clip((summed(z + half_width) - summed(z - half_width)) / (2 * half_width), 0.0, 1.0)


def below_uniform(z: Floats) -> Floats:
    """The share below z of a uniform error of ± 1."""
    return np.clip((z + 1) / 2, 0.0, 1.0)


@cache
def hermite(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights for the standard normal distribution; the weights sum to 1."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return nodes, weights / weights.sum()


@cache
def legendre(count: int) -> tuple[Floats, Floats]:
    """Nodes on 0 … 1 and weights that sum to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (nodes + 1) / 2, weights / 2
