"""The lay plan: how each skin is cut, drawn to scale with labels and figures, and a list of all skins before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, cos, radians, sin

import numpy as np
import shapely

from grading.drawing.marks import Align, Arrow, Box, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import Bookmark, Page
from grading.drawing.paper import PAPERS, Printing, Sheet
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.ruled import ruled_table
from grading.drawing.styles import Styles
from grading.geometry.arrays import Floats
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.stock.lays import Laid, Lay
from grading.stock.plan import Plan

__all__ = ["drawn_lay", "lay_plan"]

_HEADING = Text("", 0, 0, 3.2, bold=True)
_PLAIN = Text("", 0, 0, 2.1)
_SMALL = Text("", 0, 0, 1.7)
_LABEL = Text("", 0, 0, 2.0, align=Align.CENTRE)
#: How many rows of the list of skins go on a page.
ROWS = 34
#: Bends of an outline finer than this, in mm on paper, are left out.
FINEST = 0.03


def lay_plan(plan: Plan, *, run_id: str) -> bytes:
    """The lay plan as a PDF file on A4: the list of skins, then a page for each."""
    sheet = Printing(PAPERS["a4"]).upright()
    scale = _scale(plan.lays, sheet.printable)
    terms = plan.batch.table.terms
    footer = (
        f"run {run_id} · lay number {terms.lay_number} · gap {terms.gap:g} mm · pile within {terms.pile_within:g}° · "
        f"skins marked on the {plan.batch.runs[0].block.marked_on}, that face up",
        CAUTIONS_IN_SHORT,
    )
    pages = [_page(sheet, drawing, footer, title) for title, drawing in _overview(plan, sheet.printable)]
    for lay in plan.lays:
        pages.append(_page(sheet, _lay_page(lay, scale, sheet.printable), footer, lay.skin.name))
    about = About("Lay plan", subject=f"How {len(plan.lays)} skins are cut, run {run_id}", keywords=(run_id,))
    return pdf_bytes(pages, Styles(), about)


def _scale(lays: Sequence[Lay], inside: Box) -> int:
    """The 1 : n, n a whole number, at which every skin fits on a page below its heading and above the footer."""
    left, bottom, right, top = np.array([lay.skin.edge.bounds for lay in lays]).T
    width, height = float((right - left).max()), float((top - bottom).max())
    return max(1, ceil(width / (inside.width - 4)), ceil(height / (inside.height - 62)))


def _page(sheet: Sheet, drawing: Drawing, footer: Sequence[str], bookmark: str) -> Page:
    inside = sheet.printable
    foot = paragraph(footer, inside.left, 0, inside.width, _SMALL)
    foot = foot.moved(0, inside.bottom - foot.box.bottom)
    return Page(sheet, drawing + foot, bookmarks=(Bookmark(bookmark),))


def _overview(plan: Plan, inside: Box) -> Iterator[tuple[str, Drawing]]:
    """The list of skins, on as many pages as it takes, with what the best lay could do."""
    rows = [
        [
            lay.skin.name,
            "buy" if lay.skin.to_buy else "on hand",
            ", ".join(pair.size for pair in lay.pairs),
            str(len(lay.laid)),
            f"{lay.used / 1e4:.1f}",
            f"{lay.usable / 1e4:.1f}",
            f"{lay.share:.1%}",
        ]
        for lay in plan.lays
    ]
    said = [
        f"{plan.pairs} pairs on {len(plan.lays)} skins, {sum(lay.skin.to_buy for lay in plan.lays)} of them to buy.",
        f"Pieces {plan.skins.pieces / 1e4:.1f} dm² ÷ usable {plan.skins.usable / 1e4:.1f} dm² = "
        f"{plan.skins.pieces / plan.skins.usable:.1%}; {plan.share_used:.1%} without the last skin. The bound: no lay "
        f"can use more than all of it, and so none can do with fewer than {plan.least_skins} of these skins.",
        "Both hands of a pair come from one skin. The pile runs up the page, from neck to tail, and so does every "
        "piece's arrow. Look at each skin before you mark it out: what a table calls usable may not be.",
    ]
    headings = ["Skin", "", "Pairs of size", "pieces", "used dm²", "usable dm²", "used"]
    for first in range(0, len(rows), ROWS):
        title = "Lay plan" if first == 0 else "Lay plan, further skins"
        page = paragraph([title], inside.left, inside.top, inside.width, _HEADING)
        if first == 0:
            page += paragraph(said, inside.left, page.box.bottom - 3, inside.width, _PLAIN)
        table = ruled_table(headings, rows[first : first + ROWS], words=3)
        yield title, page + table.moved(inside.left - table.box.left, page.box.bottom - 4 - table.box.top)


def _lay_page(lay: Lay, scale: int, inside: Box) -> Drawing:
    heading = paragraph([lay.skin.name], inside.left, inside.top, inside.width, _HEADING)
    pairs = ", ".join(f"no. {pair.number} ({pair.group} {pair.size})" for pair in lay.pairs)
    turned = sorted({laid.angle for laid in lay.laid} - {0.0})
    turns = (
        f"; turned off the pile: {', '.join(f'{angle:+g}°' for angle in turned)}".replace("-", "−") if turned else ""
    )
    said = [
        f"Pairs {pairs}.",
        f"{len(lay.laid)} pieces, {lay.used / 1e4:.1f} dm² of {lay.usable / 1e4:.1f} dm² usable: {lay.share:.1%} used"
        f"{turns}. Drawn 1 : {scale}; flaws are hatched.",
    ]
    heading += paragraph(said, inside.left, heading.box.bottom - 2, inside.width, _PLAIN)
    drawing = drawn_lay(lay, scale)
    box = drawing.box
    skin = drawing.moved((inside.left + inside.right - box.width) / 2 - box.left, heading.box.bottom - 5 - box.top)
    return heading + skin + _scale_bar(scale, inside.left, skin.box.bottom - 8)


def _scale_bar(scale: int, left: float, y: float) -> Drawing:
    """What 200 mm on the skin is on this page."""
    length = 200 / scale
    ends = [line([(x, y - 1.2), (x, y + 1.2)], Role.CHECK_BAR) for x in (left, left + length)]
    text = replace(_SMALL, text=f"200 mm on the skin (1 : {scale})", x=left + length + 2.5, y=y - 0.85)
    return Drawing((line([(left, y), (left + length, y)], Role.CHECK_BAR), *ends, text))


def drawn_lay(lay: Lay, scale: float) -> Drawing:
    """A skin, its flaws, and the pieces on it with their labels and pile arrows, 1 : ``scale``."""
    marks: list[Mark] = [line(_ring(lay.skin.edge.exterior) / scale, Role.FRAME, closed=True)]
    for part in shapely.get_parts(lay.skin.usable):
        if not part.exterior.equals(lay.skin.edge.exterior):
            marks.append(line(_ring(part.exterior) / scale, Role.REFERENCE_LINE, closed=True))
    for flaw in lay.skin.flaws:
        marks += _hatched(flaw, scale)
    for laid in lay.laid:
        marks += _piece(laid, scale)
    return Drawing(tuple(marks))


def _ring(ring: shapely.LinearRing) -> Floats:
    points: Floats = shapely.get_coordinates(ring)[:-1]
    return points


def _hatched(flaw: shapely.Polygon, scale: float) -> Iterator[Mark]:
    """A flaw's outline, and slanting lines 12 mm of skin apart."""
    yield line(_ring(flaw.exterior) / scale, Role.REFERENCE_LINE, closed=True)
    left, bottom, right, top = flaw.bounds
    for start in np.arange(left - (top - bottom), right, 12.0):
        stroke = shapely.LineString([(start, bottom), (start + top - bottom, top)]).intersection(flaw)
        for part in shapely.get_parts(stroke):
            if part.length > 0 and part.geom_type == "LineString":
                yield line(shapely.get_coordinates(part) / scale, Role.REFERENCE_LINE)


