"""Patterns and cards of every pair of choices, read back by PDFium and pypdf."""

from __future__ import annotations

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
from grading.outputs.cards import cards
from grading.outputs.patterns import patterns
from grading.outputs.pieces import Wanted
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


#: One style for the quick suite, as unlike the standard one as can be; the others take minutes.
STYLES = pairwise_styles()
QUICK = max(STYLES, key=lambda style: sum(choice != STANDARD[part] for part, choice in style.items()))


def small_middle_and_large(style: Style, group: str) -> SizeRun:
    table = next(table for table in demo_sizes() if table.group == group)
    column = table.sizes.index(BASES[group])
    body = dict(zip(table.measurements, table.values[:, column].tolist(), strict=True))
    allowances = mitten(style).usual(small=group == "Children")
    block = draft("Own", (), body, allowances, compressed_pile=1.8, leather=1.0, date="", style=style)
    few = [0, len(table.sizes) // 2, len(table.sizes) - 1]
    sizes = tuple(table.sizes[size] for size in few)
    return balanced(grade(block, replace(table, sizes=sizes, values=table.values[:, few], places={})))


@pytest.mark.parametrize(
    "style",
    [
        pytest.param(style, id=spelled(style), marks=[] if style == QUICK else [pytest.mark.long])
        for style in sorted(STYLES, key=spelled)
    ],
)
def test_it_is_printed_as_it_was_graded(style):
    run = small_middle_and_large(style, "Women")
    loops = cut_lines(run)
    for size, (_, data) in enumerate(patterns(run, loops, SHEET, Wanted("1"))):
        printed = [path for page in range(len(pypdf.PdfReader(BytesIO(data)).pages)) for path in paths(data, page)]
        for loop in loops:
            assert stands(loop.lines[size].polygon, printed), (loop.piece, loop.loop)
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


def stands(outline: np.ndarray, printed: list[np.ndarray]) -> bool:
    """Whether an outline (n, 2), or its mirror image, is among the paths, turned to the left or not, to 0.05 mm."""
    wanted = [outline * [sign, 1] for sign in (1, -1)]
    wanted += [one @ [(0, 1), (-1, 0)] for one in wanted]
    for path in printed:
        path = path[:-1] if len(path) == len(outline) + 1 else path  # PDFium closes it by its first point
        if len(path) == len(outline) and any(np.abs(path - path[0] - (one - one[0])).max() < 0.05 for one in wanted):
            return True
    return False
