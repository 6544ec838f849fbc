"""What is printed for the stall, read back: the size finder's marks, the labels' words, the price list."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from itertools import pairwise
from math import floor, pi

import numpy as np
import pytest
from legible import crossed_texts, outside, overlapping_texts
from pages_read import breaches, read_pages
from pdf_paths import paths
from pypdf import PdfReader
from unlaid import heaped

from grading.drafting.second_scenario import second_block, second_sizes
from grading.drafting.stock_scenario import demo_stock
from grading.drawing.marks import Box, Line, Role, Text
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import MARGIN, PAPERS, Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.system import HEIGHTS, WIDTHS
from grading.engine.run import grade
from grading.outputs.stock.labels import LabelWords, crowded, label
from grading.outputs.stock.size_finder import FIST, LENGTH, finder_sheets, tapes
from grading.outputs.stock.stall import stall, stall_findings
from grading.stock.fits import Fit, Fits, length_fits
from grading.stock.plan import prepared

A4 = Printing(PAPERS["a4"])
STYLES = dict.fromkeys(("Women", "Men", "Children"), "Fair mitten")


@pytest.fixture(scope="module")
def plan(runs):
    """Thirty pairs of all sizes."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("grading.stock.search.Search.lays", heaped)
        return prepared(demo_stock(), list(runs.values())).for_pairs(30, lambda *told: None)


@pytest.fixture(scope="module")
def printed(plan):
    return stall(plan, STYLES, A4, "mm", run_id="1f3a9c0b2d")


def expected_ends(tables) -> list[float]:
    """Where sizes begin and end, from the tables' fist girths: half a step either side, or what the ease leaves.

    The ease of adults is 24 mm, that of children 22; pile and leather take 2π × 1.8 + π × 1.0 of it, and 3 mm are left
    to move in.
    """
    ends: list[float] = []
    for group, table in tables.items():
        girth = table.row("fist girth")
        step = girth[1] - girth[0]
        beyond = min(step / 2, (22 if group == "Children" else 24) - 2 * pi * 1.8 - pi * 1.0 - 3)
        ends += [girth[0] - step + beyond, *(girth + beyond)]
    return ends


def zero_and_ends(data: bytes, scale: float = 1.0) -> tuple[float, np.ndarray]:
    """The left edge of the printed tape, and where lines as high as a track stand on it, in printed mm."""
    found = [path * scale for path in paths(data)]
    tape = max((path for path in found if len(path) >= 4), key=lambda path: np.ptp(path[:, 0]))
    (left, bottom), (_, top) = tape.min(axis=0), tape.max(axis=0)
    upright = [line for line in found if len(line) == 2 and np.ptp(line[:, 0]) < 1e-3 and np.ptp(line[:, 1]) > 5]
    within = [line for line in upright if line[:, 1].min() > bottom + 1 and line[:, 1].max() < top + 1e-3]
    return left, np.sort([line[0, 0] for line in within])


def test_the_marks_of_the_printed_tape_lie_within_a_tenth_of_a_millimetre_of_the_tables(printed, tables):
    zero, marks = zero_and_ends(printed)
    wanted = np.sort(expected_ends(tables))
    assert len(marks) == len(wanted)
    assert np.abs(marks - zero - wanted).max() < 0.1


def test_for_a_printer_that_prints_wrongly_scaled_the_tape_comes_out_right(plan, tables):
    data = stall(plan, STYLES, Printing(PAPERS["a4"], 100 / 101, 100 / 101), "mm", run_id="1f3a")
    zero, marks = zero_and_ends(data, scale=1.01)
    assert np.abs(marks - zero - np.sort(expected_ends(tables))).max() < 0.1


def test_the_sheet_of_the_tape_says_how_to_measure_where_to_read_and_how_to_print(printed):
    text = " ".join(PdfReader(BytesIO(printed)).pages[0].extract_text().split())
    for words in ("Bare larger hand, a fist, thumb held away", "snug", "Between two sizes take the larger", "100 %"):
        assert words in text
    assert "100 mm above" in text
    assert "Children: a size ends before" in text


