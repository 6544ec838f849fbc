"""Bézier segments evaluated: points, derivatives, bends, and exact arc lengths by Gauss–Legendre quadrature."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats, product

__all__ = [
    "NODES",
    "VELOCITY",
    "WEIGHTS",
    "arc_lengths",
    "bends",
    "curvatures",
    "derivatives",
    "evaluate",
    "partial_lengths",
]


def _basis(t: Floats) -> Floats:
    """The factors (..., 4) of a cubic's Bézier ordinates in its value at the parameters ``t`` (...)."""
    u = 1 - t
    return np.stack([u**3, 3 * u**2 * t, 3 * u * t**2, t**3], axis=-1)


def _slope_basis(t: Floats) -> Floats:
    """The factors (..., 4) of a cubic's Bézier ordinates in its derivative at the parameters ``t`` (...)."""
    u = 1 - t
    return 3 * np.stack([-(u**2), u**2 - 2 * u * t, 2 * u * t - t**2, t**2], axis=-1)


def _change_basis(t: Floats) -> Floats:
    """The factors (..., 4) of a cubic's Bézier ordinates in its second derivative at the parameters ``t`` (...)."""
    return 6 * np.stack([1 - t, 3 * t - 2, 1 - 3 * t, t], axis=-1)


_nodes, _weights = np.polynomial.legendre.leggauss(8)
#: The nodes (8,) of Gauss–Legendre quadrature over a parameter from 0 to 1, and their weights.
NODES: Floats = (_nodes + 1) / 2
WEIGHTS: Floats = _weights / 2
#: The (8, 4) matrix from a segment's handles to its derivatives at the quadrature nodes.
VELOCITY: Floats = _slope_basis(NODES)


def evaluate(beziers: Floats, t: Floats) -> Floats:
    """The points (..., m, 2) of segments (..., 4, 2) at the m parameters ``t``, each from 0 to 1."""
    return product("mb,...bc->...mc", _basis(t), beziers)


def derivatives(beziers: Floats, t: Floats) -> Floats:
    """The derivatives (..., m, 2) by the parameter of segments (..., 4, 2) at the m parameters ``t``."""
    return product("mb,...bc->...mc", _slope_basis(t), beziers)


def bends(beziers: Floats) -> Floats:
    """The signed curvature (..., 8) in 1/mm of segments (..., 4, 2) at their quadrature nodes; left turns positive."""
    return curvatures(beziers, NODES)


def curvatures(beziers: Floats, t: Floats) -> Floats:
    """The signed curvature (..., m) in 1/mm of segments (..., 4, 2) at the m parameters ``t``; left turns positive.

    >>> quarter = np.array([[50, 0], [50, 27.614], [27.614, 50], [0, 50.0]])
    >>> (1 / curvatures(quarter, np.array([0.1, 0.5, 0.9]))).round()
    array([50., 50., 50.])
    """
    velocity = product("nb,...bc->...nc", _slope_basis(t), beziers)
    change = product("nb,...bc->...nc", _change_basis(t), beziers)
    cross = velocity[..., 0] * change[..., 1] - velocity[..., 1] * change[..., 0]
    curvature: Floats = cross / np.hypot(velocity[..., 0], velocity[..., 1]) ** 3
    return curvature


def arc_lengths(beziers: Floats) -> Floats:
    """The lengths (...) in mm of cubic Bézier segments (..., 4, 2), exact far below a printed line.

    To about 1e-12 mm where a curve's points lie evenly; where spacings differ many times over, to 1e-3 mm.

    >>> float(arc_lengths(np.array([[0, 0], [1, 0], [2, 0], [3, 0.0]])).round(9))
    3.0
    """
    velocity = product("nb,...bc->...nc", VELOCITY, beziers)
    return product("...m,m->...", np.hypot(velocity[..., 0], velocity[..., 1]), WEIGHTS)


def partial_lengths(beziers: Floats, t: Floats) -> Floats:
    """The length (...) from the start of each segment (..., 4, 2) to its own parameter ``t`` (...)."""
    velocity = product("...mb,...bc->...mc", _slope_basis(np.multiply.outer(t, NODES)), beziers)
    return t * product("...m,m->...", np.hypot(velocity[..., 0], velocity[..., 1]), WEIGHTS)
