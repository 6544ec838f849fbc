"""Splines against scipy's CubicSpline with the same end condition."""

from __future__ import annotations

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from grading.geometry.beziers import evaluate
from grading.geometry.splines import handle_matrix, periodic_slopes, span_slopes

widths = st.lists(st.floats(0.5, 20), min_size=1, max_size=12).map(np.array)


@given(widths, st.randoms(use_true_random=False))
def test_span_slopes_are_scipys_not_a_knot_slopes(gaps, random):
    knots = np.concatenate([[0], np.cumsum(gaps)])
    values = np.array([random.uniform(-100, 100) for _ in knots])
    expected = scipy.interpolate.CubicSpline(knots, values, bc_type="not-a-knot")(knots, 1)
    assert span_slopes(gaps) @ values == pytest.approx(expected, rel=1e-8, abs=1e-8)


@given(st.lists(st.floats(0.5, 20), min_size=3, max_size=12).map(np.array), st.randoms(use_true_random=False))
def test_periodic_slopes_are_scipys_periodic_slopes(gaps, random):
    knots = np.concatenate([[0], np.cumsum(gaps)])
    values = np.array([random.uniform(-100, 100) for _ in gaps])
    expected = scipy.interpolate.CubicSpline(knots, [*values, values[0]], bc_type="periodic")(knots[:-1], 1)
    assert periodic_slopes(gaps) @ values == pytest.approx(expected, rel=1e-8, abs=1e-8)


def test_a_loop_follows_scipys_spline_between_its_points_too():
    points = np.array([[0, 0], [30, 5], [50, 40], [20, 60], [-10, 45.0]])
    turns = np.array([True, False, False, True, False])
    curve = evaluate(handle_matrix(points, turns) @ points, np.linspace(0, 1, 11))
    span = points[[0, 1, 2, 3]]
    knots = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(span, axis=0).T))])
    spline = scipy.interpolate.CubicSpline(knots, span, bc_type="not-a-knot")
    for segment in range(3):
        at = np.linspace(knots[segment], knots[segment + 1], 11)
        assert curve[segment] == pytest.approx(spline(at), abs=1e-9)


def test_two_points_are_joined_by_a_straight_line_and_three_by_a_parabola():
    points = np.array([[0, 0], [10, 0], [20, 5], [10, 10.0]])
    curve = evaluate(handle_matrix(points, np.array([True, True, False, True])) @ points, np.linspace(0, 1, 5))
    assert curve[0] == pytest.approx(np.column_stack([np.linspace(0, 10, 5), np.zeros(5)]))
    chord = np.hypot(10, 5)
    parabola = np.polyfit([0, chord, 2 * chord], points[1:], 2)
    at = np.linspace(0, 2 * chord, 9)[:, None]
    expected = parabola[0] * at**2 + parabola[1] * at + parabola[2]
    assert np.concatenate([curve[1], curve[2][1:]]) == pytest.approx(expected)


def test_a_loop_with_one_corner_is_one_span_round_to_itself():
    points = np.array([[0, 0], [40, 5], [70, 50], [10, 30.0]])
    handles = handle_matrix(points, np.array([True, False, False, False])) @ points
    tangent_in, tangent_out = handles[3, 3] - handles[3, 2], handles[0, 1] - handles[0, 0]
    assert np.cross(np.append(tangent_in, 0), np.append(tangent_out, 0))[2] != pytest.approx(0)
    for before, after in ((0, 1), (1, 2), (2, 3)):
        leaving = np.hypot(*(points[before + 1] - points[before]))
        arriving = np.hypot(*(np.roll(points, -1, axis=0)[after] - points[after]))
        assert (handles[before, 3] - handles[before, 2]) / leaving == pytest.approx(
            (handles[after, 1] - handles[after, 0]) / arriving
        )


def test_end_points_of_segments_are_the_points_themselves_to_the_bit():
    points = np.random.default_rng(5).uniform(-100, 100, (7, 2))
    handles = np.einsum("gbp,pc->gbc", handle_matrix(points, np.zeros(7, dtype=bool)), points)
    assert (handles[:, 0] == points).all()
    assert (handles[:, 3] == np.roll(points, -1, axis=0)).all()
