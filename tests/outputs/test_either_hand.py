"""A piece that is its own mirror image is cut, printed and counted for either hand, and never for one of them."""

from __future__ import annotations

import io

import openpyxl
import pytest

from grading.drafting.draft import draft
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.outputs.cutting.layers import cutting_files
from grading.outputs.pieces import PieceDrawings, Wanted
from grading.outputs.size_sheet import _cut_list
from grading.outputs.spec.cutting import cut_list
from grading.readings.cut_lines import cut_lines
from grading.stock.pieces import pieces_of_pairs
from grading.workbooks.book import Book


@pytest.fixture(scope="module")
def run() -> SizeRun:
    style = {**STANDARD, "thumb place": "at the side", "fingers": "plain", "cuff": "plain"}
    (table,) = (table for table in demo_sizes() if table.group == "Women")
    column = table.sizes.index(BASES["Women"])
    body = dict(zip(table.measurements, table.values[:, column].tolist(), strict=True))
    layer = {"compressed_pile": 1.8, "leather": 1.0, "date": ""}
    block = draft("Side", (), body, mitten(style).usual(), **layer, style=style)
    return balanced(grade(block, table))


@pytest.mark.parametrize("each_hand", [False, True])
def test_it_is_drawn_once_and_says_either_hand(run, each_hand):
    drawings = PieceDrawings(run, cut_lines(run), Wanted("abc", each_hand=each_hand)).of_size(0)
    assert [(one.piece.name, one.hand, one.other) for one in drawings] == [
        ("Trank", "either", ""),
        ("Thumb", "either", ""),
    ]
    for one in drawings:
        words = one.drawings._words(one)
        assert "EITHER HAND" in words
        assert "cut 2, either hand" in words
        assert not any("right" in text or "left" in text for text in words)


def test_the_card_and_the_cut_list_say_how_many_for_either_hand(run):
    assert all(row.text.startswith("cut 2, either hand") for row in _cut_list(run.block).rows)
    book = Book("Cut")
    cut_list(book, run, "mm")
    sheet = openpyxl.load_workbook(io.BytesIO(book.to_bytes()))["Cut list"]
    rows = [[cell.value for cell in row[:5]] for row in sheet.iter_rows() if row[0].value in ("Trank", "Thumb")]
    assert [(row[0], row[1], row[4]) for row in rows if row[1] == "either"] == [
        ("Trank", "either", 2),
        ("Thumb", "either", 2),
    ]
    assert not any(row[1] in ("left", "right") for row in rows)


def test_the_stock_counts_two_of_it_for_a_pair(run):
    pieces = [(piece.name, piece.hand) for piece in pieces_of_pairs(run)[0]]
    assert sorted(pieces) == [("Thumb", "either")] * 2 + [("Trank", "either")] * 2


def test_cutting_files_say_so_too(run):
    for file in cutting_files(run, cut_lines(run), "abc"):
        for piece in file.pieces:
            assert "EITHER HAND" in [one.text for one in piece.words]
