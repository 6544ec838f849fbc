"""Pages round a drawing: heading, check bars, page map and footer in strips that the drawing never enters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from math import pi

from grading.outputs.drawing import Align, Box, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.outputs.fonts import ASCENT, text_width
from grading.outputs.paper import LINE_ROOM, OVERLAP, Plan, Printing, Sheet, Tile, plan_tiles

__all__ = ["Bookmark", "Page", "Placed", "Wording", "room", "tiled_pages"]

_HEADING = Text("", 0, 0, 2.8, bold=True)
_SMALL = Text("", 0, 0, 1.7)
_GAP = 2.5
_INCH = 25.4
_BAR_TICK = 1.2
_BARS_WIDTH = 118.0
_LEAST_WIDTH = 180.0
_BARS_HEIGHT = 15.0
_UP_BAR_STRIP = 2 * _BAR_TICK + _GAP
_UP_BAR_LENGTH = 116.0  # with its label
_CROSS = 3.0
_LONGEST_TILE_NAME = "Tile AA88 of 88 × 88"
_PRINT_TRUE = "Print at 100 %, not ‘fit to page’; measure all three bars before you cut."
_JOIN = "Trim along the grey dots from cross to cross, and lay the tiles together, cross over cross."


@dataclass(frozen=True)
class Bookmark:
    """An entry in the list that a reader shows beside the pages; level 1 stands under the level 0 before it."""

    title: str
    level: int = 0


@dataclass(frozen=True, eq=False)
class Placed:
    """A drawing moved to its place on a page, and the window of the page (mm) in which it shows."""

    drawing: Drawing
    dx: float
    dy: float
    window: Box


@dataclass(frozen=True, eq=False)
class Page:
    """One sheet with marks in its own mm, over drawings that other pages may share."""

    sheet: Sheet
    drawing: Drawing
    placed: tuple[Placed, ...] = ()
    bookmarks: tuple[Bookmark, ...] = ()


@dataclass(frozen=True)
class Wording:
    """What every page of a drawing says: a heading above it, and lines below it that wrap where they must."""

    heading: str
    footer: tuple[str, ...] = ()


def tiled_pages(drawing: Drawing, printing: Printing, wording: Wording, bookmark: str = "") -> list[Page]:
    """The drawing at true scale on as few sheets as it takes, upright or lying.

    Every page has the heading, a 100 mm and a 4 in check bar across and a 100 mm bar up, and the footer; where
    there are several, also the tile's name, a map of the tiles, trim lines and registration crosses.
    """
    layouts = _layouts(drawing.box.grown(LINE_ROOM), printing, wording)
    plans = [plan_tiles(drawing, layout.area.width, layout.area.height) for layout in layouts]
    layout, plan = min(zip(layouts, plans, strict=True), key=lambda choice: len(choice[1].tiles))
    area, several = layout.area, len(plan.tiles) > 1
    whole = Box(0, 0, layout.sheet.width, layout.sheet.height)
    common = Placed(layout.furniture([_PRINT_TRUE, _JOIN] if several else [_PRINT_TRUE]), 0, 0, whole)
    return [
        Page(
            layout.sheet,
            layout.tile_marks(tile, plan) if several else Drawing(),
            (Placed(drawing, area.left - tile.area.left, area.bottom - tile.area.bottom, area), common),
            _bookmarks(bookmark or wording.heading, plan, number),
        )
        for number, tile in enumerate(plan.tiles)
    ]


def _bookmarks(title: str, plan: Plan, number: int) -> tuple[Bookmark, ...]:
    """The drawing's own on its first page, and one below it for each tile where there are several."""
    first = (Bookmark(title),) if number == 0 else ()
    tile = (Bookmark(f"Tile {plan.tiles[number].name}", 1),) if len(plan.tiles) > 1 else ()
    return first + tile


def room(printing: Printing, wording: Wording) -> tuple[Box, ...]:
    """What one page can hold, upright and lying: to lay out a table or a card that is not to be tiled."""
    sheets = (printing.upright(), printing.lying())
    return tuple(_Layout(sheet, wording).area.grown(-LINE_ROOM) for sheet in sheets)


def _layouts(box: Box, printing: Printing, wording: Wording) -> list[_Layout]:
    if not printing.paper.to_fit:
        return [_Layout(sheet, wording) for sheet in (printing.upright(), printing.lying())]
    width = max(box.width + _UP_BAR_STRIP, _LEAST_WIDTH)
    strips = _Layout(printing.around(width, 0), wording).strips_height
    return [_Layout(printing.around(width, strips + max(box.height, _UP_BAR_LENGTH)), wording)]