def _piece(laid: Laid, scale: float) -> Iterator[Mark]:
    """The cut outline, holes, and inside it the pile arrow at the left and the label in the widest free place."""
    drawn = laid.outline.simplify(FINEST * scale)
    for ring in (drawn.exterior, *drawn.interiors):
        yield line(_ring(ring) / scale, Role.CUT_LINE, closed=True)
    free = shapely.maximum_inscribed_circle(laid.outline, 1.0)
    x, y = (shapely.get_coordinates(free)[0] / scale).tolist()
    radius = float(free.length) / scale
    texts = [f"{laid.pair.size} {laid.piece.hand[0].upper()}", f"no. {laid.pair.number}"]
    height = min(2.4, radius / 4.2)
    label = replace(_LABEL, height=height, bold=True)
    widest = max(replace(label, text=text).width for text in texts)
    side = (widest + 3.0) / 2
    along = np.array([-sin(radians(laid.angle)), cos(radians(laid.angle))]) * min(radius * 0.7, 9.0)
    foot = np.array([x - side, y])
    (x0, y0), (x1, y1) = (foot - along).tolist(), (foot + along).tolist()
    if laid.piece.has_pile:
        yield Arrow((x0, y0), (x1, y1), Role.PILE, head=min(4.0, radius / 3))
    for number, text in enumerate(texts):
        yield replace(label, text=text, x=x + 1.5, y=y + (0.35 - 1.7 * number) * height)
