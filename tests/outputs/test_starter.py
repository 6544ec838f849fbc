"""The starter folder, the pages that are drawn for it, and files that are written all or none."""

from __future__ import annotations

import io
from itertools import groupby
from pathlib import Path

import numpy as np
import openpyxl
import pypdf
import pytest
from legible import crossed_texts, overlapping_texts
from pdf_paths import paths
from PIL import Image

from grading.drafting.base import Drafted, draft_base
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drafting.parts.part import LAYER
from grading.drafting.scenario import BASES, demo_allowances, demo_sizes
from grading.drafting.style import PARTS
from grading.drafting.working import figure
from grading.drawing.marks import Dot, Role, Text
from grading.drawing.paper import PAPERS, Printing
from grading.model.measured import Hands
from grading.outputs.choices import pictures_of_choices
from grading.outputs.construction import CROSS, SQUARE, construction_sheet, drawn_construction, traced_sheet
from grading.outputs.measuring_guide import drawn_guide, measuring_guide
from grading.outputs.starter import demo_tables, starter_files, write_missing_tables
from grading.publish.fresh import write_fresh
from grading.sheets.block import read_block
from grading.sheets.hands import read_hands
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes
from grading.sheets.traced import read_traced

TABLES = Path(__file__).parents[2] / "tables"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("starter")
    assert not write_fresh({folder / name: content for name, content in starter_files().items()})
    return folder


def drafted(group: str) -> Drafted:
    table = next(table for table in demo_sizes() if table.group == group)
    column = table.sizes.index(BASES[group])
    figures = dict(zip(table.measurements, table.values[:, column].tolist(), strict=True))
    made, _ = draft_base(Hands(figures, figures), demo_allowances(group) | LAYER, name="Mitten")
    return made


def test_every_file_of_it_is_read_without_a_finding(folder):
    for path in [*sorted(folder.rglob("*.xlsx")), folder / "points.csv"]:
        opened, findings = open_tables(path)
        match path.name:
            case "sizes.xlsx":
                findings += read_sizes(opened)[1]
            case "hands.xlsx":
                findings += read_hands(opened, HOW_TO_MEASURE, "mm")[1]
            case "points.csv":
                findings += read_traced(opened, "mm")[1]
            case name if name.startswith("block"):
                findings += read_block(opened)[1]
        assert not findings, path


@pytest.mark.parametrize(
    ("name", "sheet", "boxed"),
    [
        ("hands.xlsx", "Hand", {"Unit", "Left", "Right"}),
        ("hands.xlsx", "Style", {"Choice"}),
        ("tables/sizes.xlsx", "Women", {"W1", "W2", "W3", "W4", "W5", "W6"}),
    ],
)
def test_cells_to_fill_in_are_boxed_and_what_is_given_is_not(folder, name, sheet, boxed):
    headings, first, *_ = openpyxl.load_workbook(folder / name)[sheet].iter_rows()
    found = {heading.value for heading, cell in zip(headings, first, strict=True) if cell.border.left.style}
    assert found == boxed


def test_every_heading_explains_its_column_in_place_and_words_come_from_lists(folder):
    for name in ("tables/sizes.xlsx", "tables/block.xlsx", "tables/stock.xlsx", "hands.xlsx"):
        book = openpyxl.load_workbook(folder / name)
        for sheet in book.worksheets[:-1]:
            rules = sheet.data_validations.dataValidation
            told = {str(rule.sqref): rule.prompt for rule in rules if rule.prompt}
            for cell in sheet[1]:
                assert told[cell.coordinate], (name, sheet.title, cell.coordinate)
        assert any(rule.type == "list" for sheet in book.worksheets for rule in sheet.data_validations.dataValidation)


def test_what_names_a_row_of_another_sheet_is_chosen_from_a_list_of_those_rows(folder):
    for file, sheet, heading, home in (
        ("block", "Points", "Piece", "Pieces"),
        ("block", "Edges", "Seam type", "Seam types"),
        ("block", "Moves", "Value", "Base values"),
        ("stock", "Past sales", "Group", "Customers"),
        ("stock", "Making", "Group", "Customers"),
        ("stock", "Selling", "Group", "Customers"),
        ("stock", "Outlines", "Skin", "Skins"),
    ):
        book = openpyxl.load_workbook(folder / f"tables/{file}.xlsx")
        (column,) = (cell.column_letter for cell in book[sheet][1] if cell.value == heading)
        lists = [rule for rule in book[sheet].data_validations.dataValidation if rule.type == "list"]
        (listed,) = (rule.formula1 for rule in lists if str(rule.sqref).startswith(f"{column}2:"))
        name, cells = listed.rsplit("!", 1)
        assert name.strip("'") == home
        offered = {cell.value for (cell,) in book[home][cells.replace("$", "")]}
        assert {row[0].value for row in book[sheet][f"{column}2:{column}{book[sheet].max_row}"]} - {None} <= offered


