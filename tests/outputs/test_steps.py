"""The drawing of a step: what it sews is bold, on the piece, and the arrow runs the way it is sewn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from legible import crossed_texts, outside, overlapping_texts

from grading.drawing.marks import Arrow, Box, Dot, Line, Role, Text
from grading.drawing.system import HEIGHTS
from grading.outputs.steps import STEP, step_drawings


def marks(drawing, kind, role):
    return [mark for mark in drawing.marks if isinstance(mark, kind) and mark.role is role]


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_every_step_of_the_demo_is_drawn_legibly_in_its_place(runs, group):
    for size in (0, len(runs[group].sizes) - 1):
        for drawing in step_drawings(runs[group], size):
            assert outside(drawing, Box(0, 0, *STEP).grown(1e-6)) == []
            assert overlapping_texts(drawing) == []
            assert crossed_texts(drawing) == []
            assert {mark.height for mark in drawing.marks if isinstance(mark, Text)} <= set(HEIGHTS)


def test_both_sides_of_a_seam_are_bold_and_in_the_proportion_of_their_lengths(runs):
    run = runs["Women"]
    drawing = step_drawings(run, 2)[1]
    bold = marks(drawing, Line, Role.OUTLINE)
    assert len(bold) == 4
    lengths = sorted(float(np.hypot(*np.diff(mark.points, axis=0).T).sum()) for mark in bold)
    hole, foot = (
        sum(run.pieces[piece].edge_lengths(edge)[2] for edge in edges)
        for piece, edges in (("Trank", ["hole palm half", "hole index half"]), ("Thumb", ["foot", "foot'"]))
    )
    assert sum(lengths[2:]) / sum(lengths[:2]) == pytest.approx(foot / hole, rel=0.005)
    ticks = marks(drawing, Line, Role.NOTCH)
    assert len(ticks) == 2 * (3 + 6)  # three single ones and three pairs, on thumb and hole


def test_arrows_run_from_t_to_h(runs):
    drawing = step_drawings(runs["Women"], 2)[1]
    starts = marks(drawing, Dot, Role.GRADE_POINT)
    tips = marks(drawing, Arrow, Role.MEASURE)
    assert len(starts) == len(tips) == 4
    assert min(start.y for start in starts[:2]) > max(tip.end[1] for tip in tips[:2])


def test_the_side_is_sewn_in_one_go_from_raw_edge_to_raw_edge_with_a_cross_at_every_fold(runs):
    drawing = step_drawings(runs["Women"], 2)[2]
    bold = marks(drawing, Line, Role.OUTLINE)
    assert len(bold) == 2
    outline = max(marks(drawing, Line, Role.RULE), key=lambda mark: mark.box.height).box
    for mark in bold:
        assert (mark.box.bottom, mark.box.top) == pytest.approx((outline.bottom, outline.top), abs=0.01)
    crosses = [mark for mark in marks(drawing, Line, Role.RULE) if mark.box.width == pytest.approx(1.8)]
    assert len(crosses) == 2 * 4


def test_folds_are_shown_turned_and_others_are_not(runs):
    run = runs["Women"]
    making = tuple(replace(step, shows="cuff fold line") for step in run.block.making[:1])
    (one,) = step_drawings(replace(run, block=replace(run.block, making=making)), 2)
    assert len(marks(one, Line, Role.SHADE)) == len(marks(one, Arrow, Role.PILE)) == 1
    assert marks(one, Arrow, Role.PILE)[0].end[1] > marks(one, Arrow, Role.PILE)[0].start[1]  # up, on to the body
    assert len(marks(step_drawings(run, 2)[3], Line, Role.SHADE)) == 3


def test_a_step_that_shows_nothing_has_no_drawing(runs):
    run = runs["Women"]
    making = tuple(replace(step, shows="") for step in run.block.making)
    assert set(step_drawings(replace(run, block=replace(run.block, making=making)), 2)) == {None}


@pytest.mark.parametrize(("left", "right"), [(1, 0), (0, 1)])
def test_it_shows_and_names_the_hand_that_is_cut(runs, left, right):
    run = runs["Women"]
    pieces = tuple(replace(piece, cut_left=left, cut_right=right) for piece in run.block.pieces)
    run = replace(run, block=replace(run.block, pieces=pieces))
    hand = "left" if left else "right"
    said = [mark.text for one in step_drawings(run, 2) for mark in one.marks if isinstance(mark, Text)]
    assert f"outside up: {hand} hand" in said
    assert f"palm of the {hand} hand" in said
    whole = step_drawings(run, 2)[2]
    fold = max(marks(whole, Line, Role.MIRROR_LINE), key=lambda mark: mark.box.height).box.left
    letters = [mark.x for mark in whole.marks if isinstance(mark, Text) and mark.text in ("T", "H")]
    # Outside up, a left hand's palm half and so its hole lie at the right of the mirror line.
    assert all((x > fold) == (hand == "left") for x in letters)
