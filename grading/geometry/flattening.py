"""How Bézier segments bend: polylines that follow them within a tolerance, and where each bends most."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.beziers import between, curvatures, points_at
from grading.geometry.directions import cross

__all__ = ["extreme_bends", "flatten", "parameters", "steps_within"]

Ints = NDArray[np.intp]


def flatten(beziers: Floats, tolerance: float = 0.01) -> Floats:
    """The polyline (m, 2) along consecutive segments (n, 4, 2), nowhere more than ``tolerance`` mm from them.

    It holds every segment's ends exactly, from the first one's start to the last one's end.

    >>> flatten(np.array([[[0, 0], [1, 0], [2, 0], [3, 0]], [[3, 0], [3, 1], [3, 2], [3, 3]]], float)).tolist()
    [[0.0, 0.0], [3.0, 0.0], [3.0, 3.0]]
    """
    segment, t = parameters(steps_within(beziers, tolerance))
    keep = t < 1
    keep[-1:] = True
    return points_at(beziers[segment[keep]], t[keep])


def steps_within(beziers: Floats, tolerance: float | Floats) -> Ints:
    """How many equal steps of the parameter bring each segment (n, 4, 2) within ``tolerance`` mm of its chords.

    ``tolerance`` is one figure or one a segment (n,). A chord over a step h leaves the curve by at most
    h²/8 · max |B″|, and a cubic's |B″| is at most six times the greatest second difference of its handles.
    """
    second = between(between(beziers))
    bend = np.sqrt((second * second).sum(axis=2)).max(axis=1)
    # Rounding noise in a straight segment's handles must not cost it a second chord: hence one part in 10⁶ off.
    chords: Ints = np.ceil(np.sqrt(0.75 * bend / tolerance) - 1e-6).astype(np.intp)
    return chords.clip(min=1)


def parameters(steps: Ints) -> tuple[Ints, Floats]:
    """Segment numbers (m,) and parameters (m,) of every segment's start, equal steps and end, in order.

    >>> parameters(np.array([1, 2]))[1].tolist()
    [0.0, 1.0, 0.0, 0.5, 1.0]
    """
    segment = np.repeat(np.arange(len(steps)), steps + 1)
    first = np.cumsum(steps + 1) - steps - 1
    return segment, (np.arange(len(segment)) - first[segment]) / steps[segment]


def extreme_bends(beziers: Floats) -> tuple[Floats, Floats]:
    """Where each segment (n, 4, 2) may bend most: curvatures (n, 7) in 1/mm, positive left, and parameters (n, 7).

    Among them are its tightest bends to either side, exact but for rounding: the segment's ends and the roots of the
    curvature's derivative's numerator, cross(B′, B‴)·|B′|² − 3·cross(B′, B″)·(B′·B″), a polynomial of degree five.
    """
    roots = np.linalg.eigvals(_companions(_bend_slopes(beziers))).real
    t = np.hstack([np.zeros((len(beziers), 1)), np.ones((len(beziers), 1)), roots.clip(0, 1)])
    return curvatures(beziers[:, None], t), t


def _bend_slopes(beziers: Floats) -> Floats:
    """The six coefficients (n, 6), of 1 to t⁵, of a polynomial with the sign of the curvature's derivative."""
    sides = between(beziers)
    # B′ is three times a + b t + c t².
    a, b, c = sides[:, 0], 2 * (sides[:, 1] - sides[:, 0]), sides[:, 0] - 2 * sides[:, 1] + sides[:, 2]
    aa, ab, ac, bb, bc, cc = (np.sum(p * q, axis=1) for p, q in ((a, a), (a, b), (a, c), (b, b), (b, c), (c, c)))
    a_b, a_c, b_c = (cross(p, q) for p, q in ((a, b), (a, c), (b, c)))
    turning, turning_slope = [a_b, 2 * a_c, b_c], [2 * a_c, 2 * b_c]
    speed, speed_slope = [aa, 2 * ab, bb + 2 * ac, 2 * bc, cc], [ab, bb + 2 * ac, 3 * bc, 2 * cc]
    slopes = np.zeros((len(beziers), 6))
    for i, p in enumerate(turning_slope):
        for j, q in enumerate(speed):
            slopes[:, i + j] += p * q
    for i, p in enumerate(turning):
        for j, q in enumerate(speed_slope):
            slopes[:, i + j] -= 3 * p * q
    return slopes


def _companions(coefficients: Floats) -> Floats:
    """The matrices (n, k, k) whose eigenvalues are the roots of polynomials (n, k + 1), lowest power first.

    A leading coefficient that vanishes is made a trifle instead: it adds a root far away and moves no other.
    """
    most = np.abs(coefficients).max(axis=1)
    trifle = np.where(most > 0, 1e-12 * most, 1.0)
    leading = np.where(np.abs(coefficients[:, -1]) > trifle, coefficients[:, -1], trifle)
    degree = coefficients.shape[1] - 1
    companions = np.zeros((len(coefficients), degree, degree))
    companions[:, np.arange(1, degree), np.arange(degree - 1)] = 1
    companions[:, :, -1] = -coefficients[:, :-1] / leading[:, None]
    return companions
