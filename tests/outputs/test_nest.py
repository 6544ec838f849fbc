"""The nest as printed: read back with PDFium, every size as large as the library says, nothing over anything."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdf
import pytest
from legible import overlapping_texts
from pdf_paths import paths

from grading.drawing.marks import Curve, Text
from grading.drawing.paper import PAPERS, Printing
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.outputs.nest import TALLEST_TABLE, WIDEST_TABLE, grade_table, grade_tables, nest, nested

GROUPS = ("Women", "Men", "Children")
A4, SHEET = Printing(PAPERS["a4"]), Printing(PAPERS["sheet"])


@pytest.fixture(scope="module")
def printed(runs):
    return {
        (group, printing.paper.name): nest(runs[group], printing, run_id="0123456789", unit="mm")
        for group in GROUPS
        for printing in (A4, SHEET)
    }


def text_of(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages)


@pytest.mark.parametrize("group", GROUPS)
def test_each_sizes_trank_is_as_wide_and_high_as_the_library_says(runs, printed, group):
    run = runs[group]
    drawn = [path for path in paths(printed[group, "sheet"]) if len(path) > 25]
    sizes = {tuple(np.ptp(path, axis=0).round(2)) for path in drawn}
    for size in range(len(run.sizes)):
        # The half beside the mirror line, which is the trank's edge in the drawing.
        whole = Curve(run.pieces["Trank"].boundary[size], "sew line").box
        box = whole._replace(left=0.0)
        assert any(abs(w - box.width) < 0.05 and abs(h - box.height) < 0.05 for w, h in sizes), run.sizes[size]


@pytest.mark.parametrize("paper", ["a4", "sheet"])
def test_the_check_bar_is_100_mm_on_every_page(printed, paper):
    data = printed["Women", paper]
    for page in range(len(pypdf.PdfReader(BytesIO(data)).pages)):
        lengths = [np.hypot(*np.ptp(path, axis=0)) for path in paths(data, page) if len(path) == 2]
        assert min(abs(length - 100) for length in lengths) < 0.02
        assert min(abs(length - 4 * 25.4) for length in lengths) < 0.02


@pytest.mark.parametrize("group", GROUPS)
def test_labels_do_not_lie_over_one_another(runs, group):
    for piece in runs[group].pieces.values():
        assert overlapping_texts(nested(runs[group], piece)) == []


def test_every_size_is_named_on_every_piece_and_hole_in_order(runs):
    for run in runs.values():
        for piece in run.pieces.values():
            names = [mark for mark in nested(run, piece).marks if isinstance(mark, Text) and mark.text in run.sizes]
            for at in range(0, len(names), len(run.sizes)):
                column = names[at : at + len(run.sizes)]
                assert [name.text for name in column] == list(run.sizes)
                assert (np.diff([name.y for name in column]) >= 4.0).all()
            assert len(names) == len(run.sizes) * len(piece.beziers)


@pytest.mark.parametrize(("paper", "most"), [("a4", 2), ("letter", 2), ("a3", 1), ("tabloid", 1)])
def test_a_nest_takes_few_sheets(runs, printed, paper, most):
    for group in GROUPS:
        data = printed.get((group, paper)) or nest(runs[group], Printing(PAPERS[paper]), run_id="0", unit="mm")
        assert len(pypdf.PdfReader(BytesIO(data)).pages) <= most, group


def test_the_table_of_grade_points_holds_the_increments_of_the_run(runs):
    run = runs["Women"]
    trank = run.pieces["Trank"]
    texts = [mark.text for mark in grade_table(trank, run.sizes, "mm").marks if hasattr(mark, "text")]
    row = texts.index("knuckle")
    # half of a girth step of 12 mm across, a palm length step of 3 mm up
    assert texts[row + 1 : row + 3] == ["+6.00", "+3.00"]


def test_every_page_says_run_date_and_scale_and_the_file_its_unit_and_cautions_once(printed):
    pages = [page.extract_text() for page in pypdf.PdfReader(BytesIO(printed["Children", "a4"])).pages]
    for text in pages:
        for words in ("0123456789", "2026-11-02", "1 : 1"):
            assert words in text
    assert "".join(pages).count("Blades") == 1
    assert "grade points, mm" in "".join(pages)


def test_the_file_has_bookmarks_metadata_and_its_font_in_it(printed):
    reader = pypdf.PdfReader(BytesIO(printed["Women", "a4"]))
    titles = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    assert any("Trank" in title for title in titles)
    assert any("Thumb" in title for title in titles)
    assert "Women" in reader.metadata.title
    fonts = {
        str(font["/BaseFont"])
        for page in reader.pages
        for font in (f.get_object() for f in page["/Resources"]["/Font"].values())
    }
    assert all("+DejaVu" in font for font in fonts), fonts


def test_a_group_without_the_base_size_says_whose_hand_the_block_was_drafted_for(block, tables):
    run = balanced(grade(block, tables["Men"]))
    assert run.base is None
    assert "The base block was drafted for a hand" in " ".join(text_of(nest(run, A4, run_id="0", unit="mm")).split())


def test_one_size_alone_makes_a_nest(runs, tables, block):
    women = tables["Women"]
    one = replace(women, sizes=("W3",), values=women.values[:, [2]])
    assert nest(balanced(grade(block, one)), A4, run_id="0", unit="in").startswith(b"%PDF")


def test_grade_points_of_a_run_with_one_wider_step_are_told_step_by_step(block, tables):
    women = tables["Women"]
    values = women.values.copy()
    values[women.measurements.index("fist girth"), 3:] += 1.0  # half a millimetre to each side
    run = balanced(grade(block, replace(women, values=values)))
    words = {mark.text for mark in grade_table(run.pieces["Trank"], run.sizes, "mm").marks if isinstance(mark, Text)}
    assert {"to W3", "to W4", "dx", "+6.00", "+6.50"} <= words
    assert "each step dx" not in words


def test_increments_of_the_grade_table_end_below_one_another_and_names_begin_so(runs):
    piece = runs["Women"].pieces["Trank"]
    marks = [mark for mark in grade_table(piece, runs["Women"].sizes, "mm").marks if isinstance(mark, Text)]
    figures = [mark.box.right for mark in marks if re.fullmatch(r"[+−-]?\d+\.\d\d", mark.text)]
    assert len(figures) >= 2 * len(piece.shape.names)
    assert len({round(end, 3) for end in figures}) == len(figures) / len(piece.shape.names)
    names = [mark.box.left for mark in marks if mark.text in piece.shape.names]
    assert len({round(begin, 3) for begin in names}) == 1


def test_a_grade_table_that_is_too_wide_is_parted_into_several_with_every_step_once(runs):
    piece, sizes = runs["Children"].pieces["Trank"], runs["Children"].sizes
    points = np.concatenate([piece.points, piece.points[-1:] + np.arange(1, 31)[:, None, None] ** 1.1])
    many = replace(piece, points=points)
    named = [f"S{number}" for number in range(len(points))]
    tables = grade_tables(many, named, "mm", 1)
    assert len(tables) > 1
    assert all(table.box.width <= WIDEST_TABLE for table in tables)
    steps = [mark.text.split()[0] + mark.text.split()[1] for table in tables for mark in table.marks
             if isinstance(mark, Text) and mark.text.startswith("to ")]  # fmt: skip
    assert set(steps) == {f"to{name}" for name in named[1:]}
    assert len(sizes) > 2


@pytest.mark.parametrize("paper", ["a4", pytest.param("letter", marks=pytest.mark.long)])
def test_a_nest_of_very_many_sizes_tells_the_line_of_each(many_sizes, paper):
    said = text_of(nest(many_sizes, Printing(PAPERS[paper]), run_id="0", unit="in"))
    assert set(re.findall(r"(S\d+)(?: \(base\))?: fist girth", said)) == set(many_sizes.sizes)


def test_of_sizes_too_many_to_name_those_are_named_that_have_room(many_sizes):
    trank = nested(many_sizes, many_sizes.pieces["Trank"])
    assert overlapping_texts(trank) == []
    named = [mark.text for mark in trank.marks if isinstance(mark, Text) and mark.text in many_sizes.sizes]
    assert {"S1", "S100"} <= set(named)


def test_a_piece_of_very_many_grade_points_has_them_in_several_tables(runs):
    run = runs["Women"]
    trank = run.pieces["Trank"]
    names = tuple(f"p{i}" for i in range(130))
    many = replace(
        trank,
        shape=replace(trank.shape, names=names),
        points=np.repeat(trank.points[:, :1], 130, axis=1) + np.arange(130)[:, None],
    )
    tables = grade_tables(many, run.sizes, "mm", 1)
    assert all(table.box.width <= WIDEST_TABLE and table.box.height <= TALLEST_TABLE for table in tables)
    told = [mark.text for table in tables for mark in table.marks if isinstance(mark, Text) and mark.text in names]
    assert told == list(names)
