"""How one customer's hand and mitten relate to the nearest stock size: a table, and the sheet that is printed of it."""

from __future__ import annotations

from collections.abc import Iterator

from grading.drafting.one_hand import OneHand
from grading.drawing.composing import on_sheets
from grading.drawing.marks import Text, paragraph
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.ruled import ruled_table
from grading.drawing.styles import Styles
from grading.drawing.system import SMALL
from grading.job import GradedGroup
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.readings.measures import measured
from grading.units import show

__all__ = ["NEAREST", "nearest_sheet", "nearest_table"]

#: The name of the sheet's file.
NEAREST = "nearest-size.pdf"


def nearest_table(one: OneHand, stock: GradedGroup, unit: str) -> tuple[list[str], list[list[str]]]:
    """Headings and rows: every measurement and every finished measure, the hand's, the stock size's, and the rest."""
    headings = [
        "",
        f"{'this pair' if one.hand == 'both' else 'this hand'} ({unit})",
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
    notes = [
        "An estimate follows from the figures given, by regression on the size table. People differ more than a table "
        "shows: where ± stands alone, nineteen in twenty of those measured lie within it; 'at least ±' is the least "
        "by measurements of the same kind, and more hands may lie outside. Measure what matters.",
    ]
    drawing = table + paragraph(notes, 0, table.box.bottom - 6, 150.0, Text("", 0, 0, SMALL))
    drawing += paragraph([CAUTIONS_IN_SHORT], 0, drawing.box.bottom - 4, 150.0, Text("", 0, 0, SMALL))
    block = TitleBlock("nearest size", run.block.name, run.group, scale="", date=run.block.date, run=one.graded.run_id)
    about = About(title, subject=f"Nearest size, run {one.graded.run_id}", keywords=("mitten", run.group))
    return pdf_bytes(numbered(on_sheets(drawing, printing, block, title)), Styles(), about)


def _rows(one: OneHand, stock: GradedGroup, unit: str) -> Iterator[list[str]]:
    run = one.graded.run
    estimates = {estimate.measurement: estimate for estimate in one.estimates}
    own = run.table.values[:, 0]
    for name, mine, theirs in zip(run.table.measurements, own, one.stock, strict=True):
        estimate = estimates.get(name)
        source = "measured"
        if estimate is not None:
            source = f"estimated, {'' if estimate.surely else 'at least '}± {show(estimate.within, unit)}"
        yield [name, show(mine, unit), show(theirs, unit), _signed(mine - theirs, unit), source]
    size = stock.run.sizes.index(one.nearest)
    pattern, of_stock = measured(run), measured(stock.run)
    for measure, mine, theirs in zip(pattern.measures, pattern.values[:, 0], of_stock.values[:, size], strict=True):
        yield [measure.name, show(mine, unit), show(theirs, unit), _signed(mine - theirs, unit), "finished"]


def _signed(mm: float, unit: str) -> str:
    shown = show(float(mm), unit)
    return shown if mm <= 0 or shown.strip("0.") == "" else f"+{shown}"
