"""How one customer's hand and mitten relate to the nearest stock size: a table, and the sheet that is printed of it."""

from __future__ import annotations

from collections.abc import Iterator

from grading.drafting.one_hand import OneHand
from grading.drawing.composing import on_few_sheets
from grading.drawing.laying import Thing
from grading.drawing.marks import Curve, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.ruled import ruled_table
from grading.drawing.styles import Styles
from grading.drawing.system import PLAIN, SMALL
from grading.engine.graded import GradedGroup
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.readings.measures import measured
from grading.units import UNIT_WORDS, as_shown, show

__all__ = ["NEAREST", "nearest_sheet", "nearest_table"]

#: The name of the sheet's file.
NEAREST = "nearest-size.pdf"


def nearest_table(one: OneHand, stock: GradedGroup, unit: str) -> tuple[list[str], list[list[str]]]:
    """Headings and rows: every measurement and every finished measure, the hand's, the stock size's, and the rest."""
    headings = [
        "",
        f"{'this pair' if one.hand == 'both' else 'this hand'} ({UNIT_WORDS[unit]})",
        f"size {one.nearest}",
        "apart",
        "from",
    ]
    return headings, list(_rows(one, stock, unit))


def nearest_sheet(one: OneHand, stock: GradedGroup, printing: Printing, unit: str) -> bytes:
    """The table as a PDF file."""
    run = one.graded.run
    headings, rows = nearest_table(one, stock, unit)
    title = f"{run.block.name} · {run.group} · against size {one.nearest} of {stock.run.group}"
    # The words stand first, the figures after them.
    order = (0, 4, 1, 2, 3)
    table = ruled_table([headings[i] for i in order], [[row[i] for i in order] for row in rows], words=2)
    things = [
        *(Thing(piece, (over,)) for piece, over in _drawn_over(one, stock)),
        Thing("figures", (table,)),
        Thing("notes", tuple(_notes(one, width) for width in (88.0, 62.0, 50.0))),
    ]
    block = TitleBlock(
        "nearest size", run.block.name, run.group, scale="1 : 2", date=run.block.date, run=one.graded.run_id
    )
    about = About(title, subject=f"Nearest size, run {one.graded.run_id}", keywords=("mitten", run.group))
    return pdf_bytes(numbered(on_few_sheets(things, printing, block)), Styles(), about)


def _notes(one: OneHand, width: float) -> Drawing:
    """Which line is whose, and how sure the estimates are."""
    said = [
        "An estimate follows from the figures given, by regression on the size table. People differ more than a table "
        "shows: where ± stands alone, nineteen in twenty of those measured lie within it; 'at least ±' is the least "
        "by measurements of the same kind, and more hands may lie outside. Measure what matters.",
        CAUTIONS_IN_SHORT,
    ]
    whose = "this pair" if one.hand == "both" else "this hand"
    marks: list[Mark] = []
    for row, (role, words) in enumerate(((Role.CUT_LINE, whose), (Role.SEW_LINE, f"size {one.nearest}"))):
        y = -SMALL - row * 4.5
        marks += [
            line([(0, y + SMALL / 2), (18, y + SMALL / 2)], role),
            Text(f"{words}, sew line at 1 : 2", 21, y, SMALL),
        ]
    key = Drawing(tuple(marks))
    said = [f"Drawn with its {one.graded.run.block.shown}.", *(said if one.estimates else said[1:])]
    return key + paragraph(said, 0, key.box.bottom - 2, width, Text("", 0, 0, SMALL))


def _drawn_over(one: OneHand, stock: GradedGroup) -> Iterator[tuple[str, Drawing]]:
    """Each piece, half as large as it is, over the stock size's, one stacking point on the other."""
    size = stock.run.sizes.index(one.nearest)
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
        title = Text(name, drawing.box.left, drawing.box.top + 2, PLAIN, bold=True)
        yield name, drawing + Drawing((title,))


def _rows(one: OneHand, stock: GradedGroup, unit: str) -> Iterator[list[str]]:
    run = one.graded.run
    estimates = {estimate.measurement: estimate for estimate in one.estimates}
    own = run.table.values[:, 0]
    for name, mine, theirs in zip(run.table.measurements, own, one.stock, strict=True):
        estimate = estimates.get(name)
        source = "measured"
        if estimate is not None:
            source = f"estimated, {'' if estimate.surely else 'at least '}± {show(estimate.within, unit)}"
        yield [name, show(mine, unit), show(theirs, unit), _apart(mine, theirs, unit), source]
    size = stock.run.sizes.index(one.nearest)
    pattern, of_stock = measured(run), measured(stock.run)
    for measure, mine, theirs in zip(pattern.measures, pattern.values[:, 0], of_stock.values[:, size], strict=True):
        yield [measure.name, show(mine, unit), show(theirs, unit), _apart(mine, theirs, unit), "finished"]


def _apart(mine: float, theirs: float, unit: str) -> str:
    """What one is longer than the other, as both are printed: the sums on the sheet add up."""
    mm = as_shown(mine, unit) - as_shown(theirs, unit)
    return f"+{show(mm, unit)}" if mm > 0 else show(mm, unit)
