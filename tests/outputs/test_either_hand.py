"""A piece that is its own mirror image is cut, printed and counted for either hand, and never for one of them."""

from __future__ import annotations

import io
import re

import openpyxl
import pypdf
import pytest

from grading.drafting.draft import draft
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.drawing.paper import PAPERS, Printing
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.outputs.cards import cards
from grading.outputs.cutting.layers import cutting_files
from grading.outputs.nest import nest
from grading.outputs.patterns import patterns
from grading.outputs.pieces import PatternKind, PieceDrawings
from grading.outputs.size_sheet import _cut_list
from grading.outputs.spec.cutting import cut_list
from grading.readings.cut_lines import cut_lines
from grading.stock.mock_up import trial_hand
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
    drawings = PieceDrawings(run, cut_lines(run), PatternKind("abc", each_hand=each_hand)).of_size(0)
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


def test_cutting_files_say_so_too_one_for_both_hands(run):
    files = cutting_files(run, cut_lines(run), "abc")
    assert [(file.size, file.hand) for file in files] == [(size, "either") for size in run.sizes]
    for file in files:
        assert [piece.piece.name for piece in file.pieces] == ["Trank", "Trank", "Thumb", "Thumb"]
        for piece in file.pieces:
            assert "EITHER HAND" in [one.text for one in piece.words]


def test_no_sheet_of_a_run_names_one_hand(run):
    """Read by pypdf. What whoever sews measures is a pair, so that check sheets keep a box for each mitten."""
    printing = Printing(PAPERS["a4"])
    printed = [data for _, data in patterns(run, cut_lines(run), Printing(PAPERS["sheet"]), PatternKind("abc"))]
    printed += [cards(run, printing, run_id="abc", unit="mm"), nest(run, printing, run_id="abc", unit="mm")]
    for data in printed:
        text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
        assert "either hand" in text.lower()
        assert not re.search(r"\b(left|right) hand", text, re.IGNORECASE)
        assert "mirrors" not in text


def test_a_mock_up_takes_one_of_each_piece(run):
    pieces = {("Women", "W3"): pieces_of_pairs(run)[2]}
    trial = trial_hand(pieces, "W3", {"Women": run.block.shown.hand})
    assert sorted(piece.name for piece in trial.pieces) == ["Thumb", "Trank"]