def test_the_note_names_commands_and_files_that_exist(folder):
    note = (folder / "START HERE.txt").read_text(encoding="utf-8")
    assert [line[:2] for line in note.splitlines() if line[:1].isdigit()] == ["1.", "2.", "3."]
    for name in ("hands.xlsx", "tables/sizes.xlsx", "points.csv", "how to measure.pdf"):
        assert name in note
        assert (folder / name).exists()


def test_the_measuring_page_shows_and_tells_every_measurement_and_can_be_read():
    drawing = drawn_guide()
    texts = [mark.text for mark in drawing.marks if isinstance(mark, Text)]
    for number, name in enumerate(HOW_TO_MEASURE, 1):
        assert texts.count(str(number)) == 2  # in a picture and in the list
        assert name in texts
    assert not overlapping_texts(drawing)
    assert not crossed_texts(drawing)
    assert len(pypdf.PdfReader(io.BytesIO(measuring_guide(Printing(PAPERS["a4"])))).pages) == 1


def test_on_shorter_paper_the_pictures_and_the_form_have_a_whole_sheet_each():
    pages = pypdf.PdfReader(io.BytesIO(measuring_guide(Printing(PAPERS["letter"])))).pages
    pictures, form = (page.extract_text() for page in pages)
    assert "thumb tucked in" in pictures
    assert "Measure both hands" in form
    assert not any("to the arrows" in page for page in (pictures, form))


@pytest.mark.parametrize("group", BASES)
@pytest.mark.parametrize("shrink", [1, 2])
def test_the_construction_names_every_line_and_numbers_every_point_and_can_be_read(group, shrink):
    made = drafted(group)
    drawings = drawn_construction(made, shrink, "cm")
    texts = [mark.text for drawing in drawings for mark in drawing.marks if isinstance(mark, Text)]
    lines = "raw edge, fold, line, thumb line, flat breadth, half the round, mirror line, Wrist line, Cuff fold, T, H"
    assert all(any(name in text for text in texts) for name in lines.split(", "))
    for drawing in drawings:
        numbers = [mark.text for mark in drawing.marks if isinstance(mark, Text) and mark.text.isdigit()]
        dots = [mark for mark in drawing.marks if isinstance(mark, Dot)]
        assert sorted(map(int, numbers)) == list(range(1, len(dots) + 1))
        assert not overlapping_texts(drawing)
        assert not crossed_texts(drawing)


@pytest.mark.parametrize(("paper", "scales"), [("a4", {"1 : 3", "1 : 1"}), ("sheet", {"1 : 1"})])
def test_the_construction_says_its_scales_and_prints_each_point_with_its_figures_at_true_scale(paper, scales):
    made = drafted("Men")
    data = construction_sheet(made, Printing(PAPERS[paper]), unit="mm")
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())
    assert {scale for scale in ("1 : 1", "1 : 2", "1 : 3", "1 : 4") if scale in text} == scales
    for point in made.block.points:
        assert point.name in text
        if paper == "a4":
            assert f"{point.name} {figure(point.x, 'mm')} | {figure(point.y, 'mm')}" in text


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_the_working_is_printed_line_by_line_with_its_numbers(unit):
    made = drafted("Women")
    data = construction_sheet(made, Printing(PAPERS["a4"]), unit=unit)
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())
    for step, sums in groupby(made.sums, lambda one: one.step):
        assert step in text
        for place, one in enumerate(sums, 1):
            assert f"{step.split('.')[0]}.{place} {one.what}" in text
            assert f"= {one.made_of(unit)}" in text


def test_a_traced_pattern_is_printed_at_true_scale():
    made = drafted("Women")
    widths = [np.ptp(path, axis=0) for path in paths(traced_sheet(made, Printing(PAPERS["sheet"]), unit="mm"), 0)]
    points = np.array([(point.x, point.y) for point in made.block.points if point.piece == "Trank"])
    assert any(size == pytest.approx(np.ptp(points, axis=0), abs=0.05) for size in widths)


