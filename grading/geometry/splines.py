"""Curves in character: the fixed matrices that turn a loop's points into Bézier handles.

A loop runs from turn point to turn point. Each such span is one interpolating C2 cubic through its points,
with chord-length knots taken once, from the points as drafted. The handles are therefore linear in the points,
and the same matrix serves every size.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats

__all__ = ["handle_matrix", "periodic_slopes", "span_slopes"]


def span_slopes(widths: Floats) -> Floats:
    """The matrix from n values to the n slopes of the cubic spline through them, not-a-knot at both ends.

    ``widths`` are the n − 1 knot spacings, all above zero. Two values give a straight line, three a parabola.
    The equations are those of de Boor, *A Practical Guide to Splines* (1978), chapter IV.

    >>> span_slopes(np.array([2.0])) @ np.array([1.0, 5.0])
    array([2., 2.])
    """
    n = len(widths) + 1
    slopes_of, values_of = np.zeros((n, n)), np.zeros((n, n))
    chords = np.diff(np.eye(n), axis=0) / widths[:, None]  # from values to divided differences, (n − 1, n)
    inner, before, after = np.arange(1, n - 1), widths[:-1], widths[1:]
    slopes_of[inner, inner - 1], slopes_of[inner, inner + 1] = after, before
    slopes_of[inner, inner] = 2 * (before + after)
    values_of[inner] = 3 * (after[:, None] * chords[:-1] + before[:, None] * chords[1:])
    if n == 2:
        return np.repeat(chords, 2, axis=0)
    if n == 3:
        slopes_of[0, :2] = slopes_of[2, 1:] = 1
        values_of[0], values_of[2] = 2 * chords[0], 2 * chords[1]
    else:
        slopes_of[0, :2], values_of[0] = _not_a_knot(widths[0], widths[1], chords[0], chords[1])
        end = _not_a_knot(widths[-1], widths[-2], chords[-1], chords[-2])
        slopes_of[-1, :-3:-1], values_of[-1] = end
    return np.asarray(np.linalg.solve(slopes_of, values_of), dtype=np.float64)


def periodic_slopes(widths: Floats) -> Floats:
    """The matrix from n values on a closed curve to their n slopes; ``widths`` are its n knot spacings, n ≥ 3.

    Spacing i lies between values i and i + 1, the last between the last value and the first.
    """
    n = len(widths)
    slopes_of, values_of = np.zeros((n, n)), np.zeros((n, n))
    every, before, after = np.arange(n), np.roll(widths, 1), widths
    following = (every + 1) % n
    slopes_of[every, every - 1] += after
    slopes_of[every, every] += 2 * (before + after)
    slopes_of[every, following] += before
    values_of[every, following] += 3 * before / after
    values_of[every, every] += 3 * (after / before - before / after)
    values_of[every, every - 1] -= 3 * after / before
    return np.asarray(np.linalg.solve(slopes_of, values_of), dtype=np.float64)


def handle_matrix(points: Floats, turns: NDArray[np.bool_]) -> Floats:
    """The (n, 4, n) matrix from the n points of a closed loop to the four Bézier handles of its n segments.

    ``points`` (n, 2) are the loop as drafted, no two neighbours alike; ``turns`` (n,) marks the turn points.
    Segment i runs from point i to point i + 1. A loop with no turn point is one periodic curve and needs three
    points. Multiply by the points of any size, x and y alike, to get that size's handles.
    """
    n = len(points)
    widths = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    handles = np.zeros((n, 4, n))
    corners = np.flatnonzero(turns)
    if len(corners) == 0:
        _write_span(handles, np.arange(n + 1) % n, widths, periodic_slopes(widths))
        return handles
    for start, end in zip(corners, np.roll(corners, -1), strict=True):
        span = np.arange(start, end + 1 if end > start else end + n + 1) % n
        _write_span(handles, span, widths[span[:-1]], span_slopes(widths[span[:-1]]))
    return handles


def _not_a_knot(first: float, second: float, chord: Floats, next_chord: Floats) -> tuple[Floats, Floats]:
    """The end equation that makes the first two pieces one cubic: its two slope factors and its value row."""
    both = first + second
    row = ((first + 2 * both) * second * chord + first**2 * next_chord) / both
    return np.array([second, both]), row


def _write_span(handles: Floats, span: NDArray[np.intp], widths: Floats, slopes: Floats) -> None:
    """Write one span's handle rows into the loop's matrix: end points as they are, inner ones a third along."""
    columns = span[: slopes.shape[1]]
    for i, width in enumerate(widths):
        segment, after = span[i], span[i + 1]
        handles[segment, 0, segment] += 1
        handles[segment, 1, segment] += 1
        np.add.at(handles[segment, 1], columns, slopes[i] * width / 3)
        handles[segment, 2, after] += 1
        np.add.at(handles[segment, 2], columns, -slopes[(i + 1) % len(slopes)] * width / 3)
        handles[segment, 3, after] += 1
