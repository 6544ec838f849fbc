"""Drawings as pictures of dots: in place, to scale, the same each time."""

from __future__ import annotations

import math
from io import BytesIO

import numpy as np
from PIL import Image

from grading.drawing.marks import Arrow, Box, Curve, Dot, Drawing, Mark, Role, Text, line
from grading.drawing.picture import png

FRAME = Box(0, 0, 40, 20)
DOTS = 10


def dots(*marks: Mark) -> np.ndarray:
    """How dark each dot is, 0 to 1, rows from the top."""
    data = png(Drawing(marks), FRAME, dots_per_mm=DOTS)
    image = Image.open(BytesIO(data))
    assert image.size == (400, 200)
    return 1 - np.asarray(image.convert("L")) / 255


def inked(picture: np.ndarray) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of what is dark, mm."""
    rows, columns = np.nonzero(picture > 0.5)
    return columns.min() / DOTS, 20 - (rows.max() + 1) / DOTS, (columns.max() + 1) / DOTS, 20 - rows.min() / DOTS


def test_a_line_lies_where_it_should_and_is_as_wide_as_its_style_says():
    picture = dots(line([(10, 5), (30, 5)], Role.CUT_LINE))  # 0.5 mm wide
    left, bottom, right, top = inked(picture)
    assert np.allclose([left, right], [10, 30], atol=0.15)
    assert np.allclose([bottom, top], [4.75, 5.25], atol=0.11)


def test_a_circle_of_bezier_curves_has_its_area_inside():
    k = 4 / 3 * (math.sqrt(2) - 1)
    quarter = np.array([(1, 0), (1, k), (k, 1), (0, 1)])
    turn = np.array([(0, 1), (-1, 0)])
    segments = np.array([quarter @ np.linalg.matrix_power(turn, n) for n in range(4)]) * 8 + (20, 10)
    picture = dots(Curve(segments, Role.CUT_LINE, closed=True))
    left, bottom, right, top = inked(picture)
    assert np.allclose([left, bottom, right, top], [11.75, 1.75, 28.25, 18.25], atol=0.15)
    ring = math.pi * (8.25**2 - 7.75**2)
    assert abs(picture.sum() / DOTS**2 - ring) < 0.06 * ring


def test_dashes_leave_out_what_their_pattern_leaves_out():
    solid = dots(line([(2, 10), (38, 10)], Role.RULE)).sum()
    dashed = dots(line([(2, 10), (38, 10)], Role.SEW_LINE))  # 3 on, 0.75 off
    on = np.count_nonzero(dashed.max(axis=0) > 0.1) / 360
    assert solid > 0
    assert 0.72 < on < 0.86


def test_text_begins_at_its_place_and_its_capitals_are_as_high_as_it_says():
    left, bottom, _, top = inked(dots(Text("H", 10, 5, height=6)))
    assert abs(bottom - 5) < 0.15
    assert abs(top - 11) < 0.15
    assert 10 < left < 11.5  # its own side bearing


def test_turned_text_stands_on_its_turned_baseline():
    left, bottom, right, top = inked(dots(Text("HH", 20, 4, height=5, angle=math.pi / 2)))
    assert abs(right - 20) < 0.2
    assert abs(left - 15) < 0.2
    assert bottom > 4
    assert top > 11


def test_a_label_covers_the_line_under_it():
    crossed = dots(line([(0, 10), (40, 10)], Role.CUT_LINE), Text("I", 20, 9, height=3, role=Role.LABEL_ON_LINE))
    assert crossed[100, 200:212].min() < 0.1  # beside the letter, on its patch
    assert crossed[100, 100] > 0.9


def test_arrows_and_dots_are_filled():
    picture = dots(Arrow((5, 10), (35, 10), Role.PILE, head=6), Dot(5, 15, radius=2))
    assert picture[100, 300] > 0.9  # in the head
    assert picture[50, 50] > 0.9


def test_the_same_drawing_gives_the_same_bytes():
    drawing = Drawing((Text("Größe ½", 3, 3), line([(0, 0), (9, 9)], Role.FOLD_LINE)))
    assert png(drawing, FRAME, dots_per_mm=9) == png(drawing, FRAME, dots_per_mm=9)
