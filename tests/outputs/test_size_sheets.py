"""The sheet of one size, in the workbook and as a card: the same content, one page, legible."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from io import BytesIO

import numpy as np
import openpyxl
import pytest
from legible import crossed_texts, outside, overlapping_texts
from PIL import Image
from pypdf import PdfReader

from grading.drawing.marks import Text
from grading.drawing.pages import PlainFrame, TitleBlock, numbered
from grading.drawing.paper import PAPERS, Printing
from grading.drawing.styles import style_of
from grading.drawing.system import HEIGHTS, WIDTHS
from grading.engine.balance import balanced
from grading.engine.graded import run_id
from grading.engine.run import grade
from grading.model.making import Instruction, Step
from grading.outputs.cards import card, cards
from grading.outputs.printable import unprintable
from grading.outputs.size_sheet import LESS_HIGH, size_sheets
from grading.outputs.spec.sizes import size_page
from grading.readings.measures import measured
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.writing import block_workbook
from grading.workbooks.book import Book

A4 = Printing(PAPERS["a4"])


def contents(run, unit: str = "mm"):
    return size_sheets(run, run_id="1f3a9c", unit=unit)


def words(run) -> list[str]:
    """Everything that a size sheet's rows say."""
    return [text for part in contents(run)[0].parts for row in part.rows for text in (row.name, row.text)]


def test_it_says_all_that_an_outworker_has_to_know(runs):
    run = runs["Women"]
    said = "\n".join(words(run))
    for text in (
        *(measure.how_to_measure for measure in measured(run).measures),
        *(step.what_to_do for step in run.block.making),
        *(edge.name for edge in run.block.edges),
        *(kind.stitch for kind in run.block.seam_types),
        *(piece.pile_arrow for piece in run.block.pieces),
        *(piece.material for piece in run.block.pieces),
        *(step.thread for step in run.block.making),
        *(instruction.text for instruction in run.block.work),
    ):
        assert text in said
    topics = {instruction.topic for instruction in run.block.work}
    assert {"Letters", "Ticks", "Change-over", "Pile", "Hairs", "Stitches in 3 cm", "Bite"} <= topics
    assert {"Start and finish", "Finished widths", "Reference", "Spoiled piece", "Send back"} <= topics


