"""How one customer's hand and mitten relate to the nearest stock size: a table, and the sheet that is printed of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from grading.drafting.one_hand import OneHand
from grading.drawing.composing import on_few_sheets
from grading.drawing.laying import Thing
from grading.drawing.marks import Curve, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.ruled import ruled_table
from grading.drawing.system import PLAIN, SMALL
from grading.engine.graded import GradedGroup
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.readings.measures import measured
from grading.units import DECIMALS, MM_PER, UNIT_WORDS, as_shown, rounded, show, show_row, signed, with_decimal

__all__ = ["ESTIMATED", "NEAREST", "nearest_of", "nearest_sheet", "nearest_table"]

#: The name of the sheet's file.
NEAREST = "nearest-size.pdf"
#: What the figures are that were not measured.
ESTIMATED = "Where ± stands the figure is estimated, and may be off by so much"

#: Lengths in mm, two of them that are held against each other, and a unit: as texts, with what the two are apart.
Shown = Callable[[Sequence[float], tuple[float, float], str], list[str]]


def nearest_of(pair: Sequence[OneHand]) -> OneHand:
    """The hand whose nearest size a pair is held against: the larger."""
    return max(pair, key=lambda one: float(one.graded.run.table.values[0, 0]))


Rows = tuple[list[str], list[list[str]]]


def nearest_table(pair: Sequence[OneHand], stock: GradedGroup, unit: str) -> Rows:
    """Headings and rows: every measurement and every finished measure of each hand side by side, and of the stock size.

    What is apart is by how much the left is longer than the right, or, of a pair that is alike, the pair than the
    stock size.
    """
    return _table(pair, stock, unit, _as_on_a_tape)


def _table(pair: Sequence[OneHand], stock: GradedGroup, unit: str, shown: Shown) -> Rows:
    size = f"size {nearest_of(pair).nearest}"
    hands = ["this pair", size, "apart"] if len(pair) == 1 else [*(one.hand for one in pair), "apart", size]
    rows = [
        [name, *_side_by_side(mine, theirs, unit, shown), source]
        for name, mine, theirs, source in _compared(pair, stock, unit)
    ]
    return [UNIT_WORDS[unit], *hands, "from"], rows


def nearest_sheet(pair: Sequence[OneHand], name: str, stock: GradedGroup, printing: Printing, unit: str) -> bytes:
    """The table as a PDF file, with both hands of a pair on it, called ``name``."""
    graded = pair[0].graded
    run, nearest = graded.run, nearest_of(pair).nearest
    headings, rows = _table(pair, stock, unit, _as_on_paper)
    title = f"{run.block.name} · {name} · against size {nearest} of {stock.run.group}"
    # The words stand first, the figures after them.
    order = (0, len(headings) - 1, *range(1, len(headings) - 1))
    table = ruled_table([headings[i] for i in order], [[row[i] for i in order] for row in rows], words=2)
    things = [
        *(thing for one in pair for thing in _drawn_over(one, stock, nearest)),
        Thing("figures", (table,)),
        Thing("notes", tuple(_notes(pair, nearest, width) for width in (150.0, 88.0, 62.0, 50.0))),
    ]
    block = TitleBlock("nearest size", run.block.name, name, scale="1 : 2", date=run.block.date, run=graded.run_id)
    about = About(title, subject=f"Nearest size, run {graded.run_id}", keywords=("mitten", name))
    return pdf_bytes(numbered(on_few_sheets(things, printing, block)), about)


def _notes(pair: Sequence[OneHand], nearest: str, width: float) -> Drawing:
    """Which line is whose, and how sure the estimates are."""
    said = [
        f"{ESTIMATED}: it follows from the figures given, by regression on the size table. People differ more than a "
        "table shows: where ± stands alone, nineteen in twenty of those measured lie within it; 'at least ±' is the "
        "least by measurements of the same kind, and more hands may lie outside. Measure what matters.",
        CAUTIONS_IN_SHORT,
    ]
    whose = "this pair" if len(pair) == 1 else "the hand that is named"
    marks: list[Mark] = []
    for row, (role, words) in enumerate(((Role.CUT_LINE, whose), (Role.SEW_LINE, f"size {nearest}"))):
        y = -SMALL - row * 4.5
        marks += [
            line([(0, y + SMALL / 2), (18, y + SMALL / 2)], role),
            Text(f"{words}, sew line at 1 : 2", 21, y, SMALL),
        ]
    key = Drawing(tuple(marks))
    estimated = any(one.estimates for one in pair)
    view = pair[0].graded.run.block.shown
    drawn = f"Drawn with its {view}." if len(pair) == 1 else f"Both drawn with their {view.face} up."
    said = [drawn, *(said if estimated else said[1:])]
    return key + paragraph(said, 0, key.box.bottom - 2, width, Text("", 0, 0, SMALL))


def _drawn_over(one: OneHand, stock: GradedGroup, nearest: str) -> Iterator[Thing]:
    """Each piece, half as large as it is, over the stock size's, one stacking point on the other."""
    size = stock.run.sizes.index(nearest)
    for name, piece in one.graded.run.pieces.items():
        other = stock.run.pieces[name]
        marks: list[Mark] = []
        for drawn, of, role in ((other, size, Role.SEW_LINE), (piece, 0, Role.CUT_LINE)):
            at = drawn.stacking_point[of]
            marks += [Curve((beziers[of] - at) / 2, role, closed=True) for beziers in drawn.beziers.values()]
        marks += [line([(-1.5, 0), (1.5, 0)], Role.RULE), line([(0, -1.5), (0, 1.5)], Role.RULE)]
        drawing = Drawing(tuple(marks))
        if one.graded.run.block.shown.reversed:
            drawing = drawing.mirrored()
        named = name if one.hand == "both" else f"{name}, {one.hand}"
        title = Text(named, drawing.box.left, drawing.box.top + 2, PLAIN, bold=True)
        yield Thing(named, (drawing + Drawing((title,)),))


