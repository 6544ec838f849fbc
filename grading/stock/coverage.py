"""Which share of customers a run fits: hand girth and hand length as a bivariate normal, size by size."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from grading.geometry.arrays import Floats

__all__ = ["OFF", "Coverage", "Population", "covered", "inside"]

#: By how much the part of hands that a run fits is off on real people, whose hands are not quite a bell curve: found in
#: 3,507 people of open data, in which finger or wrist and height stand in for hands (tests/stock/test_coverage.py).
OFF = 0.03

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)
#: Standard deviations beyond which nothing is left of a normal in double precision.
_FAR = 38.0
_normal = np.frompyfunc(lambda x: math.erfc(-x / math.sqrt(2)) / 2, 1, 1)


@dataclass(frozen=True, slots=True)
class Population:
    """The customers' hands: means and standard deviations in mm, and the correlation, inside −1 and 1."""

    girth: float
    girth_spread: float
    length: float
    length_spread: float
    correlation: float


@dataclass(frozen=True, eq=False)
class Coverage:
    """Shares of all customers: ``sizes`` (sizes,) whom each size fits, and those whom none does.

    With ``too_small``, ``too_large``, ``too_short`` and ``too_long`` they add up to 1. ``one_smaller`` and
    ``one_larger`` are what a further size at that end would add, one step on from the outermost.
    """

    sizes: Floats
    too_small: float
    too_large: float
    too_short: float
    too_long: float
    one_smaller: float
    one_larger: float

    @property
    def fitted(self) -> float:
        return float(self.sizes.sum())


def covered(
    hands: Population, girths: Floats, lengths: Floats, girth_tolerance: float, length_tolerance: float
) -> Coverage:
    """Whom the sizes fit whose hands have these ``girths`` (sizes,) and ``lengths`` (sizes,), in mm.

    A customer takes the size that is nearest in girth, up to the tolerance beyond the outermost sizes, and is
    fitted if the length is within its tolerance of that size's. The girths' order does not matter; raises ValueError
    if two are the same.
    """
    order = np.argsort(girths)
    girth, length = girths[order], lengths[order]
    if np.any(np.diff(girth) == 0):
        raise ValueError("two sizes have the same girth")
    fitted, bounds = _fitted(hands, girth, length, girth_tolerance, length_tolerance)
    sizes = np.empty(len(girth))
    sizes[order] = fitted
    below, above = np.full(len(girth), -np.inf), np.full(len(girth), np.inf)
    low, high = length - length_tolerance, length + length_tolerance
    ends = np.array([bounds[0], bounds[-1]])
    outer = inside(hands, np.array([-np.inf, ends[1]]), np.array([ends[0], np.inf]), below[[0, 0]], above[[0, 0]])

    def added(end: int, inner: int, lone: float) -> float:
        """What one more size at an end adds to all that fit: a step on from the outermost, ``lone`` mm from one."""
        steps = (girth[end] - girth[inner], length[end] - length[inner]) if len(girth) > 1 else (lone, 0.0)
        at = 0 if end == 0 else len(girth)
        more, longer = np.insert(girth, at, girth[end] + steps[0]), np.insert(length, at, length[end] + steps[1])
        return float(_fitted(hands, more, longer, girth_tolerance, length_tolerance)[0].sum() - fitted.sum())

    return Coverage(
        sizes=sizes,
        too_small=float(outer[0]),
        too_large=float(outer[1]),
        too_short=float(inside(hands, bounds[:-1], bounds[1:], below, low).sum()),
        too_long=float(inside(hands, bounds[:-1], bounds[1:], high, above).sum()),
        one_smaller=added(0, 1, -2 * girth_tolerance),
        one_larger=added(-1, -2, 2 * girth_tolerance),
    )


def _fitted(
    hands: Population, girth: Floats, length: Floats, girth_tolerance: float, length_tolerance: float
) -> tuple[Floats, Floats]:
    """The shares (sizes,) whom sizes in order of girth fit, and the girths (sizes + 1,) that part them."""
    bounds = np.concatenate([[girth[0] - girth_tolerance], (girth[1:] + girth[:-1]) / 2, [girth[-1] + girth_tolerance]])
    return inside(hands, bounds[:-1], bounds[1:], length - length_tolerance, length + length_tolerance), bounds


def inside(hands: Population, from_girth: Floats, to_girth: Floats, from_length: Floats, to_length: Floats) -> Floats:
    """The share of hands in rectangles of girth and length, each bound (n,) in mm, infinite where there is none."""
    left, right = ((bound - hands.girth) / hands.girth_spread for bound in (from_girth, to_girth))
    bottom, top = ((bound - hands.length) / hands.length_spread for bound in (from_length, to_length))
    rho = hands.correlation
    share = _below(right, top, rho) - _below(left, top, rho) - _below(right, bottom, rho) + _below(left, bottom, rho)
    return np.clip(share, 0.0, 1.0)


def _below(x: Floats, y: Floats, correlation: float) -> Floats:
    """The standard bivariate normal's distribution function at (x, y), each (n,).

    Φ(x) Φ(y) + 1/2π ∫ exp(−(x² + y² − 2xy sin θ) / 2 cos² θ) dθ from 0 to arcsin ρ: A. Genz, 'Numerical computation
    of rectangular bivariate and trivariate normal and t probabilities', Statistics and Computing 14 (2004).
    """
    x, y = np.clip(x, -_FAR, _FAR), np.clip(y, -_FAR, _FAR)
    half = math.asin(correlation) / 2
    sine = np.sin(half * (_NODES + 1))
    exponent = (x * x + y * y)[:, None] - 2 * (x * y)[:, None] * sine
    integral = np.exp(-exponent / (2 * (1 - sine * sine))) @ _WEIGHTS * half
    product = (_normal(x) * _normal(y)).astype(float)
    return np.asarray(product + integral / (2 * math.pi), dtype=float)
