"""Pages of several drawings that belong together: the map, the list of what is where, and strips that stay apart."""

from __future__ import annotations

import pytest

from grading.drawing.legibility import crossed_texts, outside, overlapping_texts
from grading.drawing.marks import Box, Drawing, Role, Text, rectangle
from grading.drawing.pages import Titled, Wording, tiled_set
from grading.drawing.paper import PAPERS, Printing

WORDING = Wording("Winter mitten · Women · size W3 · cutting patterns", ("run 1f3a9c · scale 1:1", "Blades can hurt."))


def titled(*parts: tuple[str, Box]) -> Titled:
    drawing = Drawing(tuple(rectangle(box, Role.CUT_LINE) for _, box in parts))
    return Titled(", ".join(name for name, _ in parts), drawing, parts)


TRANK = titled(("Trank", Box(0, 0, 230, 300)))
SMALL = titled(("Thumb", Box(0, 0, 90, 120)), ("Gusset", Box(95, 0, 160, 100)))
LONG = titled(("Cuff", Box(0, 0, 100, 900)), ("Thumb", Box(0, 910, 90, 1020)))


def said(page) -> list[str]:
    return [mark.text for mark in page.drawing.marks if isinstance(mark, Text)]


def test_the_list_says_which_pages_show_what():
    pages = tiled_set([TRANK, SMALL], Printing(PAPERS["a4"]), WORDING)
    assert len(pages) == 3
    for page in pages:
        assert {"1–2: Trank", "3: Thumb, Gusset"} <= set(said(page))


def test_parts_are_listed_on_the_pages_that_show_something_of_them():
    pages = tiled_set([LONG], Printing(PAPERS["a4"]), WORDING)
    first = {line for line in said(pages[0]) if ":" in line}
    # Rows are lettered from the top: the thumb, which lies highest, is on the first page only.
    assert first == {"1: Cuff, Thumb", f"2–{len(pages)}: Cuff"}


def test_a_page_says_its_tile_where_there_are_several_and_its_number_always():
    pages = tiled_set([TRANK, SMALL], Printing(PAPERS["a4"]), WORDING)
    assert said(pages[1])[0] == "Tile B1 of 2 × 1 · page 2 of 3"
    assert said(pages[2])[0] == "page 3 of 3"


def test_a_single_page_has_no_map():
    (page,) = tiled_set([SMALL], Printing(PAPERS["a4"]), WORDING)
    assert page.drawing.marks == ()


@pytest.mark.parametrize("paper", ["a4", "a3", "letter", "tabloid"])
def test_map_and_list_keep_to_their_place_and_off_one_another(paper):
    for page in tiled_set([TRANK, SMALL, TRANK, LONG], Printing(PAPERS[paper]), WORDING):
        drawing, furniture = page.placed
        lines = (Role.TRIM_LINE, Role.REGISTRATION)
        strips = Drawing((*furniture.drawing.marks, *(mark for mark in page.drawing.marks if mark.role not in lines)))
        assert outside(strips, page.sheet.printable) == []
        assert not [mark for mark in strips.marks if mark.box.overlaps(drawing.window)]
        assert overlapping_texts(strips) == []
        cells = (Role.MAP_TILE, Role.MAP_HERE)
        assert crossed_texts(Drawing(tuple(mark for mark in strips.marks if mark.role not in cells))) == []