def _compared(
    pair: Sequence[OneHand], stock: GradedGroup, unit: str
) -> Iterator[tuple[str, Sequence[float], float, str]]:
    """What is compared, in mm of each hand and of the stock size, and where it is from."""
    tables = [one.graded.run.table for one in pair]
    size = stock.run.sizes.index(nearest_of(pair).nearest)
    own = zip(*(table.values[:, 0] for table in tables), strict=True)
    for name, mine, theirs in zip(tables[0].measurements, own, nearest_of(pair).stock, strict=True):
        yield name, mine, theirs, _source(pair, name, unit)
    patterns, of_stock = [measured(one.graded.run) for one in pair], measured(stock.run)
    finished = zip(*(pattern.values[:, 0] for pattern in patterns), strict=True)
    for measure, mine, theirs in zip(patterns[0].measures, finished, of_stock.values[:, size], strict=True):
        yield measure.name, mine, theirs, "finished"


def _source(pair: Sequence[OneHand], measurement: str, unit: str) -> str:
    """Where a measurement is from; of an estimate how far it may be off, in the hand where it may be furthest."""
    made = [one for hand in pair for one in hand.estimates if one.measurement == measurement]
    if not made:
        return "measured"
    estimate = max(made, key=lambda one: one.within)
    return f"{'' if estimate.surely else 'at least '}± {show(estimate.within, unit)}"


def _side_by_side(mine: Sequence[float], theirs: float, unit: str, shown: Shown) -> list[str]:
    """What each hand has and the stock size, and what is apart: left and right, or the pair and the stock size."""
    if len(mine) == 1:
        return shown((mine[0], theirs), (mine[0], theirs), unit)
    left, right, stock, apart = shown((*mine, theirs), (mine[0], mine[1]), unit)
    return [left, right, apart, stock]


def _as_on_a_tape(lengths: Sequence[float], apart: tuple[float, float], unit: str) -> list[str]:
    """Lengths side by side, and what two of them are apart as they are printed: the sums on the sheet add up."""
    one, other = (as_shown(mm, unit) for mm in apart)
    return [*show_row(lengths, unit), signed(one - other, unit)]


def _as_on_paper(lengths: Sequence[float], apart: tuple[float, float], unit: str) -> list[str]:
    """The same, each length in inches with its decimal in brackets."""
    by_tape = _as_on_a_tape(lengths, apart, unit)
    if unit != "in":
        return by_tape
    one, other = (rounded(mm / float(MM_PER["in"]), DECIMALS["in"]) for mm in apart)
    decimal = "" if one == other else f" ({one - other:+.{DECIMALS['in']}f})"
    return [*(with_decimal(mm, unit) for mm in lengths), f"{by_tape[-1]}{decimal}"]
