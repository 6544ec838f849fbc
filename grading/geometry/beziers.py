"""Bézier segments evaluated: points, directions, curvature, and exact arc lengths by Gauss–Legendre quadrature."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats, product
from grading.geometry.directions import cross

__all__ = [
    "NODES",
    "VELOCITY",
    "WEIGHTS",
    "accelerations_at",
    "arc_lengths",
    "between",
    "curvatures",
    "directions_at",
    "evaluate",
    "partial_lengths",
    "points_at",
    "velocities_at",
]

#: Where a handle is drawn into its end the derivative vanishes there; so far inside it shows the direction.
NUDGE = 1e-6

_nodes, _weights = np.polynomial.legendre.leggauss(8)
#: The nodes (8,) of Gauss–Legendre quadrature over a parameter from 0 to 1, and their weights.
NODES: Floats = (_nodes + 1) / 2
WEIGHTS: Floats = _weights / 2


def points_at(beziers: Floats, t: Floats) -> Floats:
    """The point (..., 2) of each segment (..., 4, 2) at its own parameter ``t`` (...), from 0 to 1."""
    u = 1 - t
    return _blend([u**3, 3 * u**2 * t, 3 * u * t**2, t**3], beziers)


def velocities_at(beziers: Floats, t: Floats) -> Floats:
    """The derivative (..., 2) by the parameter of segments (..., 4, 2), each at its own ``t`` (...)."""
    u = 1 - t
    return 3 * _blend([u * u, 2 * u * t, t * t], between(beziers))


def accelerations_at(beziers: Floats, t: Floats) -> Floats:
    """The second derivative (..., 2) by the parameter of segments (..., 4, 2), each at its own ``t`` (...)."""
    return 6 * _blend([1 - t, t], between(between(beziers)))


def directions_at(beziers: Floats, t: Floats) -> Floats:
    """The unit tangent (..., 2), the way it is drawn, of each segment (..., 4, 2) at its own ``t`` (...)."""
    velocity = velocities_at(beziers, t)
    still = np.hypot(velocity[..., 0], velocity[..., 1]) < 1e-9
    if still.any():
        velocity[still] = velocities_at(beziers, np.clip(t, NUDGE, 1 - NUDGE))[still]
    speed = np.hypot(velocity[..., 0], velocity[..., 1])[..., None]
    return velocity / np.where(speed > 0, speed, 1)


@np.errstate(divide="ignore", invalid="ignore")
def curvatures(beziers: Floats, t: Floats) -> Floats:
    """The signed curvature (...) in 1/mm of segments (..., 4, 2) at their ``t`` (...): positive bends left.

    Exact, cross(B′, B″) / |B′|³; infinite at a cusp that turns, 0 where a straight segment stands still.

    >>> quarter = np.array([[50, 0], [50, 27.614], [27.614, 50], [0, 50.0]])
    >>> (1 / curvatures(quarter, np.array([0.1, 0.5, 0.9]))).round()
    array([50., 50., 50.])
    """
    first, second = velocities_at(beziers, t), accelerations_at(beziers, t)
    bend = cross(first, second) / np.hypot(first[..., 0], first[..., 1]) ** 3
    return np.where(np.isnan(bend), 0, bend)


def between(handles: Floats) -> Floats:
    """From each handle (..., k, c) to the next (..., k − 1, c): np.diff, which takes several times as long."""
    return handles[..., 1:, :] - handles[..., :-1, :]


def evaluate(beziers: Floats, t: Floats) -> Floats:
    """The points (..., m, 2) of segments (..., 4, 2), each at all of the m parameters ``t``."""
    return points_at(beziers[..., None, :, :], t)


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
    velocity = velocities_at(beziers[..., None, :, :], np.multiply.outer(t, NODES))
    return t * product("...m,m->...", np.hypot(velocity[..., 0], velocity[..., 1]), WEIGHTS)


def _blend(weights: list[Floats], handles: Floats) -> Floats:
    """The sum (..., c) of handles (..., k, c), each times its own weight (...)."""
    stacked = np.empty((*weights[0].shape, len(weights)))
    for place, weight in enumerate(weights):
        stacked[..., place] = weight
    return product("...k,...kc->...c", stacked, handles)


#: The (8, 4) matrix from a segment's handles to its derivatives at the quadrature nodes.
VELOCITY = velocities_at(np.eye(4), NODES)
