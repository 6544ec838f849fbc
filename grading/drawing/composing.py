"""Sheets put together: things at their places, and at each joint what it takes to trim, lay and glue it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import pi

import numpy as np
import shapely

from grading.drawing.fonts import DESCENT
from grading.drawing.joints import LAP, Cell, Parting
from grading.drawing.laying import TRIM, Layout, Portion, Thing, in_one, laid
from grading.drawing.marks import Align, Arrow, Box, Drawing, Mark, Role, Text, line
from grading.drawing.pages import Bookmark, Frame, PageContent, Placed, TitleBlock, frame_around, frames
from grading.drawing.paper import Printing
from grading.drawing.shapes import shapes
from grading.drawing.system import NARROW, SMALL

__all__ = ["beside_joints", "centring_arrows", "on_few_sheets", "on_sheets"]

#: A centring arrow on each side of a joint: how long, with its head, and what it keeps free beside it, mm.
ARROW, HEAD, FREE = 7.0, 2.5, 1.5
_TEXT = Text("", 0, 0, SMALL, align=Align.CENTRE)
#: The widest that a print shop's sheet gets before things are laid in another row, mm.
WIDEST = 850.0
#: What shows beyond a trim line, so that the line is printed in its whole width, mm.
_EDGE = NARROW


def on_sheets(drawing: Drawing, printing: Printing, title: TitleBlock, bookmark: str = "") -> list[PageContent]:
    """A drawing at its own scale, upright, on one sheet if one holds it and else parted over several."""

    def finish(_form: int, parting: Parting) -> Drawing:
        return drawing + Drawing(tuple(centring_arrows(drawing, parting)))

    return on_few_sheets([Thing(bookmark, (drawing,), parts=True, finish=finish)], printing, title)


def on_few_sheets(things: Sequence[Thing], printing: Printing, title: TitleBlock) -> list[PageContent]:
    """Things on few sheets, each sheet listed by the names of what is on it.

    On a sheet cut to fit they lie in rows. Raises ValueError where one fits no sheet.
    """
    if printing.paper.to_fit:
        layout, width, height = in_one(things, WIDEST)
        return _composed(layout, things, [frame_around(printing, title, width, height)])
    upright, lying = frames(printing, title)
    layout = laid(things, (upright.area.width, upright.area.height), (lying.area.width, lying.area.height))
    return _composed(layout, things, [upright, lying])


def _composed(layout: Layout, things: Sequence[Thing], kinds: Sequence[Frame]) -> list[PageContent]:
    """The sheets of a layout, with everything at its place; ``kinds`` are the frames of an upright and a lying one."""
    shares = {share.thing: share for sheet in layout.sheets for share in sheet}
    drawings = [thing.drawn(shares[i].form, shares[i].parting) for i, thing in enumerate(things)]
    where = {(share.thing, share.cell): number for number, sheet in enumerate(layout.sheets, 1) for share in sheet}
    # What several sheets show a part of is shared by them; a text stands on the one sheet that holds it.
    parted = [i for i, share in shares.items() if not share.parting.whole]
    texts = {i: [mark for mark in drawings[i].marks if isinstance(mark, Text)] for i in parted}
    for i in parted:
        drawings[i] = Drawing(tuple(mark for mark in drawings[i].marks if not isinstance(mark, Text)))
    contents = []
    for lying, sheet in zip(layout.lying, layout.sheets, strict=True):
        frame = kinds[lying]
        placed, marks = [], []
        for share in sheet:
            one = _placed(share, drawings[share.thing], frame.area)
            placed.append(one)
            own = [text for text in texts.get(share.thing, ()) if share.parting.holds(share.cell, text.box)]
            marks += [mark.moved(one.dx, one.dy) for mark in (*own, *_at_joints(share, where))]
        names = [things[share.thing].name for share in sheet]
        bookmarks = tuple(Bookmark(name) for name in names if name)
        contents.append(PageContent(frame, tuple(placed), Drawing(tuple(marks)), bookmarks))
    return contents


def _placed(share: Portion, drawing: Drawing, area: Box) -> Placed:
    """A share of a drawing on its sheet, its window as large as what is shown of it."""
    shown = share.parting.shown(share.cell)
    dx, dy = area.left + share.place.right - shown.right, area.bottom + share.place.bottom - shown.bottom
    window = shown.moved(dx, dy)
    left = window.left - _EDGE * (share.cell.column > 0)
    top = window.top + _EDGE * (share.cell.row > 0)
    return Placed(drawing, dx, dy, Box(left, window.bottom, window.right, top))


def _at_joints(share: Portion, where: dict[tuple[int, Cell], int]) -> Iterator[Mark]:
    """Trim lines, and which sheet lies over or under this one, in the drawing's own mm."""
    box, shown = share.cell.box, share.parting.shown(share.cell)
    others = {(cell.row, cell.column): where[share.thing, cell] for cell in share.parting.cells}
    row, column = share.cell.row, share.cell.column
    x, y = (shown.left + shown.right) / 2, (shown.bottom + shown.top) / 2
    fall = DESCENT * SMALL
    if left := others.get((row, column - 1)):
        yield line([(box.left, shown.bottom), (box.left, shown.top)], Role.TRIM_LINE)
        yield replace(_TEXT, text=f"cut here, lay on sheet {left}", x=box.left - fall - 0.3, y=y, angle=pi / 2)
    if above := others.get((row - 1, column)):
        yield line([(shown.left, box.top), (shown.right, box.top)], Role.TRIM_LINE)
        yield replace(_TEXT, text=f"cut here, lay on sheet {above}", x=x, y=box.top + fall + 0.3)
    if right := others.get((row, column + 1)):
        text = f"goes under sheet {right}, to the arrows"
        yield replace(_TEXT, text=text, x=shown.right + TRIM - fall - 0.2, y=y, angle=pi / 2)
    if below := others.get((row + 1, column)):
        text = f"goes under sheet {below}, to the arrows"
        yield replace(_TEXT, text=text, x=x, y=shown.bottom - TRIM + fall + 0.2)


