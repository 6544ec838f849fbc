"""Joints: sheets that reach, in the right order, and clear of whatever a joint could spoil."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.drawing.joints import CLEAR, LAP, Parting, partings
from grading.drawing.marks import Box, Dot, Drawing, Role, line, rectangle

BESIDE = 4.5


def piece(width: float, height: float, *others) -> Drawing:
    return Drawing((rectangle(Box(0, 0, width, height), Role.CUT_LINE), *others))


@given(st.floats(100, 900), st.floats(100, 900))
def test_every_cell_goes_on_its_sheet_with_what_goes_under_the_next_one(width, height):
    drawing = piece(width, height)
    for parting in partings(drawing, drawing.box, 190, 265, BESIDE):
        for cell in parting.cells:
            shown = parting.shown(cell)
            joints = (cell.column > 0) + (cell.column < parting.cells[-1].column)
            assert shown.width + BESIDE * joints <= 190 + 1e-6
            joints = (cell.row > 0) + (cell.row < parting.cells[-1].row)
            assert shown.height + BESIDE * joints <= 265 + 1e-6


@given(st.floats(200, 900), st.floats(100, 900))
def test_cells_cover_the_drawing_and_share_only_their_edges(width, height):
    drawing = piece(width, height)
    for parting in partings(drawing, drawing.box, 190, 265, BESIDE):
        assert sum(cell.box.width * cell.box.height for cell in parting.cells) == pytest.approx(width * height)
        for cell in parting.cells:
            right = [other for other in parting.cells if (other.row, other.column) == (cell.row, cell.column + 1)]
            assert all(parting.shown(cell).right == pytest.approx(min(other.box.left + LAP, width)) for other in right)


@given(st.lists(st.floats(30, 260), min_size=1, max_size=4), st.floats(300, 330))
def test_a_joint_keeps_clear_of_lines_along_it_of_holes_and_of_marks(at, width):
    marks = [Dot(x, 100, Role.PIERCING) for x in at[1:]]
    drawing = piece(width, 200, line([(at[0], 0), (at[0], 200)], Role.MIRROR_LINE), *marks)
    for parting in partings(drawing, drawing.box, 190, 265, BESIDE):
        for joint in parting.across:
            free = [x for x in np.arange(width - 180, 179, 0.5) if all(abs(x - one) > CLEAR + 1 for one in at)]
            assert min(abs(joint - one) for one in at) >= CLEAR - 1e-6 or not free


def test_a_line_square_to_the_joint_may_be_crossed():
    drawing = piece(300, 200, line([(0, 50), (300, 50)], Role.FOLD_LINE))
    assert all(len(parting.across) == 1 for parting in partings(drawing, drawing.box, 190, 265, BESIDE))


def test_a_cut_out_is_never_parted():
    hole = rectangle(Box(100, 60, 180, 140), Role.CUT_LINE)
    drawing = piece(320, 200, hole)
    found = partings(drawing, drawing.box, 230, 265, BESIDE)
    assert found
    for parting in found:
        for joint in parting.across:
            assert not 100 - CLEAR < joint < 180 + CLEAR


def test_what_fits_is_not_parted():
    drawing = piece(180, 250)
    (parting,) = partings(drawing, drawing.box, 190, 265, BESIDE)
    assert parting.whole


def test_what_lies_right_on_a_joint_is_on_one_sheet_alone_and_what_lies_beyond_the_drawing_on_the_nearest():
    parting = Parting(Box(0, 0, 200, 300), across=(100.0,), up=(200.0, 100.0))
    for x in (-5.0, 0.0, 100.0, 200.0, 205.0):
        for y in (-5.0, 0.0, 100.0, 200.0, 300.0, 305.0):
            around = Box(x - 1, y - 1, x + 1, y + 1)
            (cell,) = [cell for cell in parting.cells if parting.holds(cell, around)]
            assert cell.column == (x >= 100)
            assert cell.row == (2 if y <= 100 else 1 if y <= 200 else 0)