@pytest.mark.parametrize(("unit", "per"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_its_figures_are_that_sizes_measures_and_tolerances(runs, unit, per):
    run = runs["Men"]
    found = measured(run)
    for size, content in enumerate(contents(run, unit)):
        for row, measure, value in zip(content.parts[0].rows, found.measures, found.values[:, size], strict=True):
            expected = (value - measure.tolerance_minus, value, value + measure.tolerance_plus)
            half = {"mm": 0.05, "cm": 0.005, "in": 1 / 32}[unit]
            assert row.figures == pytest.approx([mm / per for mm in expected], abs=2 * half + 1e-6)


def test_inches_are_sixteenths_with_the_decimal_in_brackets_and_so_are_bites_and_stitches(runs):
    run = runs["Women"]
    content = contents(run, "in")[2]
    for row, value in zip(content.measures.rows, measured(run).values[:, 2], strict=True):
        assert all((figure * 16).is_integer() for figure in row.figures)
        assert row.text.startswith(f"({value / 25.4:.2f}) ")
    said = " ".join(text for part in content.parts for row in part.rows for text in (row.name, row.text))
    assert not re.search(r"[0-9] (mm|cm)\b", said)
    assert 'Oversewing 1/16" (0.08) from the edge' in said
    drawings = sheets_of(content, "letter", "in")
    texts = {mark.text for drawing in drawings for mark in drawing.marks if isinstance(mark, Text)}
    assert {"4 7/16", "4 1/2", "4 9/16", "A 4 1/2"} <= texts


def test_steps_name_their_own_needle_and_thread_where_those_differ(runs):
    run = runs["Women"]
    making = (*run.block.making, Step("5", "Tie off", needle="darning needle"))
    said = words(replace(run, block=replace(run.block, making=making)))
    assert "Tie off. darning needle." in said


def sheets_of(content, paper: str = "a4", unit: str = "mm"):
    frame = PlainFrame(Printing(PAPERS[paper]).upright(), TitleBlock("card", "Fair mitten", "Women", size=content.size))
    return [page.drawing + page.placed[0].drawing if page.placed else page.drawing
            for page in numbered(card(content, frame, unit))]  # fmt: skip


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
@pytest.mark.parametrize(("paper", "unit"), [("a4", "mm"), ("letter", "in"), ("a3", "cm"), ("tabloid", "in")])
def test_a_card_is_two_sheets_by_the_system_of_letters_and_lines_all_of_it_legible(runs, group, paper, unit):
    sheet = Printing(PAPERS[paper]).upright()
    for content in contents(runs[group], unit)[:: 3 if group == "Women" else 4]:
        drawings = sheets_of(content, paper, unit)
        assert len(drawings) == 2
        for drawing in drawings:
            assert overlapping_texts(drawing) == []
            assert crossed_texts(drawing) == []
            assert outside(drawing, sheet.printable) == []
            texts = [mark for mark in drawing.marks if isinstance(mark, Text)]
            assert {mark.height for mark in texts} <= set(HEIGHTS)
            assert all(-1e-9 <= mark.angle <= np.pi / 2 + 1e-9 for mark in texts)
            assert {style_of(mark.role, mark.size).width for mark in drawing.marks} <= {0, *WIDTHS}


@pytest.mark.parametrize(
    ("group", "height"),
    [
        pytest.param(group, height, marks=[] if group == "Women" or height == min(LESS_HIGH) else pytest.mark.long)
        for group in ("Women", "Men", "Children")
        for height in LESS_HIGH
    ],
)
def test_a_lower_picture_is_legible_in_every_size_in_inches(runs, group, height):
    for content in contents(runs[group], "in"):
        drawing = content.picture(height)
        assert overlapping_texts(drawing) == []
        assert crossed_texts(drawing) == []
        assert drawing.box.height <= height


def test_least_right_and_most_stand_in_the_larger_letters_and_right_in_bold(runs):
    first, _ = sheets_of(contents(runs["Women"])[2])
    texts = {(mark.text, mark.height, mark.bold) for mark in first.marks if isinstance(mark, Text)}
    assert {("112.0", 3.5, False), ("114.0", 3.5, True), ("116.0", 3.5, False), ("palm width", 3.5, False)} <= texts
    assert ("A 114", 2.5, True) in texts


def test_an_edge_without_allowance_is_said_to_be_as_cut(runs):
    allowances = contents(runs["Women"])[0].allowances.rows
    for row, kind in zip(allowances, runs["Women"].block.seam_types, strict=True):
        assert row.text.startswith("none, as cut") == (kind.allowance == 0) == (row.figures == ())


def test_no_letter_of_a_measure_is_taken_for_a_figure_or_a_point(runs):
    for run in runs.values():
        named = [row.mark for row in contents(run)[0].measures.rows]
        assert len(set(named)) == len(named)
        assert not {*"IOQ", *(point.name for point in run.block.points)} & {*named}


@pytest.mark.parametrize(("cut", "told"), [((1, 1), "one pair, left hand drawn"), ((1, 0), "left hand"),
                                           ((0, 1), "right hand")])  # fmt: skip
def test_a_card_for_one_hand_says_and_shows_that_hand(runs, cut, told):
    run = runs["Children"]
    pieces = tuple(replace(piece, cut_left=cut[0], cut_right=cut[1]) for piece in run.block.pieces)
    run = replace(run, block=replace(run.block, pieces=pieces))
    reader = PdfReader(BytesIO(cards(run, A4, run_id="1f3a9c", unit="mm")))
    first, second = (reader.pages[number].extract_text() for number in (0, 1))
    assert f"{told} · outside up" in first
    shown = "right" if cut == (0, 1) else "left"
    other = "left" if shown == "right" else "right"
    for text in (first, second):
        assert f"palm of the {shown} hand" in text
        assert f"palm of the {other} hand" not in text
    assert ("left mirrors right" in first) == (cut == (1, 1))


def test_a_pair_made_for_one_hand_is_no_size_of_itself(runs, tables):
    run = runs["Women"]
    pieces = tuple(replace(piece, cut_right=0) for piece in run.block.pieces)
    block = replace(run.block, pieces=pieces)
    table = replace(tables["Women"].only(tables["Women"].measurements), group="Order 12, left hand",
                    sizes=("made to measure",), values=tables["Women"].values[:, :1])  # fmt: skip
    (content,) = contents(balanced(grade(block, table)))
    assert content.title == "Fair mitten · Order 12, left hand"
    assert "size" not in content.facts


def test_a_block_with_far_more_to_say_takes_more_sheets_and_leaves_nothing_out(runs):
    run = runs["Women"]
    work = tuple(Instruction(f"Topic {number}", "Words that say what holds. " * 8) for number in range(60))
    making = run.block.making * 3
    long = replace(run, block=replace(run.block, work=work, making=making))
    sheet = A4.upright()
    drawings = sheets_of(contents(long)[0])
    assert len(drawings) > 2
    for drawing in drawings:
        assert outside(drawing, sheet.printable) == []
        assert overlapping_texts(drawing) == []
    said = [mark.text for drawing in drawings for mark in drawing.marks if isinstance(mark, Text)]
    assert all(f"Topic {number}" in said for number in range(60))


@pytest.mark.parametrize("paper", ["a4", "sheet"])
def test_the_cards_are_two_pages_a_size_of_vectors_with_the_same_content(runs, paper):
    run = runs["Children"]
    reader = PdfReader(BytesIO(cards(run, Printing(PAPERS[paper]), run_id="1f3a9c", unit="mm")))
    assert len(reader.pages) == 2 * len(run.sizes)
    assert [entry.title.rsplit(" ", 1)[1] for entry in reader.outline] == list(run.sizes)
    for number, content in enumerate(contents(run)):
        pages = reader.pages[2 * number : 2 * number + 2]
        for page in pages:
            assert [float(side) * 25.4 / 72 for side in page.mediabox[2:]] == pytest.approx([210, 297], abs=0.01)
            assert not page.images
        printed = "".join("".join(page.extract_text().split()) for page in pages)
        for part in content.parts:
            for row in part.rows:
                if part is not content.making:
                    assert "".join(row.text.split()) in printed
        for step in run.block.making:
            assert "".join(step.what_to_do.split()) in printed
            assert "".join(step.note.split()) in printed
    assert cards(run, A4, run_id="1", unit="mm") == cards(run, A4, run_id="1", unit="mm")


@pytest.fixture(scope="module")
def page(runs) -> bytes:
    book = Book("Spec", run_id="1f3a9c")
    for content in contents(runs["Women"])[2:4]:
        size_page(book, content, "mm")
    return book.to_bytes()


def test_the_workbooks_page_holds_the_same_rows_and_prints_on_upright_a4_in_type_of_nine_points_or_more(runs, page):
    sheet = openpyxl.load_workbook(BytesIO(page))["Size W3"]
    setup = sheet.page_setup
    assert (setup.paperSize, setup.orientation) == (9, "portrait")
    # Printed as large as it is, and no wider than the paper between its margins: a program has nothing to shrink. A
    # character is at most 7.4 pixels of 1/96 in wide.
    assert setup.scale in (None, 100)
    assert not sheet.sheet_properties.pageSetUpPr.fitToPage
    assert len(sheet.row_breaks.brk) == 1
    across = sum(column.width for column in sheet.column_dimensions.values()) * 7.4 / 96
    assert across <= 210 / 25.4 - sheet.page_margins.left - sheet.page_margins.right
    assert min(cell.font.size for row in sheet.iter_rows() for cell in row if cell.value is not None) >= 9
    content = contents(runs["Women"])[2]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(max_col=6)]
    for part in content.parts:
        count = max(len(row.figures) for row in part.rows)  # the words have the room of figures that there are not
        for row in part.rows:
            figures = [*row.figures, *[None] * (count - len(row.figures))]
            assert [row.mark or None, row.name, *figures, row.text, *[None] * (3 - count)] in rows
    assert "T_Measures_W3" in sheet.tables


@pytest.mark.long
def test_libreoffice_prints_the_workbooks_page_on_two_sheets(runs, tmp_path, office):
    book = Book("Spec", run_id="1f3a9c")
    for group, unit in (("Women", "mm"), ("Children", "in")):
        size_page(book, contents(runs[group], unit)[2], unit)
    path = tmp_path / "spec.xlsx"
    path.write_bytes(book.to_bytes())
    assert len(PdfReader(office(path, "pdf")).pages) == 4


def test_each_picture_has_words_of_its_own_that_name_the_measures(page):
    archive = zipfile.ZipFile(BytesIO(page))
    for number, size in ((1, "W3"), (2, "W4")):
        drawing = archive.read(f"xl/drawings/drawing{number}.xml").decode()
        told, steps = re.findall('descr="([^"]*)"', drawing)
        assert told.startswith(f"Outlines of size {size}")
        assert "palm width 1" in told
        assert "Thumb with" in told
        assert "each step" in steps
    picture = Image.open(BytesIO(archive.read("xl/media/image1.png")))
    shades = picture.convert("RGB").getcolors()
    assert all(red == green == blue for _, (red, green, blue) in shades)
    assert picture.width > 1500  # 200 dots an inch over the width of A4


def test_what_is_told_to_whoever_sews_is_read_back_as_it_was_written(block, tmp_path):
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(block))
    again, findings = read_block(open_tables(path)[0])
    assert not findings
    assert again.work == block.work
    assert len(again.work) > 10
    assert again.seam_types == block.seam_types


