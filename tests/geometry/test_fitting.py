"""Cubics fitted to chords: corners stay, however slight beside how the curve turns, and what is smooth stays smooth.

What is fitted is drawn here as circular arcs in chords, of which every tangent is known.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from grading.geometry.fitting import fitted
from grading.geometry.flattening import flatten

#: What an arc turns at each vertex, in degrees, and how long its chords are, mm.
STEP, CHORD = 1.2, 1.0


def arcs(corner: float, count: int = 40) -> np.ndarray:
    """Two arcs of chords that meet at a vertex, the ``count``'th, which turns by ``corner`` degrees; then back."""
    turns = np.full(2 * count, STEP)
    turns[0], turns[count] = 0.0, corner
    way = np.radians(np.cumsum(turns))
    points = np.concatenate([[(0.0, 0.0)], np.cumsum(np.stack([np.cos(way), np.sin(way)], axis=1) * CHORD, axis=0)])
    return np.concatenate([points, [points[-1] + (-90, 60), (-90, -60)]])


def turn_at(cubics: np.ndarray, place: np.ndarray) -> float:
    """By how many degrees the fitted curve turns at a place: its tangents before and after; 0 within a cubic."""
    for before, after in zip(cubics, np.roll(cubics, -1, axis=0), strict=True):
        if np.hypot(*(after[0] - place)) < 1e-9:
            (x, y), (u, v) = before[3] - before[2], after[1] - after[0]
            return float(np.degrees(np.arctan2(x * v - y * u, x * u + y * v)))
    return 0.0


@pytest.mark.parametrize("times", [2.7, 3.0, 5.0])
def test_a_slight_corner_is_kept_if_it_turns_far_more_than_the_curve_about_it(times):
    points = arcs(times * STEP)
    cubics = fitted(points, 0.02)
    # Half a chord's turn on either side belongs to the arcs.
    assert turn_at(cubics, points[40]) == pytest.approx((times - 1) * STEP, abs=0.3)


@pytest.mark.parametrize("times", [1.0, 1.8, 2.3])
def test_a_curve_that_grows_tighter_has_no_corner_there(times):
    points = arcs(times * STEP)
    assert abs(turn_at(fitted(points, 0.02), points[40])) < 1e-6


@pytest.mark.parametrize("corner", [1.2, 3.6, 40.0, 120.0])
def test_the_fitted_curve_stays_within_the_tolerance_of_every_vertex(corner):
    points = arcs(corner)
    for tolerance in (0.005, 0.05):
        ring = shapely.LinearRing(flatten(fitted(points, tolerance), tolerance / 20))
        assert shapely.distance(shapely.points(points), ring).max() <= 1.1 * tolerance