def test_a_closed_top_has_a_rule_for_the_hands_length_from_its_own_table(plan):
    table = second_sizes()
    found = length_fits(grade(second_block(), table), plan.batch.table.terms)
    sheets = finder_sheets([found], 0.0, A4, TitleBlock("length rule", "Fair mitten"), LENGTH)
    data = pdf_bytes([*numbered(sheets)], About("Rule"))
    zero, marks = zero_and_ends(data)
    length = table.row("hand length")
    assert np.abs(marks - zero - [length[0] - 4, *(length + 4)]).max() < 0.1
    assert "wrist's crease" in " ".join(PdfReader(BytesIO(data)).pages[0].extract_text().split())
    for page in read_pages(data):
        assert not breaches(page, HEIGHTS, WIDTHS, MARGIN - 0.01)


def labels_printed(data: bytes) -> list[str]:
    text = "\n".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)
    return re.findall(r"fits fists ([\d.]+)–([\d.]+) mm", text)


def test_the_ranges_on_the_labels_meet_and_are_those_of_the_tape(printed, plan, tables):
    said = [(float(least), float(most)) for least, most in dict.fromkeys(labels_printed(printed))]
    by_group = np.split(np.array(said), np.cumsum([len(table.sizes) for table in tables.values()])[:-1])
    ends = expected_ends(tables)
    for ranges, table in zip(by_group, tables.values(), strict=True):
        assert np.array_equal(ranges[:-1, 1], ranges[1:, 0])
        wanted, ends = ends[: len(table.sizes) + 1], ends[len(table.sizes) + 1 :]
        # A label promises no more than the tape, and less by no more than a tenth of a millimetre.
        short = np.array(wanted) - [ranges[0, 0], *ranges[:, 1]]
        assert np.all((short > -1e-9) & (short < 0.1))


def test_in_inches_labels_go_down_to_sixteenths_and_meet_and_the_scale_of_the_tape_has_an_inch_between_its_numbers(
    plan, tables
):
    pages = PdfReader(BytesIO(stall(plan, STYLES, A4, "in", run_id="1f3a9c0b2d"))).pages
    text = "\n".join(page.extract_text() for page in pages)
    said = [
        tuple(sum(map(Fraction, figure.split())) for figure in one)
        for one in dict.fromkeys(re.findall(r"fits fists ([\d/ ]+)–([\d/ ]+) in", text))
    ]
    ends, at = expected_ends(tables), 0
    for table in tables.values():
        ranges, at = said[at : at + len(table.sizes)], at + len(table.sizes)
        assert all(one[1] == after[0] for one, after in pairwise(ranges))
        wanted, ends = ends[1 : len(table.sizes) + 1], ends[len(table.sizes) + 1 :]
        # Inches of 25.4 mm (NIST SP 811), in sixteenths and never more than the tape tells.
        assert [one[1] for one in ranges] == [Fraction(floor(mm / 25.4 * 16 + 1e-9), 16) for mm in wanted]
    strip = tapes([WOMEN], 277, FIST, "in")[0]
    numbers = {int(mark.text): mark.x for mark in strip.marks if isinstance(mark, Text) and mark.text.isdigit()}
    assert len([number for number in numbers if number]) >= 2
    assert all(numbers[number] == pytest.approx(25.4 * number) for number in numbers if number)


def test_each_pair_has_a_label_twenty_four_to_a_sheet_with_all_that_it_must_say(printed, plan):
    pages = [page.extract_text() for page in PdfReader(BytesIO(printed)).pages]
    counts = [page.count("fits fists") for page in pages]
    assert [count for count in counts if count] == [24, 6]
    text = " ".join(" ".join(pages).split())
    for number in range(1, plan.pairs + 1):
        assert f"batch 1f3a9c0b2d · pair {number} " in text
    for words in ("lamb leather, pile inside", "Invented Mittens, 1 Fair Lane", "Air and brush"):
        assert text.count(words) == plan.pairs


def test_the_price_list_has_every_size_with_its_price(printed, plan):
    (page,) = (
        " ".join(page.extract_text().split())
        for page in PdfReader(BytesIO(printed)).pages
        if page.extract_text().startswith(("Prices", "Fair mitten · prices"))
    )
    for row in plan.sizes:
        assert re.search(rf"{row.size} [\d.]+–[\d.]+ mm {row.price:.2f}", page)


def test_every_page_keeps_to_the_system_of_letters_and_lines(printed):
    for page in read_pages(printed):
        assert not breaches(page, HEIGHTS, WIDTHS, MARGIN - 0.01)


