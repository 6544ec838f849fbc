"""A new block is put where its groups are graded from it, or it is said why it cannot be."""

from __future__ import annotations

import openpyxl

from grading.drafting.scenario import demo_block, demo_sizes
from grading.drafting.using import place_among
from grading.sheets.writing import block_workbook, sizes_workbook


def in_folder(folder):
    (folder / "block.xlsx").write_bytes(block_workbook(demo_block("Women")))
    (folder / "sizes.xlsx").write_bytes(sizes_workbook(demo_sizes()))
    return folder / "sizes.xlsx"


def test_it_takes_the_place_of_the_block_that_names_its_group_and_else_one_of_its_own(tmp_path):
    sizes = in_folder(tmp_path)
    assert place_among(sizes, ["women"])[0].path == tmp_path / "block.xlsx"
    assert place_among(sizes, ["Men"])[0].path == tmp_path / "block-men.xlsx"


def test_a_group_that_there_is_not_is_told_with_those_there_are(tmp_path):
    place, (finding,) = place_among(in_folder(tmp_path), ["Giants"])
    assert (place, finding.code) == (None, "which-group")
    assert "Women, Men, Children" in finding.expected


def test_a_group_whose_figures_cannot_be_read_is_told_by_the_cell_and_not_as_missing(tmp_path):
    sizes = in_folder(tmp_path)
    book = openpyxl.load_workbook(sizes)
    book["Women"]["C3"] = "abc"
    book.save(sizes)
    place, (finding,) = place_among(sizes, ["Women"])
    assert (place, finding.code, finding.place.cell) == (None, "not-a-number", "C3")
    assert place_among(sizes, ["Men"])[1] == []
