"""The printed patterns read back by PDFium and pypdf, which share no code with what wrote them."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdf
import pytest
import shapely
from legible import crossed_texts, overlapping_texts
from pdf_paths import paths

from grading.drawing.laying import Thing, laid
from grading.drawing.marks import Role, Text
from grading.drawing.pages import TitleBlock, frames
from grading.drawing.paper import PAPERS, Printing
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.outputs.patterns import patterns
from grading.outputs.pieces import PatternKind, PieceDrawings
from grading.readings.cut_lines import cut_lines

ONE = PatternKind("1f3a9c2b7d")
WANTED = replace(ONE, each_hand=True)
TITLE = TitleBlock(
    "pattern", "Fair mitten", "Women", "Trank, Thumb", "W3", "right hand", "outside", date="2026-11-02", run="1"
)
OTHER_PAPERS = [
    "letter", pytest.param("a3", marks=pytest.mark.long), pytest.param("tabloid", marks=pytest.mark.long), "sheet"
]  # fmt: skip


@pytest.fixture(scope="session")
def few(block, tables):
    """Each group's smallest, middle and largest size."""
    found = {}
    for group, table in tables.items():
        picked = [0, len(table.sizes) // 2, len(table.sizes) - 1]
        sizes = tuple(table.sizes[size] for size in picked)
        found[group] = balanced(grade(block, replace(table, sizes=sizes, values=table.values[:, picked], places={})))
    return found


@pytest.fixture(scope="session")
def a4_patterns(runs):
    """The files of every size of every group on A4: {(group, size's number): bytes}."""
    return files(runs, Printing(PAPERS["a4"]))


@pytest.fixture(scope="session")
def a4_pages(a4_patterns):
    """The paths of every page of those files."""
    return {key: pages_of(data) for key, data in a4_patterns.items()}


@pytest.fixture(scope="session")
def a4_found(runs, a4_pages):
    """Where in those files each cut line of the library stands: for each of them its pages and its paths there."""
    wanted = outlines(runs)
    return {key: [found_in(pages, outline) for outline in wanted[key]] for key, pages in a4_pages.items()}


def files(runs, printing: Printing, wanted: PatternKind = WANTED) -> dict[tuple[str, int], bytes]:
    return {
        (group, size): data
        for group, run in runs.items()
        for size, (_, data) in enumerate(patterns(run, cut_lines(run), printing, wanted))
    }


def pages_of(data: bytes) -> list[list[np.ndarray]]:
    return [paths(data, page) for page in range(len(pypdf.PdfReader(BytesIO(data)).pages))]


def found_in(pages: list[list[np.ndarray]], outline: np.ndarray) -> list[tuple[int, np.ndarray]]:
    """Where an outline (n, 2) stands: the page and the path, wherever it lies and turned to the left or not."""
    found = []
    turned = outline @ [(0, 1), (-1, 0)]
    for number, page in enumerate(pages):
        for path in page:
            path = path[:-1] if len(path) == len(outline) + 1 else path  # PDFium closes it by its first point
            if len(path) == len(outline):
                shapes = (path - path[0] - (one - one[0]) for one in (outline, turned))
                if any(np.abs(off).max() < 0.05 for off in shapes):
                    found.append((number, path))
    return found


def outlines(runs) -> dict[tuple[str, int], list[np.ndarray]]:
    """Every cut line of the library, as drawn and mirrored: {(group, size's number): [outline]}."""
    return {
        (group, size): [loop.lines[size].polygon * [sign, 1] for loop in loops for sign in (1, -1)]
        for group, run in runs.items()
        for loops in [cut_lines(run)]
        for size in range(len(run.sizes))
    }


def test_every_cut_line_of_every_size_and_hand_is_true_on_a4(a4_found):
    for key, found in a4_found.items():
        assert len(found) == 6
        assert all(found), key


@pytest.mark.parametrize("paper", OTHER_PAPERS)
def test_cut_lines_are_true_on_every_paper(few, paper):
    wanted = outlines(few)
    for key, data in files(few, Printing(PAPERS[paper])).items():
        pages = pages_of(data)
        assert len(pages) == 1 or paper != "sheet"
        assert all(found_in(pages, outline) for outline in wanted[key]), key


def test_a_print_that_came_out_too_small_is_corrected_along_each_side(few):
    run = few["Women"]
    (_, data), *_ = patterns(run, cut_lines(run), Printing(PAPERS["a4"], 100 / 98.6, 100 / 99.1), WANTED)
    for number, page in enumerate(pypdf.PdfReader(BytesIO(data)).pages):
        lies = page.mediabox.width > page.mediabox.height
        printed = np.array([0.991, 0.986] if lies else [0.986, 0.991])
        came_out = [path * printed for path in paths(data, number)]
        assert any(found_in([came_out], outline) for outline in outlines({"Women": run})["Women", 0]), number


def tips(page: list[np.ndarray]) -> np.ndarray:
    """The tips (n, 2) of centring arrows, 7 mm long: a shaft, and a head that begins at its tip."""
    arrows = [path for path in page if len(path) in (5, 6) and abs(np.hypot(*(path[0] - path[2])) - 7) < 0.01]
    return np.array([arrow[2] for arrow in arrows]).reshape(-1, 2)


def test_sheets_laid_together_by_their_arrows_show_one_outline(a4_pages, a4_found):
    joined = 0
    for key, found in a4_found.items():
        for places in found:
            (first, path), *others = places
            for number, other in others:
                # The arrow tips of both sheets that lie alike in the outline fall on one another.
                here, there = tips(a4_pages[key][first]) - path[0], tips(a4_pages[key][number]) - other[0]
                apart = np.abs(here[:, None] - there[None]).max(axis=2)
                assert (apart.min(axis=1) < 0.01).sum() >= 2, key
                assert np.abs((path - path[0]) - (other - other[0])).max() < 0.0002
                joined += 1
    assert joined > 15


@pytest.mark.parametrize("each_hand", [False, True])
def test_joints_keep_15_mm_clear_of_holes_marks_and_what_runs_along_them(runs, each_hand):
    for run in runs.values():
        pieces = PieceDrawings(run, cut_lines(run), replace(ONE, each_hand=each_hand))
        upright, lying = ((frame.area.width, frame.area.height) for frame in frames(Printing(PAPERS["a4"]), TITLE))
        for size in range(len(run.sizes)):
            things = [Thing.piece(one.name, one.lines) for one in pieces.of_size(size)]
            for lay in (lay for sheet in laid(things, upright, lying).sheets for lay in sheet):
                lines = things[lay.thing].forms[lay.form]
                holes = sorted((m for m in lines.marks if m.role is Role.CUT_LINE), key=lambda m: m.box.width)[:-1]
                marks = [m for m in lines.marks if m.role in (Role.PIERCING, Role.NOTCH)]
                mirror = [m for m in lines.marks if m.role is Role.MIRROR_LINE]
                for mark in (*holes, *marks):
                    box = mark.box
                    assert all(not box.left - 15 + 1e-6 < x < box.right + 15 - 1e-6 for x in lay.parting.across)
                    assert all(not box.bottom - 15 + 1e-6 < y < box.top + 15 - 1e-6 for y in lay.parting.up)
                for x in lay.parting.across:
                    assert all(abs(m.box.left - x) >= 15 - 1e-6 for m in mirror if m.box.width < 1)
                for y in lay.parting.up:
                    assert all(abs(m.box.top - y) >= 15 - 1e-6 for m in mirror if m.box.height < 1)


def test_no_text_stands_across_a_joint_or_over_a_line(runs):
    for run in runs.values():
        pieces = PieceDrawings(run, cut_lines(run), ONE)
        upright, lying = ((frame.area.width, frame.area.height) for frame in frames(Printing(PAPERS["a4"]), TITLE))
        for size in range(len(run.sizes)):
            drawn = pieces.of_size(size)
            things = [Thing.piece(one.name, one.lines) for one in drawn]
            made = laid(things, upright, lying)
            for lay in (lay for sheet in made.sheets for lay in sheet):
                drawing = drawn[lay.thing].finished(lay.form, lay.parting)
                assert crossed_texts(drawing) == []
                assert overlapping_texts(drawing) == []
                for text in (mark for mark in drawing.marks if isinstance(mark, Text)):
                    assert sum(cell.box.contains(text.box) for cell in lay.parting.cells) == 1, text


def test_a_shape_on_several_tiles_is_stored_once(a4_patterns):
    for data in a4_patterns.values():
        reader = pypdf.PdfReader(BytesIO(data))
        forms = [
            {page["/Resources"]["/XObject"].raw_get(name).idnum for name in page["/Resources"]["/XObject"]}
            for page in reader.pages
        ]
        titles = [entry for entry in reader.outline if not isinstance(entry, list)]
        assert len(set().union(*forms)) == len({entry["/Title"] for entry in titles}) + 1  # each piece, and the key
        assert len(data) < 70_000


def test_every_sheet_says_run_face_scale_and_size_and_its_number(a4_patterns):
    pages = pypdf.PdfReader(BytesIO(a4_patterns["Children", 0])).pages
    for number, page in enumerate(pages, 1):
        text = " ".join(page.extract_text().split())
        for words in ("run 1f3a9c2b7d", "2026-11-02", "1 : 1", "outside up", "2-3", f"sheet {number} of {len(pages)}"):
            assert words in text


def test_one_pattern_serves_both_hands_with_a_label_for_the_back(few):
    for key, data in files(few, Printing(PAPERS["a4"]), ONE).items():
        text = " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages)
        size = few[key[0]].sizes[key[1]]
        shown, other = ("left", "right")  # as drawn from the inside, seen from the outside
        assert " ".join(text.split()).count(f"{shown.upper()} HAND") >= 2
        for piece in ("Trank", "Thumb"):
            assert f"{piece} {size} · {other.upper()} HAND" in text
        assert text.count("glue on the back of the card") == 2
        assert text.count("Key") == 1
        assert text.count("blades") == 1


@pytest.mark.parametrize(
    ("paper", "most", "filled"),
    [
        ("a4", 40, 0.48),
        pytest.param("letter", 43, 0.43, marks=pytest.mark.long),
        pytest.param("a3", 20, 0.43, marks=pytest.mark.long),
        pytest.param("tabloid", 20, 0.43, marks=pytest.mark.long),
    ],
)
def test_the_demo_takes_few_sheets_and_pieces_fill_them(runs, paper, most, filled):
    sheets, leather, room = 0, 0.0, 0.0
    printing = Printing(PAPERS[paper])
    inside = printing.upright().printable
    for (group, size), data in files(runs, printing, ONE).items():
        pages = len(pypdf.PdfReader(BytesIO(data)).pages)
        sheets += pages
        room += pages * inside.width * inside.height
        for loop in cut_lines(runs[group]):
            sign = 1 if loop.loop == "boundary" else -1
            leather += sign * shapely.Polygon(loop.lines[size].polygon).area
    assert sheets <= most
    assert leather / room >= filled, leather / room


def test_templates_are_the_sew_lines(few):
    run = few["Men"]
    for size, (_, data) in enumerate(
        patterns(run, cut_lines(run), Printing(PAPERS["letter"]), replace(WANTED, net=True))
    ):
        pages = pages_of(data)
        for piece in run.pieces.values():
            for beziers in piece.beziers.values():
                curve = np.concatenate([beziers[size, :1, 0], beziers[size, :, 1:].reshape(-1, 2)])
                for sign in (1, -1):
                    assert found_in(pages, curve * [sign, 1]), size
        assert "no seam allowance" in " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages)


def test_file_names_are_made_safe(block, tables):
    table = tables["Women"]
    odd = replace(table, sizes=("8/9", "8:9", *table.sizes[2:]), places={})
    run = grade(block, odd)
    names = [name for name, _ in patterns(run, cut_lines(run), Printing(PAPERS["sheet"]), WANTED)]
    assert names[:3] == ["8-9", "8-9 (2)", "W3"]
