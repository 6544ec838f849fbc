"""Things laid on sheets: all of them, once, inside, clear of one another, on few sheets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.drawing.laying import BETWEEN, Thing, in_one, laid
from grading.drawing.marks import Box, Drawing, Role, rectangle

UPRIGHT, LYING = (191.0, 266.0), (278.0, 179.0)


def thing(width: float, height: float) -> Thing:
    return Thing.piece(f"{width:g} × {height:g}", Drawing((rectangle(Box(0, 0, width, height), Role.CUT_LINE),)))


sides = st.tuples(st.floats(20, 320), st.floats(20, 320))


@given(st.lists(sides, min_size=1, max_size=4))
def test_everything_lies_once_inside_its_sheet_and_clear_of_the_rest(found):
    things = [thing(*one) for one in found]
    made = laid(things, UPRIGHT, LYING)
    cells = [(lay.thing, lay.cell) for sheet in made.sheets for lay in sheet]
    assert len(cells) == len(set(cells))
    assert {i for i, _ in cells} == set(range(len(things)))
    for lying, sheet in zip(made.lying, made.sheets, strict=True):
        area = Box(0, 0, *(LYING if lying else UPRIGHT)).grown(1e-6)
        for number, lay in enumerate(sheet):
            assert area.contains(lay.place)
            for other in sheet[:number]:
                assert not lay.place.grown(BETWEEN - 1e-6).overlaps(other.place)


def test_what_two_sheets_need_and_a_small_piece_beside_it_take_two():
    made = laid([thing(240, 255), thing(100, 120), thing(60, 40)], UPRIGHT, LYING)
    assert len(made.sheets) == 2


def test_a_thing_that_fits_no_sheet_is_refused():
    with pytest.raises(ValueError, match="goes on no sheet"):
        laid([Thing("table", (thing(400, 50).forms[0],))], UPRIGHT, LYING)


def test_a_sheet_cut_to_fit_holds_everything():
    made, width, height = in_one([thing(240, 255), thing(100, 120), thing(300, 90)], 850)
    (sheet,) = made.sheets
    assert len(sheet) == 3
    assert all(Box(0, 0, width, height).grown(1e-6).contains(lay.place) for lay in sheet)
