"""The one card of a customer whose two hands differ: both side by side, each with its own figures."""

from __future__ import annotations

from io import BytesIO

import pytest
from legible import crossed_texts, outside, overlapping_texts
from pypdf import PdfReader

from grading.drafting.one_hand import one_pair
from grading.drawing.marks import Curve, Role, Text
from grading.drawing.pages import PlainFrame, TitleBlock, numbered
from grading.drawing.paper import PAPERS, Printing
from grading.engine.graded import GradedGroup
from grading.model.measured import Hands
from grading.outputs.cards import card
from grading.outputs.pair_card import pair_card, pair_sheet
from grading.outputs.size_sheet import PICTURE
from grading.readings.measures import measured
from grading.units import MM_PER

#: How finely a figure is printed, in its unit.
STEP = {"mm": 0.1, "cm": 0.01, "in": 1 / 16}


@pytest.fixture(scope="module", params=["Women", "Children"])
def pair(request, runs):
    stock = GradedGroup(runs[request.param], "0", (), (), ())
    girth = float(stock.run.table.values[0, 1])
    hands, _ = one_pair(Hands({"fist girth": girth + 3}, {"fist girth": girth - 4}), stock, "Order 12")
    return [one.graded.run for one in hands]


def sheet_of(pair, unit: str = "mm"):
    return pair_sheet(*pair, "Order 12", run_id="1f3a9c", unit=unit)


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_each_measure_has_the_figure_of_both_hands_and_what_passes_of_each(pair, unit):
    content, found = sheet_of(pair, unit), [measured(run) for run in pair]
    assert len(content.measures.rows) == len(found[0].measures)
    for number, row in enumerate(content.measures.rows):
        for figure, of_hand in zip(row.figures, found, strict=True):
            mm = float(of_hand.values[number, 0])
            assert figure * float(MM_PER[unit]) == pytest.approx(mm, abs=STEP[unit] / 2 * float(MM_PER[unit]) + 1e-6)
            if unit == "in":
                assert f"{mm / 25.4:.2f}" in row.text[: row.text.index(")")]
            else:
                measure = of_hand.measures[number]
                least, most = (float(words) for words in row.below[found.index(of_hand)].split("–"))
                assert figure - least == pytest.approx(measure.tolerance_minus / float(MM_PER[unit]), abs=1e-6)
                assert most - figure == pytest.approx(measure.tolerance_plus / float(MM_PER[unit]), abs=1e-6)
    assert content.measures.headings[2:4] == ("left hand", "right hand")
    assert content.measures.rows[0].figures[0] > content.measures.rows[0].figures[1]


def test_a_piece_of_each_hand_is_cut_by_its_own_pattern(pair):
    cut = sheet_of(pair).cut
    assert [row.name for row in cut.rows] == [*pair[0].pieces]
    assert {row.figures for row in cut.rows} == {(1, 1)}
    assert cut.headings[2:4] == ("left", "right")
    assert "own pattern" in cut.headings[5]


def test_the_pictures_show_a_left_hand_on_the_left_and_a_right_hand_on_the_right_at_one_scale(pair):
    drawing = sheet_of(pair).picture(PICTURE[1])
    told = sorted((mark.x, mark.text) for mark in drawing.marks if isinstance(mark, Text) and " up: " in mark.text)
    (_, left), (_, right) = told
    assert "left hand" in left
    assert "right hand" in right
    assert left.split("·")[1] == right.split("·")[1]
    middle = PICTURE[0] / 2
    tranks = [mark.box for mark in drawing.marks if isinstance(mark, Curve) and mark.role is Role.OUTLINE]
    widest = [max(box.width for box in tranks if (box.right < middle) is on_the_left) for on_the_left in (True, False)]
    wide = [float(run["Trank"].outline(run.sizes[0])[:, 0].max()) for run in pair]
    assert widest[0] / widest[1] == pytest.approx(wide[0] / wide[1], abs=1e-6)


@pytest.mark.parametrize(("paper", "unit"), [("a4", "cm"), ("letter", "in")])
def test_it_is_two_sheets_all_of_it_legible(pair, paper, unit):
    printing = Printing(PAPERS[paper])
    frame = PlainFrame(printing.upright(), TitleBlock("card", "Fair mitten", "Order 12", size="made to measure"))
    pages = numbered(card(sheet_of(pair, unit), frame, unit))
    assert len(pages) == 2
    for page in pages:
        drawing = page.drawing + page.placed[0].drawing if page.placed else page.drawing
        assert overlapping_texts(drawing) == []
        assert crossed_texts(drawing) == []
        assert outside(drawing, printing.upright().printable) == []


def test_it_says_that_it_is_of_both_hands_and_which_of_them_the_steps_show(pair):
    data = pair_card(*pair, "Order 12", Printing(PAPERS["a4"]), run_id="1f3a9c", unit="cm")
    first, second = (" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(data)).pages)
    assert "Order 12 · card both hands · outside up" in first
    assert "left mirrors right" not in first
    assert "outside up: left hand" in first
    assert "outside up: right hand" in second
    assert "outside up: left hand" not in second
