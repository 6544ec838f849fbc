"""Flattening and curvature against closed forms and scipy's Bernstein polynomials."""

from __future__ import annotations

import numpy as np
import pytest
import scipy
import shapely
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from grading.geometry.beziers import curvatures, directions_at, points_at
from grading.geometry.flattening import extreme_bends, flatten

handles = arrays(float, (3, 4, 2), elements=st.integers(-60, 60).map(float))


def joined(beziers):
    """The same segments, each beginning where the one before ends."""
    beziers[1:, 0] = beziers[:-1, 3]
    return beziers


@given(beziers=handles.map(joined), tolerance=st.sampled_from([0.01, 0.1, 1.0]))
def test_no_point_of_a_curve_is_further_from_its_polyline_than_the_tolerance(beziers, tolerance):
    t = np.linspace(0, 1, 300)
    line = shapely.LineString(flatten(beziers, tolerance))
    for bezier in beziers:
        points = shapely.points(scipy.interpolate.BPoly(bezier[:, None], [0, 1])(t))
        assert shapely.distance(points, line).max() <= tolerance * (1 + 1e-5)


def test_flattening_keeps_the_ends_of_every_segment():
    beziers = joined(np.random.default_rng(3).uniform(-50, 50, (6, 4, 2)))
    line = {tuple(point) for point in flatten(beziers)}
    assert {tuple(point) for point in np.concatenate([beziers[:, 0], beziers[:, 3]])} <= line


def test_a_parabola_bends_most_at_its_vertex_by_the_inverse_of_its_parameter():
    # y = x² / 10 from x = −4 to 12 has the radius 5 at x = 0, a quarter along, and bends left.
    quadratic = np.array([[-4, 1.6], [4, -4.8], [12, 14.4]])
    cubic = np.array([quadratic[0], *(quadratic[[0, 2]] + 2 * quadratic[1]) / 3, quadratic[2]])[None]
    (bends,), (t,) = extreme_bends(cubic)
    assert bends.max() == pytest.approx(1 / 5, rel=1e-9)
    assert t[bends.argmax()] == pytest.approx(0.25, abs=1e-9)
    assert bends.min() > 0
    assert extreme_bends(cubic[:, ::-1])[0].min() == pytest.approx(-1 / 5, rel=1e-9)


@given(beziers=handles)
def test_the_tightest_bend_is_at_least_what_a_thousand_looks_find_on_a_curve_without_cusps(beziers):
    t = np.linspace(0, 1, 1001)
    for bezier in beziers:
        curve = scipy.interpolate.BPoly(bezier[:, None], [0, 1])
        (x1, y1), (x2, y2) = curve.derivative()(t).T, curve.derivative(2)(t).T
        speed = np.hypot(x1, y1)
        if speed.min() <= 0.01 * speed.max():
            continue
        looked = (x1 * y2 - y1 * x2) / speed**3
        for side in (1, -1):
            assert (side * extreme_bends(bezier[None])[0]).max() >= (side * looked).max() - 1e-6 * abs(looked).max()


def test_a_drawn_in_handle_still_has_a_direction_and_a_straight_segment_no_bend():
    drawn_in = np.array([[[0, 0], [0, 0], [3, 3], [6, 0]], [[0, 0], [1, 2], [2, 4], [3, 6]]], dtype=float)
    assert directions_at(drawn_in, np.zeros(2)) == pytest.approx(
        np.array([[0.5**0.5] * 2, [0.2**0.5, 0.8**0.5]]), abs=1e-5
    )
    assert curvatures(drawn_in[1], np.linspace(0, 1, 5)) == pytest.approx(0)
    assert points_at(drawn_in, np.array([1.0, 0.5])) == pytest.approx(np.array([[6, 0], [1.5, 3]]))
