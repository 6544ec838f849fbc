"""Places that are found free are free, and near to where they are wanted."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from grading.drawing.marks import Box, Role, line
from grading.drawing.rooms import CLEAR, Room

PIECE = shapely.Point(0, 0).buffer(60).difference(shapely.Point(25, 0).buffer(15))
FOLD = line([(-60, 20), (60, 20)], Role.FOLD_LINE)

near = st.tuples(st.floats(-60, 60), st.floats(-60, 60))


@given(st.lists(st.tuples(st.floats(2, 40), st.floats(2, 20), near), min_size=1, max_size=6))
def test_places_lie_inside_clear_of_edges_and_lines_and_off_one_another(wanted):
    room, taken = Room(PIECE, [FOLD]), []
    for width, height, where in wanted:
        place = room.take(width, height, where)
        if place is None:
            continue
        assert (place.width, place.height) == pytest.approx((width, height))
        here = shapely.box(*place)
        assert PIECE.buffer(-CLEAR).covers(here)
        assert here.distance(shapely.LineString(FOLD.points)) >= CLEAR
        assert not any(here.intersects(other) for other in taken)
        taken.append(here)


def test_the_nearest_place_is_taken():
    place = Room(PIECE, [FOLD]).take(6, 4, (-20, -20))
    assert place.centre == pytest.approx((-20, -20), abs=1.5)


def test_what_is_larger_than_the_piece_finds_no_place():
    assert Room(PIECE, [FOLD]).take(130, 4, (0, 0)) is None
    assert Room(PIECE, [FOLD]).take(50, 60, (0, 0)) is None
    assert Room(shapely.Polygon([(0, 0), (1, 0), (0, 1)]), []).take(1, 1, (0, 0)) is None


def test_the_middle_is_that_of_the_widest_stretch_between_lines():
    room = Room(shapely.box(0, 0, 100, 90), [line([(0, 60), (100, 60)], Role.FOLD_LINE)])
    assert room.middle == pytest.approx((50, 30), abs=0.5)
    assert Box(*shapely.box(0, 0, 100, 60).bounds).centre == (50, 30)