def beside_joints(parting: Parting) -> shapely.Geometry:
    """The bands (drawing's mm) in which no text and no arrow but the joints' own may stand."""
    box = parting.box
    bands = [shapely.box(x - 1, box.bottom, x + LAP + 1, box.top) for x in parting.across]
    bands += [shapely.box(box.left, y - LAP - 1, box.right, y + 1) for y in parting.up]
    return shapely.union_all(bands) if bands else shapely.Polygon()


def centring_arrows(drawing: Drawing, parting: Parting) -> list[Mark]:
    """Two pairs of arrows on each joint, tip to tip, where they meet no line of the drawing."""
    lines = shapely.STRtree(shapes(drawing.marks))
    marks: list[Mark] = []
    for cell in parting.cells:
        if cell.column:
            for y in _free_along(lines, cell.box.bottom, cell.box.top, cell.box.left, 0):
                marks += _pair((cell.box.left, y), (1, 0))
        if cell.row:
            for x in _free_along(lines, cell.box.left, cell.box.right, cell.box.top, 1):
                marks += _pair((x, cell.box.top), (0, 1))
    return marks


def _free_along(lines: shapely.STRtree, low: float, high: float, joint: float, axis: int) -> list[float]:
    """The places nearest to a quarter and to three quarters of a joint at which a pair of arrows meets nothing.

    The joint lies at a place of an ``axis`` (0: x, 1: y) and runs along the other from ``low`` to ``high``.
    """
    tried = np.arange(low + FREE, high - FREE, 1.5)
    along, beside = ARROW + FREE, HEAD / 6 + FREE
    across = np.full(len(tried), joint)
    x, y = (across, tried) if axis == 0 else (tried, across)
    right, up = (along, beside) if axis == 0 else (beside, along)
    met = lines.query(shapely.box(x - right, y - up, x + right, y + up), predicate="intersects")[0]
    free = np.delete(tried, met).tolist()
    if not free:
        return []
    wanted = [low + (high - low) * share for share in (0.25, 0.75)]
    return sorted({min(free, key=lambda at: (abs(at - want), at)) for want in wanted})


def _pair(at: tuple[float, float], along: tuple[int, int]) -> Iterator[Mark]:
    (x, y), (dx, dy) = at, along
    for way in (1, -1):
        yield Arrow((x + way * dx * ARROW, y + way * dy * ARROW), (x, y), Role.REGISTRATION, head=HEAD)