def test_a_topic_without_words_is_left_out_and_a_block_without_the_sheet_is_whole(block, tmp_path):
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(block))
    book = openpyxl.load_workbook(path)
    book["Work"]["B2"] = None
    book.save(path)
    assert [one.topic for one in read_block(open_tables(path)[0])[0].work] == [one.topic for one in block.work[1:]]
    del book["Work"]
    book.save(path)
    again, findings = read_block(open_tables(path)[0])
    assert (again.work, findings) == ((), [])


def test_a_topic_left_blank_is_not_printed(runs):
    run = runs["Women"]
    half = replace(run, block=replace(run.block, work=(Instruction("Bite", ""), Instruction("Hairs", "Comb them."))))
    assert "Bite" not in "\n".join(words(half)).split("\n")
    assert "Hairs" in "\n".join(words(half)).split("\n")


def test_a_new_due_date_makes_no_new_run(block, tables):
    later = replace(block, work=(Instruction("Due", "2027-01-08"),))
    assert run_id(later, tables["Women"]) == run_id(block, tables["Women"])


def test_words_that_the_font_lacks_are_found_before_they_print_as_boxes(block, tables):
    wrong = replace(block, work=(Instruction("Due", "手"),), making=(Step("1", "縫"),))
    places = [finding.found for finding in unprintable(wrong, tables["Women"])]
    assert len(places) == 2
