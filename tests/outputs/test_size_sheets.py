"""The sheet of one size, in the workbook and as a card: the same content, one page, legible."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from io import BytesIO

import openpyxl
import pytest
from PIL import Image
from pypdf import PdfReader

from grading.drawing.legibility import crossed_texts, outside, overlapping_texts
from grading.drawing.paper import PAPERS, Printing
from grading.job import run_id
from grading.model.block import Instruction, Step
from grading.outputs.cards import card, cards
from grading.outputs.printable import unprintable
from grading.outputs.size_sheet import size_sheets
from grading.outputs.spec.sizes import size_page
from grading.readings.measures import measured
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.writing import block_workbook
from grading.workbooks.book import Book

A4 = Printing(PAPERS["a4"])


def contents(run, unit: str = "mm"):
    return size_sheets(run, run_id="1f3a9c", unit=unit, date="2026-11-02")


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
            expected = (value, measure.tolerance_minus, measure.tolerance_plus)
            half = 0.05 if unit == "mm" else 0.005
            assert row.figures == pytest.approx([mm / per for mm in expected], abs=half + 1e-6)


def test_steps_name_their_own_needle_and_thread_where_those_differ(runs):
    run = runs["Women"]
    making = (*run.block.making, Step("5", "Tie off", needle="darning needle"))
    said = words(replace(run, block=replace(run.block, making=making)))
    assert "Tie off. darning needle." in said


@pytest.mark.parametrize("group", ["Women", "Children"])
@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_a_card_is_legible_and_inside_the_printable_part_in_type_of_a_reading_size(runs, group, paper):
    sheet = Printing(PAPERS[paper]).upright()
    for content in contents(runs[group], "in"):
        drawing = card(content, sheet, "in")
        assert overlapping_texts(drawing) == []
        assert crossed_texts(drawing) == []
        assert outside(drawing, sheet.printable) == []
        assert min(mark.height for mark in drawing.marks if hasattr(mark, "height")) > 1.3  # over 5 pt


def test_a_block_with_far_more_to_say_still_fits_its_card(runs):
    run = runs["Women"]
    work = tuple(Instruction(f"Topic {number}", "Words that say what holds. " * 8) for number in range(60))
    long = replace(run, block=replace(run.block, work=work))
    sheet = A4.upright()
    drawing = card(contents(long)[0], sheet, "mm")
    assert outside(drawing, sheet.printable) == []
    assert overlapping_texts(drawing) == []


@pytest.mark.parametrize("paper", ["a4", "sheet"])
def test_the_cards_are_one_page_a_size_of_vectors_with_the_same_content(runs, paper):
    run = runs["Children"]
    reader = PdfReader(BytesIO(cards(run, Printing(PAPERS[paper]), run_id="1f3a9c", unit="mm")))
    assert len(reader.pages) == len(run.sizes)
    assert [entry.title.rsplit(" ", 1)[1] for entry in reader.outline] == list(run.sizes)
    for page, content in zip(reader.pages, contents(run), strict=True):
        assert [float(side) * 25.4 / 72 for side in page.mediabox[2:]] == pytest.approx([210, 297], abs=0.01)
        assert not page.images
        printed = "".join(page.extract_text().split())
        for part in content.parts:
            for row in part.rows:
                assert "".join(row.text.split()) in printed
    assert cards(run, A4, run_id="1", unit="mm") == cards(run, A4, run_id="1", unit="mm")


@pytest.fixture(scope="module")
def page(runs) -> bytes:
    book = Book("Spec", run_id="1f3a9c")
    for content in contents(runs["Women"])[2:4]:
        size_page(book, content)
    return book.to_bytes()


def test_the_workbooks_page_holds_the_same_rows_and_prints_on_one_upright_a4(runs, page):
    sheet = openpyxl.load_workbook(BytesIO(page))["Size W3"]
    setup = sheet.page_setup
    assert (setup.paperSize, setup.orientation) == (9, "portrait")
    assert {setup.fitToWidth, setup.fitToHeight} <= {None, 1}  # 1 unless said otherwise: ECMA-376 part 1, 18.3.1.63
    content = contents(runs["Women"])[2]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(max_col=6)]
    for part in content.parts:
        for row in part.rows:
            figures = [*row.figures, *[None] * (3 - len(row.figures))]
            assert [row.mark or None, row.name, *figures, row.text] in rows
    assert "T_Measures_W3" in sheet.tables


def test_each_picture_has_words_of_its_own_that_name_the_measures(page):
    archive = zipfile.ZipFile(BytesIO(page))
    for number, size in ((1, "W3"), (2, "W4")):
        drawing = archive.read(f"xl/drawings/drawing{number}.xml").decode()
        (told,) = re.findall('descr="([^"]*)"', drawing)
        assert told.startswith(f"Outlines of size {size}")
        assert "palm width 1" in told
        assert "Thumb with" in told
    picture = Image.open(BytesIO(archive.read("xl/media/image1.png")))
    assert picture.mode == "L"
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