def group_of(name: str, first: float, step: float, sizes: list[str]) -> Fits:
    ends = [first + step * (number - 0.5) for number in range(len(sizes) + 1)]
    found = (Fit(size, least + step / 2, least, least + step) for size, least in zip(sizes, ends, strict=False))
    return Fits(name, "fist girth", tuple(found), False)


WOMEN = group_of("Women", 180, 12, ["W1", "W2", "W3", "W4", "W5", "W6"])
GIANTS = group_of("Giants", 230, 13, ["very large", "larger", "3", "4", "5", "6", "7", "8"])
DOLLS = group_of("Dolls", 30, 5, ["a", "b", "c"])


def test_a_tape_longer_than_the_paper_is_in_two_parts_that_meet_where_nothing_stands():
    first, second = tapes([WOMEN, GIANTS], 277)
    over = next(mark for mark in first.marks if isinstance(mark, Line) and mark.role is Role.TRIM_LINE)
    joint = float(over.points[0, 0])
    assert second.box.left == pytest.approx(joint)
    assert first.box.left == 0
    assert first.box.right == pytest.approx(joint + 15)
    assert max(first.box.width, second.box.width) <= 277
    ends = {float(mark.points[0, 0]) for mark in second.marks if isinstance(mark, Line) and mark.role is Role.NOTCH}
    assert ends == {end for group in (WOMEN, GIANTS) for fit in group.sizes for end in (fit.least, fit.most)}


@pytest.mark.parametrize("found", [[WOMEN, GIANTS], [DOLLS, WOMEN], [DOLLS, GIANTS], [DOLLS], [GIANTS]])
def test_tapes_of_any_hands_have_their_words_whole_and_apart(found):
    for tape in tapes(found, 277):
        assert tape.box.width <= 277
        assert not overlapping_texts(tape)
        assert not crossed_texts(tape)
        assert not outside(tape, tape.marks[0].box)
    assert finder_sheets(found, 3.0, A4, TitleBlock("size finder", "Fair mitten"))


def test_sizes_that_no_tape_holds_are_told(plan):
    rising = group_of("All", 60, 10, [str(number) for number in range(28)])
    assert tapes([rising], 277) == []


LONG = LabelWords(
    size="10-11",
    style="A mitten with a name that goes on for quite a while, lined",
    group="Children",
    fits="176.5–187.5 mm",
    material="lamb leather, pile inside",
    maker="A maker whose name and address take more than a single line, 1 Long Lane, Anywhere",
    batch="batch 1f3a9c0b2d · pair 1234",
    care="Do not wash, do not bleach, do not iron, do not dry in the sun or by a fire; air and brush.",
)


@pytest.mark.parametrize(
    "words",
    [
        LONG,
        replace(LONG, maker="", care="", material=""),
        replace(LONG, style="Fair mitten", size="an unusually long size"),
        replace(LONG, style="Fair mitten", fits="", maker="Maker", care="Air."),
    ],
)
def test_a_label_keeps_to_its_place_and_no_words_collide(words):
    box = Box(0, 0, (210 - 2 * MARGIN) / 3, (297 - 2 * MARGIN) / 8)
    drawing = label(words, box)
    assert not outside(drawing, box)
    assert not overlapping_texts(drawing)
    assert not crossed_texts(drawing)


def test_a_label_without_room_for_its_words_is_told_with_what_is_left_out():
    (told,) = crowded([LONG], A4)
    assert told.code == "label-full"
    assert "care words" in told.found
    assert not list(crowded([replace(LONG, style="Fair mitten", maker="", care="")], A4))


def test_a_group_whose_fists_are_not_known_has_labels_and_prices_without_them(plan):
    table = replace(plan.batch.table, terms=replace(plan.batch.table.terms, fist_row="paw girth"))
    blind = replace(plan, batch=replace(plan.batch, table=table))
    told = list(stall_findings(blind, STYLES, A4, "mm", run_id="1f3a"))
    assert [one.code for one in told] == ["no-fists"] * 3
    pages = PdfReader(BytesIO(stall(blind, STYLES, A4, "mm", run_id="1f3a"))).pages
    assert "95.00" in pages[0].extract_text()
    assert "pair 30" in pages[-1].extract_text()
