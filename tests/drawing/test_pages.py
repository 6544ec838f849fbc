"""Sheets with their title block and check bars: true lengths, everything inside, nothing over anything."""

from __future__ import annotations

import numpy as np
import pytest
from legible import crossed_texts, outside, overlapping_texts

from grading.drawing.marks import Drawing, Line, Role, Text
from grading.drawing.pages import PageContent, TitleBlock, frame_around, frames, numbered
from grading.drawing.paper import PAPERS, Printing

TITLE = TitleBlock(
    "pattern",
    "Winter mitten",
    "Women",
    "Trank, Thumb",
    "W3",
    "right hand",
    "outside",
    date="2025-10-01",
    run="1f3a9c2b7d",
)
LONG = TitleBlock(
    "pattern", "Winter mitten for the fair, with a very long name", "Women", size="10 to 11 years", run="1"
)
WORDS = TitleBlock(
    "card", "Fair mitten", "Order 12, left hand", size="made to measure, with the thumb let out", run="1"
)
PAPER = ["a4", "a3", "letter", "tabloid"]


def texts(drawing: Drawing) -> list[str]:
    return [mark.text for mark in drawing.marks if isinstance(mark, Text)]


@pytest.mark.parametrize("title", [TITLE, LONG, WORDS])
@pytest.mark.parametrize("paper", PAPER)
def test_block_and_bars_lie_inside_the_sheet_off_the_area_and_off_one_another(paper, title):
    for frame in frames(Printing(PAPERS[paper]), title):
        drawing = frame.furniture(1, 88)
        assert [mark for mark in drawing.marks if not frame.block.contains(mark.box)] == [
            mark for mark in drawing.marks if mark.box.right < frame.block.left or mark.box.bottom > frame.block.top
        ]
        assert outside(drawing, frame.sheet.printable.grown(1e-6)) == []
        assert not [mark for mark in drawing.marks if mark.box.overlaps(frame.area)]
        assert overlapping_texts(drawing) == []
        assert crossed_texts(drawing) == []


def test_the_title_block_states_its_fields_and_the_number_of_the_sheet():
    (page, _) = numbered([PageContent(frames(Printing(PAPERS["a4"]), TITLE)[0])] * 2)
    said = " ".join(texts(page.drawing))
    for words in ("Winter mitten · Women", "Trank, Thumb", "right hand", "outside up", "2025-10-01", "1f3a9c2b7d"):
        assert words in said
    assert "sheet 1 of 2" in said
    assert {mark.height for mark in page.drawing.marks if isinstance(mark, Text) and mark.text == "W3"} == {7.0}


def test_a_blank_date_is_a_line_to_write_on():
    drawing = frames(Printing(PAPERS["a4"]), LONG)[0].furniture(1, 1)
    assert any("date ____" in text for text in texts(drawing))


@pytest.mark.parametrize("paper", PAPER)
def test_bars_are_100_mm_up_and_across_and_4_in_on_the_other_side(paper):
    # 1 in is 25.4 mm (NIST SP 811).
    for frame in frames(Printing(PAPERS[paper]), TITLE):
        bars = [
            mark.points
            for mark in frame.furniture(1, 1).marks
            if isinstance(mark, Line) and mark.role is Role.CHECK_BAR
        ]
        xs = {round(float(x), 6) for bar in bars for x in bar[:, 0]}
        ys = {round(float(y), 6) for bar in bars for y in bar[:, 1]}
        gaps = {round(b - a, 6) for a in xs for b in xs} & {100.0, 101.6}
        assert gaps == {100.0, 101.6}
        assert 100.0 in {round(b - a, 6) for a in ys for b in ys}


def test_a_sheet_cut_to_fit_has_the_room_asked_for():
    frame = frame_around(Printing(PAPERS["sheet"]), TITLE, 600, 400)
    assert np.all(np.array([frame.area.width, frame.area.height]) >= [600 - 1e-6, 400 - 1e-6])


def test_another_title_on_the_same_sheet_leaves_the_area_as_it_is():
    frame = frames(Printing(PAPERS["a4"]), LONG)[0]
    assert frame.entitled(TITLE).area == frame.area
