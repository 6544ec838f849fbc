"""The price list: what each size of each style costs, and whom it fits, in letters for a stall."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from grading.drawing.flowing import on_flowing_sheets
from grading.drawing.marks import Drawing, Text, paragraph
from grading.drawing.pages import PageContent, PlainFrame, TitleBlock
from grading.drawing.paper import Printing
from grading.drawing.ruled import ruled_rows
from grading.drawing.system import LARGE, LARGEST, PLAIN
from grading.outputs.stock.words import fitted_told
from grading.stock.costs import SizeCosts
from grading.stock.fits import Fits

__all__ = ["price_list"]

_HEADING, _NOTE = Text("", 0, 0, LARGEST, bold=True), Text("", 0, 0, PLAIN)
_LAST = "Try on the larger hand. These mittens are no protective equipment."


def price_list(
    sizes: Sequence[SizeCosts],
    fitting: Mapping[str, Fits],
    styles: Mapping[str, str],
    unit: str,
    currency: str,
    printing: Printing,
    title: TitleBlock,
) -> list[PageContent]:
    """A table for each group, as many sheets as that takes; ``fitting`` and ``styles`` are by group."""
    frame = PlainFrame(printing.upright(), title)
    width = frame.area.width
    parts: list[list[Drawing]] = [[paragraph(["Prices"], 0, 0, width, _HEADING)]]
    for group in dict.fromkeys(row.group for row in sizes):
        own = [row for row in sizes if row.group == group]
        fits = fitting.get(group)
        rows = [[row.size, fitted_told(fits[row.size], unit) if fits else "", f"{row.price:.2f}"] for row in own]
        headings = [f"{styles[group]} · {group}", fits.by if fits else "", currency]
        parts.append(ruled_rows(headings, rows, words=1, width=width, height=LARGE))
    parts.append([paragraph([_LAST], 0, 0, width, _NOTE)])
    return on_flowing_sheets(parts, frame, "Prices")