@dataclass(frozen=True)
class _Layout:
    """A sheet divided into strips, all within its printable part; from the top: heading, area, bars, footer."""

    sheet: Sheet
    wording: Wording

    @cached_property
    def heading(self) -> Drawing:
        inside = self.sheet.printable
        width = inside.width - text_width(_LONGEST_TILE_NAME, _HEADING.height, bold=True) - _GAP
        return paragraph([self.wording.heading], inside.left, inside.top, width, _HEADING)

    @cached_property
    def footer(self) -> Drawing:
        """The footer's lines, the last of them at the lower edge of the printable part."""
        inside = self.sheet.printable
        hanging = paragraph(self.wording.footer, inside.left, 0, inside.width, _SMALL)
        return hanging.moved(0, inside.bottom - hanging.box.bottom) if hanging.marks else hanging

    @cached_property
    def bars(self) -> Box:
        """The strip of the check bars across and the map."""
        inside, footer = self.sheet.printable, self.footer
        bottom = footer.box.top + _GAP if footer.marks else inside.bottom
        return Box(inside.left, bottom, inside.right, bottom + _BARS_HEIGHT)

    @cached_property
    def area(self) -> Box:
        """Where the drawing goes."""
        inside = self.sheet.printable
        heading = self.heading
        top = heading.box.bottom if heading.marks else inside.top
        return Box(inside.left + _UP_BAR_STRIP, self.bars.top + _GAP, inside.right, top - _GAP)

    @cached_property
    def strips_height(self) -> float:
        return self.sheet.printable.height - self.area.height

    def furniture(self, notes: Sequence[str]) -> Drawing:
        """What is the same on every page; the notes stand above the check bars."""
        bars = self.bars
        above = paragraph(notes, bars.left, bars.top, _BARS_WIDTH - _GAP, _SMALL)
        across = _bar_across(100, "100 mm", bars.left, bars.bottom + 7.0)
        inches = _bar_across(4 * _INCH, "4 in", bars.left, bars.bottom + 2.2)
        up = _bar_up(100, "100 mm", bars.left, self.area.bottom)
        return self.heading + above + across + inches + up + self.footer

    def tile_marks(self, tile: Tile, plan: Plan) -> Drawing:
        """What tells one tile's page from the others, for the drawing's ``tile`` of ``plan``."""
        inside = self.sheet.printable
        name = replace(
            _HEADING,
            text=f"Tile {tile.name} of {plan.rows} × {plan.columns}",
            x=inside.right,
            y=inside.top - ASCENT * _HEADING.height,
            align=Align.RIGHT,
        )
        bars = self.bars
        place = Box(bars.left + _BARS_WIDTH, bars.bottom, bars.right, bars.top)
        marks = (*_joins(self.area, tile, plan), name)
        return Drawing(marks) + _map(place, tile, plan)


def _bar_across(length: float, label: str, x: float, y: float) -> Drawing:
    text = replace(_SMALL, text=label, x=x + 4 * _INCH + _GAP, y=y - _SMALL.height / 2)
    ends = [line([(at, y - _BAR_TICK), (at, y + _BAR_TICK)], Role.CHECK_BAR) for at in (x, x + length)]
    return Drawing((line([(x, y), (x + length, y)], Role.CHECK_BAR), *ends, text))


def _bar_up(length: float, label: str, left: float, y: float) -> Drawing:
    x = left + _BAR_TICK
    text = replace(_SMALL, text=label, x=left + ASCENT * _SMALL.height, y=y + length + _GAP, angle=pi / 2)
    ends = [line([(x - _BAR_TICK, at), (x + _BAR_TICK, at)], Role.CHECK_BAR) for at in (y, y + length)]
    return Drawing((line([(x, y), (x, y + length)], Role.CHECK_BAR), *ends, text))


def _joins(area: Box, tile: Tile, plan: Plan) -> Iterator[Mark]:
    """Trim lines where another printed tile joins, and a cross at each corner that up to four tiles share."""
    corners = area.grown(-OVERLAP / 2)
    printed = {(other.row, other.column) for other in plan.tiles}
    if (tile.row, tile.column - 1) in printed:
        yield line([(corners.left, area.bottom), (corners.left, area.top)], Role.TRIM_LINE)
    if (tile.row, tile.column + 1) in printed:
        yield line([(corners.right, area.bottom), (corners.right, area.top)], Role.TRIM_LINE)
    if (tile.row - 1, tile.column) in printed:
        yield line([(area.left, corners.top), (area.right, corners.top)], Role.TRIM_LINE)
    if (tile.row + 1, tile.column) in printed:
        yield line([(area.left, corners.bottom), (area.right, corners.bottom)], Role.TRIM_LINE)
    for x, y in product((corners.left, corners.right), (corners.bottom, corners.top)):
        yield line([(x - _CROSS, y), (x + _CROSS, y)], Role.REGISTRATION)
        yield line([(x, y - _CROSS), (x, y + _CROSS)], Role.REGISTRATION)


def _map(place: Box, here: Tile, plan: Plan) -> Drawing:
    """The printed tiles in miniature at the right of ``place``, this page's own heavily framed and shaded."""
    shrink = min(place.width / (plan.columns * here.area.width), place.height / (plan.rows * here.area.height))
    width, height = here.area.width * shrink, here.area.height * shrink
    marks: list[Mark] = []
    for tile in sorted(plan.tiles, key=lambda tile: tile == here):  # its heavy frame goes over its neighbours'
        left = place.right - (plan.columns - tile.column) * width
        bottom = place.top - (tile.row + 1) * height
        cell = Box(left, bottom, left + width, bottom + height)
        marks.append(rectangle(cell, Role.MAP_HERE if tile == here else Role.MAP_TILE))
        x, y = cell.centre
        name = replace(_SMALL, text=tile.name, x=x, y=y - _SMALL.height / 2, align=Align.CENTRE)
        if cell.grown(-0.4).contains(name.box):
            marks.append(name)
    return Drawing(tuple(marks))
