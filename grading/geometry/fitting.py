"""Cubic Béziers fitted to a polyline that was drawn as chords of smooth curves between corners.

The method is P. J. Schneider's ('An algorithm for automatically fitting digitized curves', Graphics Gems, 1990): least
squares for the two handles of a cubic with given end tangents, better parameters by Newton's step, and a cut at the
worst point where that does not do.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.beziers import accelerations_at, points_at, velocities_at
from grading.geometry.directions import turn_into

__all__ = ["CORNER", "STRAIGHT", "corners", "fitted"]

#: Where a polyline turns by more than this, in radians, it has a corner; where it turns by more than ``SLIGHT`` too, if
#: that is so many times what it turns at the vertices beside.
CORNER, SLIGHT, STANDS_OUT = np.radians(7), np.radians(1), 2.5
#: A chord longer than this, mm, is a straight line: curves are drawn in shorter ones. So is one longer than ``SHORT``
#: that is so many times as long as those beside it.
STRAIGHT, SHORT, TIMES = 6.0, 1.0, 1.8
#: How often parameters are bettered before a stretch is cut in two.
_ROUNDS = 4


def corners(points: Floats) -> NDArray[np.intp]:
    """The numbers (k,) of the vertices at which a closed polyline (m, 2) turns sharply.

    >>> corners(np.array([(0, 0), (5, 0), (10, 0), (10, 10), (0, 10.0)])).tolist()
    [0, 2, 3, 4]
    """
    chords = np.roll(points, -1, axis=0) - points
    turn = np.abs(turn_into(np.roll(chords, 1, axis=0), chords))
    beside = np.maximum(np.roll(turn, 1), np.roll(turn, -1))
    return np.flatnonzero((turn > CORNER) | (turn > np.maximum(SLIGHT, STANDS_OUT * beside)))


def fitted(points: Floats, tolerance: float) -> Floats:
    """Joined cubics (n, 4, 2) that follow a closed polyline (m, 2): within ``tolerance`` mm of every vertex.

    They run in its direction, begin at the first corner or long chord, or at the first vertex where there is none, and
    keep every corner. A chord that is long, or much longer than those beside it, is a straight line and kept as it is.
    """
    after = np.roll(points, -1, axis=0)
    chords = np.hypot(*(after - points).T)
    sharp = np.zeros(len(points), dtype=bool)
    sharp[corners(points)] = True
    # Beside a chord are those that run smoothly into it.
    before, behind = np.roll(chords, 1) * ~sharp, np.roll(chords, -1) * ~np.roll(sharp, -1)
    long = (chords > STRAIGHT) | (chords > np.maximum(SHORT, TIMES * np.maximum(before, behind)))
    breaks = np.flatnonzero(sharp | long | np.roll(long, 1))
    if not len(breaks):
        breaks = np.array([0])
    cubics: list[Floats] = []
    for first, last in zip(breaks, [*breaks[1:], breaks[0] + len(points)], strict=True):
        stretch = points[np.arange(first, last + 1) % len(points)]
        last %= len(points)
        start = _end_tangent(stretch) if sharp[first] else _through(points, long, int(first))
        end = _end_tangent(stretch[::-1]) if sharp[last] else -_through(points, long, int(last))
        cubics += _fit(stretch, start, end, tolerance)
    return np.array(cubics)


def _unit(vector: Floats) -> Floats:
    length = float(np.hypot(*vector))
    return vector / length if length else vector


def _through(points: Floats, long: NDArray[np.bool_], at: int) -> Floats:
    """The direction in which a closed polyline runs smoothly through a vertex: that of a long chord at it, if any."""
    before, after = points[at - 1], points[(at + 1) % len(points)]
    if long[at - 1]:
        return _unit(points[at] - before)
    return _unit(after - (points[at] if long[at] else before))


def _end_tangent(points: Floats) -> Floats:
    """The direction in which a stretch leaves its first point: that of the parabola through its first three."""
    if len(points) < 3:
        return _unit(points[1] - points[0])
    a, b = points[1] - points[0], points[2] - points[0]
    s, t = np.hypot(*a), np.hypot(*a) + np.hypot(*(points[2] - points[1]))
    return _unit(a * t * t - b * s * s)


def _fit(points: Floats, start: Floats, end: Floats, tolerance: float) -> list[Floats]:
    if len(points) == 2:
        third = np.hypot(*(points[1] - points[0])) / 3
        return [np.array([points[0], points[0] + start * third, points[1] + end * third, points[1]])]
    t = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    t /= t[-1]
    for _ in range(_ROUNDS):
        cubic = _cubic(points, t, start, end)
        off = points_at(cubic, t) - points
        worst = int(np.argmax((off * off).sum(axis=1)))
        if np.hypot(*off[worst]) <= tolerance:
            return [cubic]
        t = _bettered(cubic, points, t)
    middle = min(max(worst, 1), len(points) - 2)
    across = _unit(points[middle + 1] - points[middle - 1])
    return _fit(points[: middle + 1], start, -across, tolerance) + _fit(points[middle:], across, end, tolerance)


def _cubic(points: Floats, t: Floats, start: Floats, end: Floats) -> Floats:
    """The cubic with given end tangents that is nearest to the points at their parameters, by least squares."""
    u = 1 - t
    b1, b2 = 3 * u * u * t, 3 * u * t * t
    ends = points[0] * (u**3 + b1)[:, None] + points[-1] * (b2 + t**3)[:, None]
    a = np.stack([b1[:, None] * start, b2[:, None] * end], axis=1).reshape(len(t), 2, 2)
    c = np.einsum("mip,mjp->ij", a, a)
    x = np.einsum("mip,mp->i", a, points - ends)
    span = float(np.hypot(*(points[-1] - points[0])))
    determinant = c[0, 0] * c[1, 1] - c[0, 1] * c[1, 0]
    if abs(determinant) > 1e-12:
        first = (x[0] * c[1, 1] - x[1] * c[0, 1]) / determinant
        second = (c[0, 0] * x[1] - c[1, 0] * x[0]) / determinant
    else:
        first = second = 0.0
    if min(first, second) < 1e-6 * span:
        first = second = span / 3
    return np.array([points[0], points[0] + start * first, points[-1] + end * second, points[-1]])


def _bettered(cubic: Floats, points: Floats, t: Floats) -> Floats:
    """Parameters nearer to where the cubic comes nearest to each point: one step of Newton's method."""
    velocity, off = velocities_at(cubic, t), points_at(cubic, t) - points
    slope = (velocity * velocity).sum(axis=1) + (off * accelerations_at(cubic, t)).sum(axis=1)
    step = np.divide((off * velocity).sum(axis=1), slope, out=np.zeros_like(t), where=np.abs(slope) > 1e-12)
    bettered: Floats = np.clip(t - step, 0, 1)
    return bettered
