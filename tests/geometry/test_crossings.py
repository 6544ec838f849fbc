"""Widths at a height, against shapely's intersection with a finely drawn outline."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from grading.geometry.beziers import evaluate
from grading.geometry.crossings import extent_at_height
from grading.geometry.splines import handle_matrix


def blob(radii: list[float]) -> np.ndarray:
    angle = np.arange(len(radii)) * 2 * np.pi / len(radii)
    points = np.array(radii)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    return handle_matrix(points, np.zeros(len(radii), dtype=bool)) @ points


@given(st.lists(st.floats(20, 40), min_size=6, max_size=12), st.floats(-15, 15))
def test_extent_is_that_of_shapelys_cut_through_the_outline(radii, height):
    handles = blob(radii)
    outline = Polygon(evaluate(handles, np.linspace(0, 1, 200)[:-1]).reshape(-1, 2))
    cut = outline.intersection(LineString([(-200, height), (200, height)])).bounds
    assert extent_at_height(handles[None], np.array([height]))[0] == pytest.approx([cut[0], cut[2]], abs=0.02)


def test_height_of_a_joint_between_segments_finds_the_joint():
    square = np.array([[0, 0], [10, 0], [10, 5], [10, 10], [0, 10], [0, 5.0]])
    handles = handle_matrix(square, np.array([True, True, False, True, True, False])) @ square
    assert extent_at_height(handles[None], np.array([5.0]))[0] == pytest.approx([0, 10])


def test_height_that_is_not_reached_gives_no_width():
    assert np.isnan(extent_at_height(blob([30] * 8)[None], np.array([31.0]))).all()


def test_height_that_only_touches_the_top_gives_that_point():
    arch = np.array([[-10, 0], [0, 10], [10, 0], [0, -1.0]])
    handles = handle_matrix(arch, np.array([True, False, True, False])) @ arch
    assert extent_at_height(handles[None], np.array([10.0]))[0] == pytest.approx([0, 0], abs=1e-4)


def test_each_size_is_cut_at_its_own_height():
    handles = np.stack([blob([30] * 8), blob([40] * 8)])
    extent = extent_at_height(handles, np.array([0.0, 0.0]))
    assert extent == pytest.approx(np.array([[-30, 30], [-40, 40]]))


def test_several_heights_at_once_give_what_each_gives_alone():
    handles = np.stack([blob([30, 25, 33, 28, 30, 26]), blob([40, 35, 44, 38, 41, 36])])
    heights = np.array([[0.0, 5.0], [-12.0, 20.0], [31.0, 50.0]])
    alone = np.stack([extent_at_height(handles, row) for row in heights])
    assert extent_at_height(handles, heights) == pytest.approx(alone, nan_ok=True)


@given(st.lists(st.floats(-50, 50), min_size=4, max_size=4), st.floats(1e-3, 0.2))
def test_both_crossings_just_under_a_peak_are_numpys_roots(y, below):
    power = np.array([[-1, 3, -3, 1], [3, -6, 3, 0], [-3, 3, 0, 0], [1, 0, 0, 0]]) @ y  # highest first
    turning = [t.real for t in np.roots(np.polyder(power)) if abs(t.imag) < 1e-12 and 0.05 < t.real < 0.95]
    assume(turning and np.ptp(y) > 1)
    height = max(np.polyval(power, turning)) - below
    roots = [t.real for t in np.roots(power - [0, 0, 0, height]) if abs(t.imag) < 1e-9 and 1e-6 < t.real < 1 - 1e-6]
    assume(len(roots) > 1 and np.abs(np.diff(np.sort(roots))).min() > 1e-3)
    assume(min(abs(y[0] - height), abs(y[3] - height)) > 1e-6)
    segment = np.column_stack([np.arange(4) / 3, y])  # x is the parameter
    assert extent_at_height(segment[None, None], np.array([height]))[0] == pytest.approx(
        [min(roots), max(roots)], abs=1e-6
    )
