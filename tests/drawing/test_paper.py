import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from grading.drawing.legibility import shape
from grading.drawing.marks import Box, Curve, Drawing, Role, line, rectangle
from grading.drawing.paper import MARGIN, OVERLAP, PAPERS, Plan, Printing, Tile, plan_tiles

lengths = st.floats(30, 900)
strokes = st.lists(
    st.lists(st.tuples(st.floats(0, 900), st.floats(0, 900)), min_size=2, max_size=4), min_size=1, max_size=5
)


def stroked(strokes: list[list[tuple[float, float]]]) -> Drawing:
    return Drawing(tuple(line(points, Role.CUT_LINE) for points in strokes))


def test_iso_papers_halve_into_the_next_and_a0_is_a_square_metre() -> None:
    # ISO 216: A0 is 1 m² with sides as 1 : √2; each next size is half the one before, sides rounded down to mm.
    long = 1000 * 2**0.25
    sides = [int(long / 2 ** (i / 2) + 0.2) for i in range(6)]
    assert (PAPERS["a3"].short, PAPERS["a3"].long) == (sides[4], sides[3]) == (297, 420)
    assert (PAPERS["a4"].short, PAPERS["a4"].long) == (sides[5], sides[4]) == (210, 297)


def test_letter_and_tabloid_are_whole_and_half_inches() -> None:
    # ANSI/ASME Y14.1: A is 8.5 × 11 in, B is 11 × 17 in.
    letter, tabloid = PAPERS["letter"], PAPERS["tabloid"]
    assert np.array([letter.short, letter.long, tabloid.short, tabloid.long]) / 25.4 == pytest.approx([8.5, 11, 11, 17])


@given(strokes, lengths, lengths)
@settings(max_examples=60)
def test_tiles_cover_every_mark_and_none_is_empty(
    strokes: list[list[tuple[float, float]]], width: float, height: float
) -> None:
    drawing = stroked(strokes)
    plan = plan_tiles(drawing, width, height)
    marks = [shape(mark) for mark in drawing.marks]
    cells = [shapely.box(*tile.cell) for tile in plan.tiles]
    assert all(shapely.intersects(cell, marks).any() for cell in cells)
    covered = shapely.union_all(cells).buffer(1e-6)
    assert shapely.covers(covered, marks).all()
    assert all(tile.area.contains(tile.cell) for tile in plan.tiles)


@given(strokes, lengths, lengths)
@settings(max_examples=30)
def test_neighbouring_tiles_share_the_overlap_and_their_cells_meet(
    strokes: list[list[tuple[float, float]]], width: float, height: float
) -> None:
    tiles = {(tile.row, tile.column): tile for tile in plan_tiles(stroked(strokes), width, height).tiles}
    for (row, column), tile in tiles.items():
        if right := tiles.get((row, column + 1)):
            assert tile.area.right - right.area.left == pytest.approx(OVERLAP)
            assert tile.cell.right == pytest.approx(right.cell.left)
        if below := tiles.get((row + 1, column)):
            assert below.area.top - tile.area.bottom == pytest.approx(OVERLAP)
            assert tile.cell.bottom == pytest.approx(below.cell.top)


@pytest.mark.parametrize(("across", "columns"), [(98, 1), (98.1, 2), (188, 2), (188.1, 3)])
def test_a_tile_is_added_only_when_the_drawing_and_its_line_width_need_it(across: float, columns: int) -> None:
    # Tiles of 100 mm that overlap by 10 reach over 100, 190, 280 mm; 1 mm at each side is kept for lines.
    plan = plan_tiles(stroked([[(0, 0), (across, 20)]]), 100, 100)
    assert (plan.rows, plan.columns) == (1, columns)


def test_tiles_that_show_nothing_are_left_out() -> None:
    frame = Drawing((rectangle(Box(0, 0, 600, 600), Role.CUT_LINE),))
    plan = plan_tiles(frame, 130, 130)
    assert (plan.rows, plan.columns) == (5, 5)
    assert len(plan.tiles) == 16


def test_the_grid_moves_to_where_fewest_tiles_are_needed() -> None:
    # Three tiles of 100 mm centred over 200 mm have their joins at 55 and 145 mm: between the first two marks.
    drawing = stroked([[(x, 0), (x, 50)] for x in (0, 60, 200)])
    plan = plan_tiles(drawing, 100, 100)
    assert plan.columns == 3
    assert [tile.name for tile in plan.tiles] == ["A1", "A3"]


def test_a_curve_that_only_bulges_into_a_tile_is_not_lost() -> None:
    bulge = Curve(np.array([[(0, 0), (140, 40), (140, 60), (0, 100)]], dtype=float), Role.SEW_LINE)
    plan = plan_tiles(Drawing((bulge,)), 60, 200)
    reached = max(tile.cell.right for tile in plan.tiles)
    assert bulge.box.right == pytest.approx(105)
    assert reached >= 105


def test_rows_are_lettered_from_the_top_and_columns_numbered_from_the_left() -> None:
    plan: Plan = plan_tiles(Drawing((rectangle(Box(0, 0, 150, 250), Role.CUT_LINE),)), 100, 100)
    names = {tile.name: tile for tile in plan.tiles}
    assert sorted(names) == ["A1", "A2", "B1", "B2", "C1", "C2"]
    assert names["A1"].area.top > names["C1"].area.top
    assert names["A1"].area.left < names["A2"].area.left


def test_rows_beyond_the_alphabet_go_on_with_two_letters() -> None:
    box = Box(0, 0, 1, 1)
    assert [Tile(row, 0, box, box).name for row in (25, 26, 51, 52, 701, 702)] == [
        "Z1", "AA1", "AZ1", "BA1", "ZZ1", "AAA1",
    ]  # fmt: skip


def test_a_tile_no_larger_than_its_overlap_is_refused() -> None:
    with pytest.raises(ValueError, match="overlap"):
        plan_tiles(stroked([[(0, 0), (50, 50)]]), 10, 100)


def test_an_upright_and_a_lying_sheet_keep_the_margin() -> None:
    printing = Printing(PAPERS["a4"])
    assert printing.upright().printable == (MARGIN, MARGIN, 210 - MARGIN, 297 - MARGIN)
    assert printing.lying().printable == (MARGIN, MARGIN, 297 - MARGIN, 210 - MARGIN)


@given(st.floats(0.9, 1.1), st.floats(0.9, 1.1))
@settings(max_examples=30)
def test_what_is_printable_stays_on_the_paper_of_a_printer_that_scales(short: float, long: float) -> None:
    # The printer shrinks or grows the page about its middle by 1 / correction; a sheet is in mm as they come out.
    sheet = Printing(PAPERS["a4"], short, long).upright()
    across = 210 / 2 + np.array([sheet.printable.left, sheet.printable.right]) - sheet.width / 2
    up = 297 / 2 + np.array([sheet.printable.bottom, sheet.printable.top]) - sheet.height / 2
    assert min(across[0], 210 - across[1], up[0], 297 - up[1]) >= MARGIN - 1e-9


@pytest.mark.parametrize("correction", [0.97, 1.0, 1.03])
def test_a_sheet_cut_to_fit_has_just_the_room_asked_for(correction: float) -> None:
    sheet = Printing(PAPERS["sheet"], correction, correction).around(800, 300)
    assert (sheet.printable.width, sheet.printable.height) == pytest.approx((800, 300))


def test_no_page_is_larger_than_a_pdf_page_may_be() -> None:
    sheet = Printing(PAPERS["sheet"]).around(9000, 300)
    assert sheet.width / 25.4 * 72 == pytest.approx(14400)  # ISO 32000-1, Annex C
