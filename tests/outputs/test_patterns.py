"""The printed patterns read back by PDFium and pypdf, which share no code with what wrote them."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdf
import pytest
from pdf_paths import paths

from grading.drawing.paper import PAPERS, Printing
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.outputs.patterns import patterns
from grading.outputs.pieces import Wanted
from grading.readings.cut_lines import cut_lines

WANTED = Wanted("1f3a9c2b7d")
OTHER_PAPERS = ["letter", "a3", "tabloid", "sheet"]


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


def files(runs, printing: Printing, wanted: Wanted = WANTED) -> dict[tuple[str, int], bytes]:
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


def crosses(page: list[np.ndarray]) -> np.ndarray:
    """The middles (n, 2) of the registration crosses: two strokes of 6 mm each that share their middle."""
    strokes = [path for path in page if len(path) == 2 and abs(np.hypot(*(path[1] - path[0])) - 6) < 0.01]
    middles = [tuple(path.mean(axis=0).round(2)) for path in strokes]
    return np.array(sorted({middle for middle in middles if middles.count(middle) == 2}))


def test_tiles_laid_together_by_their_crosses_show_one_outline(a4_patterns, a4_pages, a4_found):
    several = 0
    for key, found in a4_found.items():
        texts = [page.extract_text() for page in pypdf.PdfReader(BytesIO(a4_patterns[key])).pages]
        for places in found:
            laid = []
            for number, path in places:
                tile = re.search(r"Tile ([A-Z])(\d) of", texts[number])
                if tile:
                    corners = crosses(a4_pages[key][number])
                    row, column = ord(tile[1]) - ord("A"), int(tile[2]) - 1
                    laid.append(path - corners.min(axis=0) + np.ptp(corners, axis=0) * (column, -row))
            several += len(laid) > 1
            assert all(np.abs(path - laid[0]).max() < 0.1 for path in laid), key
    assert several > 50


def test_no_page_is_without_a_part_of_a_cut_line(a4_patterns, a4_found):
    for key, found in a4_found.items():
        sheets = pypdf.PdfReader(BytesIO(a4_patterns[key])).pages
        shown = set()
        for number, path in (place for places in found for place in places):
            sides = (
                float(side) * 25.4 / 72 for side in (sheets[number].mediabox.width, sheets[number].mediabox.height)
            )
            if ((path > (12, 35)) & (path < np.array([*sides]) - (7, 15))).all(axis=1).sum() > 5:
                shown.add(number)
        assert shown == set(range(len(sheets))), key


def test_a_shape_on_several_tiles_is_stored_once(a4_patterns):
    for data in a4_patterns.values():
        reader = pypdf.PdfReader(BytesIO(data))
        forms = [
            {page["/Resources"]["/XObject"].raw_get(name).idnum for name in page["/Resources"]["/XObject"]}
            for page in reader.pages
        ]
        titles = [entry for entry in reader.outline if not isinstance(entry, list)]
        assert len(set().union(*forms)) == 2 * len(titles)  # a drawing, and what its pages say alike
        assert len(data) < 70_000


def test_the_first_page_lists_what_every_page_holds(a4_patterns):
    text = pypdf.PdfReader(BytesIO(a4_patterns["Women", 2])).pages[0].extract_text()
    held = " ".join(re.findall(r"\d(?:–\d)?: .*", text))
    for piece in ("Trank right", "Trank left", "Thumb right", "Thumb left"):
        assert piece in held


def test_every_page_says_run_face_scale_and_size(a4_patterns):
    for page in pypdf.PdfReader(BytesIO(a4_patterns["Children", 0])).pages:
        text = page.extract_text()
        for words in ("run 1f3a9c2b7d", "block of 2026-11-02", "scale 1:1", "outside of the skin up", "size 2-3"):
            assert words in " ".join(text.split())


def test_pairs_take_no_more_sheets_of_a4_than_these(a4_patterns):
    # Counted from the pieces' own sides: a trank over 190 × 240 mm cannot stand on one sheet.
    counted = {key: len(pypdf.PdfReader(BytesIO(data)).pages) for key, data in a4_patterns.items()}
    assert counted["Children", 0] == 2
    assert counted["Women", 2] == 4
    assert max(counted.values()) == 5


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
        assert "no seam allowance" in pypdf.PdfReader(BytesIO(data)).pages[0].extract_text()


def test_file_names_are_made_safe(block, tables):
    table = tables["Women"]
    odd = replace(table, sizes=("8/9", "8:9", *table.sizes[2:]), places={})
    run = grade(block, odd)
    names = [name for name, _ in patterns(run, cut_lines(run), Printing(PAPERS["sheet"]), WANTED)]
    assert names[:3] == ["8-9", "8-9 (2)", "W3"]
