"""Which hand a pattern is for, in all four cases of drawn face and marked face."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.drafting.scenario import demo_block
from grading.model.hands import HANDS, drawn_hand, is_reversed


@pytest.mark.parametrize("drawn_from", ["inside", "outside"])
@pytest.mark.parametrize(
    ("marked_on", "hand", "palm_on_the_right"),
    [("inside", "right", True), ("inside", "left", False), ("outside", "right", False), ("outside", "left", True)],
)
def test_fingers_up_the_palm_of_a_right_hand_is_on_the_right_from_the_inside_and_on_the_left_from_the_outside(
    drawn_from, marked_on, hand, palm_on_the_right
):
    # Common practice, no published source: put a hand on the table and look. Blocks are drawn palm half on +x.
    assert is_reversed(hand, drawn_from, marked_on) == (not palm_on_the_right)


@pytest.mark.parametrize(("face", "hand"), [("inside", "right"), ("outside", "left")])
def test_a_block_marked_on_the_face_it_is_drawn_from_is_used_as_drawn_for_one_hand(face, hand):
    assert drawn_hand(face) == hand
    assert [is_reversed(one, face, face) for one in HANDS] == [one != hand for one in HANDS]


@pytest.mark.parametrize("drawn_from", ["inside", "outside"])
@pytest.mark.parametrize("marked_on", ["inside", "outside"])
def test_left_and_right_come_from_one_pattern_reversed(drawn_from, marked_on):
    # Common practice, no published source.
    assert {is_reversed(hand, drawn_from, marked_on) for hand in HANDS} == {True, False}


@pytest.mark.parametrize(("left", "right", "shown"), [(1, 1, "left"), (0, 1, "right"), (1, 0, "left"), (0, 0, "left")])
def test_a_pair_is_shown_by_the_hand_that_lies_as_drawn_and_a_hand_that_is_cut_alone_by_itself(left, right, shown):
    """The demo's block is drawn from the inside and marked on the outside."""
    block = demo_block()
    pieces = tuple(replace(piece, cut_left=left, cut_right=right) for piece in block.pieces)
    assert str(replace(block, pieces=pieces).shown) == f"outside up: {shown} hand"
