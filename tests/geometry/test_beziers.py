"""Arc lengths against scipy's quadrature and closed forms."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import scipy

from grading.geometry.beziers import NODES, arc_lengths, curvatures, evaluate, partial_lengths, velocities_at
from grading.geometry.splines import handle_matrix


def circle(points: int, radius: float = 50.0) -> np.ndarray:
    angle = np.arange(points) * 2 * np.pi / points
    ring = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    return handle_matrix(ring, np.zeros(points, dtype=bool)) @ ring


def test_length_of_a_smooth_loop_is_scipys_quadrature_of_scipys_spline():
    points = np.array([[0, 0], [30, -8], [45, 30], [20, 60], [-15, 35.0]])
    knots = np.concatenate([[0], np.cumsum(np.hypot(*(np.roll(points, -1, axis=0) - points).T))])
    velocity = scipy.interpolate.CubicSpline(knots, np.vstack([points, points[:1]]), bc_type="periodic").derivative()
    expected = [
        scipy.integrate.quad(lambda t: np.hypot(*velocity(t)), a, b, epsabs=1e-11, epsrel=1e-13)[0]
        for a, b in pairwise(knots)
    ]
    ours = arc_lengths(handle_matrix(points, np.zeros(5, dtype=bool)) @ points)
    assert ours == pytest.approx(expected, abs=1e-6)
    assert ours.sum() == pytest.approx(sum(expected), rel=1e-8)


def test_a_circles_error_falls_at_least_fourteenfold_for_each_doubling_of_its_points():
    errors = [abs(arc_lengths(circle(n)).sum() - 2 * np.pi * 50) for n in (8, 16, 32, 64)]
    for coarse, fine in pairwise(errors):
        assert coarse / fine > 14


def test_length_of_an_ellipse_nears_its_closed_form():
    angle = np.arange(64) * np.pi / 32
    ring = np.column_stack([60 * np.cos(angle), 40 * np.sin(angle)])
    ours = arc_lengths(handle_matrix(ring, np.zeros(64, dtype=bool)) @ ring).sum()
    assert ours == pytest.approx(4 * 60 * scipy.special.ellipe(1 - (40 / 60) ** 2), abs=1e-3)


def test_a_parabolas_length_is_its_closed_form():
    # y = x² from 0 to 1, as a cubic: length √5/2 + asinh(2)/4
    handles = np.array([[0, 0], [1 / 3, 0], [2 / 3, 1 / 3], [1, 1.0]])
    assert arc_lengths(handles) == pytest.approx(np.sqrt(5) / 2 + np.arcsinh(2) / 4, abs=1e-8)


def test_part_of_a_segment_is_as_long_as_that_part_cut_out():
    handles = np.array([[0, 0], [10, 20], [30, 25], [40, 0.0]])
    t = 0.3
    one, two, three = ((1 - t) * handles[i] + t * handles[i + 1] for i in range(3))
    four, five = (1 - t) * one + t * two, (1 - t) * two + t * three
    cut = np.array([handles[0], one, four, (1 - t) * four + t * five])
    assert partial_lengths(handles, np.array(t)) == pytest.approx(arc_lengths(cut), abs=1e-7)


def test_derivative_is_the_difference_quotient_of_the_curve():
    handles = np.array([[0, 0], [10, 20], [30, 25], [40, 0.0]])
    step = 1e-6
    t = np.array([0.2, 0.7])
    quotient = (evaluate(handles, t + step) - evaluate(handles, t - step)) / (2 * step)
    assert velocities_at(handles[..., None, :, :], t) == pytest.approx(quotient, rel=1e-6)


@pytest.mark.parametrize("turn", [0.0, 2.0])
def test_a_parabolas_curvature_at_the_quadrature_nodes_is_its_closed_form(turn):
    long, radius = 60.0, 40.0  # y = x² / 2R, from x = 0
    high = long * long / (2 * radius)
    parabola = np.array([(0, 0), (long / 3, 0), (2 * long / 3, high / 3), (long, high)]) + np.array([7, -3])
    c, s = np.cos(turn), np.sin(turn)
    x = long * (np.polynomial.legendre.leggauss(8)[0] + 1) / 2
    assert curvatures(parabola @ np.array([(c, s), (-s, c)]), NODES) == pytest.approx(
        1 / radius / (1 + (x / radius) ** 2) ** 1.5
    )
