"""The starter folder, the pages that are drawn for it, and files that are written all or none."""

from __future__ import annotations

import io
from itertools import takewhile
from pathlib import Path

import numpy as np
import openpyxl
import pypdf
import pytest

from grading.drafting.base import LAYER, Drafted, draft_base
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drafting.scenario import BASES, demo_allowances, demo_sizes
from grading.drawing.legibility import crossed_texts, overlapping_texts
from grading.drawing.marks import Role, Text
from grading.drawing.paper import PAPERS, Printing
from grading.outputs.construction import SQUARE, construction_sheet, drawn_construction
from grading.outputs.measuring_guide import drawn_guide, measuring_guide
from grading.outputs.starter import starter_files, write_missing_tables
from grading.publish.fresh import write_fresh
from grading.sheets.block import read_block
from grading.sheets.hands import Hands, read_hands
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes
from grading.sheets.traced import read_traced


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


def test_every_heading_explains_its_column_in_place_and_words_come_from_lists(folder):
    for name in ("tables/sizes.xlsx", "tables/block.xlsx", "hands.xlsx"):
        book = openpyxl.load_workbook(folder / name)
        for sheet in book.worksheets[:-1]:
            rules = sheet.data_validations.dataValidation
            told = {str(rule.sqref): rule.prompt for rule in rules if rule.prompt}
            for cell in sheet[1]:
                assert told[cell.coordinate], (name, sheet.title, cell.coordinate)
        assert any(rule.type == "list" for sheet in book.worksheets for rule in sheet.data_validations.dataValidation)


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


@pytest.mark.parametrize("group", BASES)
@pytest.mark.parametrize("shrink", [1, 2])
def test_the_construction_sheet_names_every_line_and_point_and_can_be_read(group, shrink):
    made = drafted(group)
    drawing = drawn_construction(made, shrink, "cm")
    texts = " ".join(mark.text for mark in drawing.marks if isinstance(mark, Text))
    lines = "raw edge, fold, line, thumb line, flat breadth, half the round, mirror line, Wrist line, Cuff fold, T, H"
    for name in (*lines.split(", "), *(point.name for point in made.block.points)):
        assert name in texts
    assert not overlapping_texts(drawing)
    grid = Role.REFERENCE_LINE
    assert not [text for text, mark in crossed_texts(drawing) if mark.role is not grid and text.role is Role.LABEL]


@pytest.mark.parametrize(("paper", "scale"), [("a4", "1 : 3"), ("sheet", "1 : 1")])
def test_the_construction_sheet_is_one_page_that_says_its_scale(paper, scale):
    (page,) = pypdf.PdfReader(io.BytesIO(construction_sheet(drafted("Men"), Printing(PAPERS[paper]), unit="mm"))).pages
    assert scale in page.extract_text()


@pytest.mark.parametrize("shrink", [1, 2])
def test_a_square_of_the_grid_is_a_centimetre_of_the_pattern(shrink):
    marks = drawn_construction(drafted("Women"), shrink, "mm").marks
    upright = [mark.points[0, 0] for mark in takewhile(lambda mark: np.ptp(mark.points[:, 0]) == 0, marks)]
    assert len(upright) > 10
    assert np.diff(upright) == pytest.approx(SQUARE / shrink)


def test_tables_that_somebody_edited_are_left_and_told_of_and_missing_ones_written(tmp_path):
    write_missing_tables(tmp_path)
    (tmp_path / "sizes.xlsx").write_bytes(b"edited")
    (tmp_path / "stock.xlsx").unlink()
    edited, findings = write_missing_tables(tmp_path)
    assert (edited, findings) == ([tmp_path / "sizes.xlsx"], [])
    assert (tmp_path / "sizes.xlsx").read_bytes() == b"edited"
    assert (tmp_path / "stock.xlsx").exists()