@pytest.mark.parametrize("shrink", [1, 2])
def test_crosses_are_a_centimetre_of_the_pattern_apart(shrink):
    for drawing in drawn_construction(drafted("Women"), shrink, "mm"):
        level = [
            m.points for m in drawing.marks if m.role is Role.REFERENCE_LINE and m.box.width == pytest.approx(CROSS)
        ]
        for axis in (0, 1):
            at = np.unique(np.array([points.mean(axis=0) for points in level])[:, axis].round(6))
            assert len(at) > 3
            assert np.diff(at) == pytest.approx(SQUARE / shrink)


def test_each_construction_line_lies_at_the_figure_that_is_written_on_it():
    made = drafted("Women")
    for piece, drawing in zip(made.block.pieces, drawn_construction(made, 1, "mm"), strict=True):
        upright = [
            mark
            for mark in drawing.marks
            if mark.role in (Role.MIRROR_LINE, Role.PLACEMENT_LINE) and mark.box.height > mark.box.width
        ]
        told = [mark.text.rsplit(maxsplit=1) for mark in drawing.marks if isinstance(mark, Text) and mark.angle]
        figures = sorted(float(mm.replace("−", "-")) for _, mm in told)
        assert figures == pytest.approx(sorted(mark.box.left for mark in upright), abs=0.05)
        assert [float(mm) for name, mm in told if name == "mirror line"] == [0.0]
        assert [mark.box.left for mark in upright if mark.role is Role.MIRROR_LINE] == [0.0]
        flat = [float(mm) for name, mm in told if name == "flat breadth"]
        assert flat == [made.hand.figures["hand breadth"]] * (piece.name == "Trank"), "a hand lies flat on the trank"


def test_tables_that_somebody_edited_are_left_and_told_of_and_missing_ones_written(tmp_path):
    write_missing_tables(tmp_path)
    (tmp_path / "sizes.xlsx").write_bytes(b"edited")
    (tmp_path / "stock.xlsx").unlink()
    edited, findings = write_missing_tables(tmp_path)
    assert (edited, findings) == ([tmp_path / "sizes.xlsx"], [])
    assert (tmp_path / "sizes.xlsx").read_bytes() == b"edited"
    assert (tmp_path / "stock.xlsx").exists()


def test_each_choice_of_a_style_has_its_own_picture_of_the_finished_mitten():
    pictures = pictures_of_choices()
    assert {part: list(choices) for part, choices in pictures.items()} == {p: list(c) for p, c in PARTS.items()}
    for part, choices in pictures.items():
        for picture in choices.values():
            with Image.open(io.BytesIO(picture)) as image:
                ink = np.asarray(image.convert("L")) < 128
            assert 0.01 < ink.mean() < 0.3  # something is drawn
            assert not np.pad(np.zeros_like(ink[1:-1, 1:-1]), 1, constant_values=True)[ink].any()  # nothing is cut off
        if part != "lining":
            assert len(set(choices.values())) == len(choices)


def test_the_pictures_stand_beside_their_choices_in_the_workbook_of_hands():
    book = openpyxl.load_workbook(io.BytesIO(starter_files()["hands.xlsx"]))
    sheet = book["Choices"]
    rows = [row for row in range(2, sheet.max_row + 1) if sheet.cell(row, 2).value]
    assert sorted(image.anchor._from.row + 1 for image in sheet._images) == rows
    assert {sheet.cell(1, image.anchor._from.col + 1).value for image in sheet._images} == {"Finished"}
    assert all(sheet.row_dimensions[row].height > 26 / 25.4 * 72 for row in rows)


def test_the_tables_that_come_with_the_program_are_those_that_it_writes(tmp_path):
    """'make tables' writes them: after a change of the demo its figures and words in them are the old ones."""
    written = demo_tables()
    assert {path.name for path in TABLES.glob("*.xlsx")} == set(written)
    for name, content in written.items():
        (tmp_path / name).write_bytes(content)
        own, fresh = (open_tables(folder / name)[0].grids for folder in (TABLES, tmp_path))
        assert [(grid.sheet, grid.cells) for grid in own] == [(grid.sheet, grid.cells) for grid in fresh], name


def test_no_source_is_left_beside_figures_that_somebody_writes_over_the_invented_ones(tmp_path):
    (tmp_path / "sizes.xlsx").write_bytes(starter_files()["tables/sizes.xlsx"])
    tables, findings = read_sizes(open_tables(tmp_path / "sizes.xlsx")[0])
    assert findings == []
    assert {source for table in tables for source in table.source} == {""}
    about = openpyxl.load_workbook(tmp_path / "sizes.xlsx")["About these sheets"]
    assert any("invented" in str(cell.value) for row in about.iter_rows() for cell in row)
