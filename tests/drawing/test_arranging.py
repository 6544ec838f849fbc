"""How pieces share sheets: never over one another, on as few tiles as a known case allows."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grading.drawing.arranging import BETWEEN, arranged, in_one
from grading.drawing.marks import Box, Drawing, Role, rectangle
from grading.drawing.pages import Titled
from grading.drawing.paper import LINE_ROOM, tiles_along

A4 = ((190.0, 240.0), (278.0, 156.0))


def piece(name: str, width: float, height: float) -> Titled:
    return Titled(name, Drawing((rectangle(Box(-7, 11, width - 7, height + 11), Role.CUT_LINE),)))


def tiles(group: Titled) -> int:
    box = group.drawing.box
    return min(
        tiles_along(box.width + 2 * LINE_ROOM, across) * tiles_along(box.height + 2 * LINE_ROOM, up)
        for across, up in A4
    )


sides = st.tuples(st.floats(20, 320), st.floats(20, 320))


@given(st.lists(sides, min_size=1, max_size=6))
@settings(max_examples=25)
def test_every_piece_lies_once_and_clear_of_the_others(shapes):
    pieces = [piece(str(i), *shape) for i, shape in enumerate(shapes)]
    groups = arranged(pieces, A4)
    laid = {name: box for group in groups for name, box in group.parts}
    assert sorted(laid) == sorted(one.title for one in pieces)
    for one, shape in zip(pieces, shapes, strict=True):
        box = laid[one.title]
        assert sorted((box.width, box.height)) == pytest.approx(sorted(shape))
    for group in groups:
        for (_, one), (_, other) in combinations(group.parts, 2):
            assert not one.grown(BETWEEN - 1e-6).overlaps(other)


@given(st.lists(sides, min_size=1, max_size=5))
@settings(max_examples=25)
def test_sharing_sheets_never_takes_more_than_one_piece_after_the_other(shapes):
    pieces = [piece(str(i), *shape) for i, shape in enumerate(shapes)]
    alone = sum(min(tiles(arranged([one], A4)[0]) for one in [one]) for one in pieces)
    assert sum(tiles(group) for group in arranged(pieces, A4)) <= alone


def test_small_pieces_share_a_sheet():
    (group,) = arranged([piece("one", 90, 130), piece("other", 90, 130)], A4)
    assert tiles(group) == 1


def test_a_piece_is_turned_where_that_saves_a_sheet():
    (group,) = arranged([piece("long", 230, 180)], A4)
    assert tiles(group) == 1
    assert group.drawing.box.height == pytest.approx(230)


def test_pieces_that_gain_nothing_by_sharing_keep_sheets_of_their_own():
    assert len(arranged([piece("one", 180, 230), piece("other", 180, 230)], A4)) == 2


def test_a_print_shops_sheet_takes_all_pieces_side_by_side():
    sheet = in_one([piece(str(i), 200, 250) for i in range(4)], 900)
    assert sheet.drawing.box.width == pytest.approx(4 * 200 + 3 * BETWEEN)
    wrapped = in_one([piece(str(i), 200, 250) for i in range(4)], 500)
    assert wrapped.drawing.box.width <= 500
