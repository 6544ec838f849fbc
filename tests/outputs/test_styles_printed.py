"""Patterns and cards of every pair of choices, read back by PDFium and pypdf."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from itertools import combinations, product

import numpy as np
import pypdf
import pytest
from pdf_paths import paths

from grading.drafting.draft import draft
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import PARTS, STANDARD, Style, mitten, senseless, spelled
from grading.drawing.paper import PAPERS, Printing
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.model.block import BOUNDARY
from grading.outputs.cards import cards
from grading.outputs.patterns import patterns
from grading.outputs.pieces import PatternKind
from grading.readings.cut_lines import cut_lines
from grading.readings.measures import measured

EVERY = [
    style
    for chosen in product(*PARTS.values())
    for style in [dict(zip(PARTS, chosen, strict=True))]
    if not list(senseless(style))
]


def pairs_of(style: Style) -> set[tuple[tuple[str, str], ...]]:
    return set(combinations(style.items(), 2))


def pairwise_styles() -> list[Style]:
    """Styles in which every two choices that make sense together come together at least once."""
    left = set().union(*map(pairs_of, EVERY))
    drawn = []
    while left:
        best = max(EVERY, key=lambda style: len(left & pairs_of(style)))
        left -= pairs_of(best)
        drawn.append(best)
    return drawn


#: For the quick suite one as unlike the standard style as can be, and one with slits; the others take minutes.
STYLES = pairwise_styles()
QUICK = (
    max(STYLES, key=lambda style: sum(choice != STANDARD[part] for part, choice in style.items())),
    next(style for style in STYLES if style["cuff"] == "leather band"),
)


def small_middle_and_large(style: Style, group: str) -> SizeRun:
    table = next(table for table in demo_sizes() if table.group == group)
    column = table.sizes.index(BASES[group])
    body = dict(zip(table.measurements, table.values[:, column].tolist(), strict=True))
    made = mitten(style)
    layer = {"lining thickness": 0.0, **made.layer}
    block = draft(
        "Own",
        (),
        body,
        made.usual(small=group == "Children"),
        compressed_pile=layer["compressed pile"],
        leather=layer["leather thickness"],
        lining=layer["lining thickness"],
        date="",
        style=style,
    )
    few = [0, len(table.sizes) // 2, len(table.sizes) - 1]
    sizes = tuple(table.sizes[size] for size in few)
    return balanced(grade(block, replace(table, sizes=sizes, values=table.values[:, few], places={})))


@pytest.mark.parametrize(
    "style",
    [
        pytest.param(style, id=spelled(style), marks=[] if style in QUICK else [pytest.mark.long])
        for style in sorted(STYLES, key=spelled)
    ],
)
def test_it_is_printed_as_it_was_graded(style):
    run = small_middle_and_large(style, "Women")
    loops = cut_lines(run)
    for size, (_, data) in enumerate(patterns(run, loops, SHEET, PatternKind("1"))):
        printed = [path for page in range(len(pypdf.PdfReader(BytesIO(data)).pages)) for path in paths(data, page)]
        for name in run.pieces:
            assert stands(list(lines_of(run, loops, name, size)), printed), name
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(card_of(run))).pages)
    found = measured(run)
    for measure, figures in zip(found.measures, found.values, strict=True):
        if measure.tolerance_plus is not None:
            assert f"{figures[0]:.1f}" in text, measure.name
    for step in run.block.making:
        assert step.what_to_do.split()[0] in text


SHEET = Printing(PAPERS["sheet"])


def card_of(run: SizeRun) -> bytes:
    return cards(run, Printing(PAPERS["a4"]), run_id="1", unit="mm")


def lines_of(run: SizeRun, loops, piece: str, size: int) -> Iterator[np.ndarray]:
    """The lines (n, 2) of a piece: what is cut, beginning with its outline, what is sewn, folds and slits."""
    graded = run.pieces[piece]
    own = sorted((loop for loop in loops if loop.piece == piece), key=lambda loop: loop.loop != BOUNDARY)
    for loop in own:
        yield loop.lines[size].polygon
    allowance = {kind.name: kind.allowance for kind in run.block.seam_types}
    for edge in run.block.edges:
        if edge.piece == piece and edge.points and allowance[edge.seam_type] > 0:
            stretch = graded.shape.edges[edge.name]
            handles = graded.beziers[stretch.loop][size, stretch.segments]
            yield np.concatenate([handles[:1, 0], handles[:, 1:].reshape(-1, 2)])
    for mark in run.block.marks:
        if mark.piece == piece and mark.kind in ("fold line", "double fold", "slit"):
            ends = np.array([graded.point(point)[size] for point in mark.points])
            yield from ends.reshape(-1, 2, 2)


def stands(lines: list[np.ndarray], printed: list[np.ndarray]) -> bool:
    """Whether all lines (n, 2) of a piece are among the paths, to 0.05 mm: all turned over, turned to the left and
    moved as its outline, the first of them, is.
    """
    for turn in (np.array(turned) for turned in (((1, 0), (0, 1)), ((0, 1), (-1, 0)))):
        for over in (np.diag([1, 1]), np.diag([-1, 1])):
            first, *others = (line @ over @ turn for line in lines)
            for shift in (path[0] - first[0] for path in printed if same(first, path - path[0] + first[0])):
                if all(any(same(line + shift, path) for path in printed) for line in others):
                    return True
    return False


def same(line: np.ndarray, path: np.ndarray) -> bool:
    path = path[:-1] if len(path) == len(line) + 1 else path  # PDFium closes it by its first point
    return len(path) == len(line) and min(np.abs(path - way).max() for way in (line, line[::-1])) < 0.05
