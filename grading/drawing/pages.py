"""Pages round a drawing: heading, check bars, page map and footer in strips that the drawing never enters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby, product
from math import pi

from grading.drawing.fonts import ASCENT, text_width
from grading.drawing.marks import Align, Box, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.paper import LINE_ROOM, OVERLAP, Plan, Printing, Sheet, Tile, plan_tiles

__all__ = ["Bookmark", "Page", "Placed", "Titled", "Wording", "room", "tiled_pages", "tiled_set"]

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
_LONGEST_TILE_NAME = "Tile AA88 of 88 × 88 · page 88 of 88"
#: What lies between the miniatures of a page map, mm, and what share of its place the list beside them has.
_MAP_GAP, _LIST_SHARE = 2.5, 0.55
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


@dataclass(frozen=True, eq=False)
class Titled:
    """A drawing to be tiled, what it is called, and the boxes of its ``parts`` by name, for the list of pages."""

    title: str
    drawing: Drawing
    parts: tuple[tuple[str, Box], ...] = ()


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
    return tiled_set([Titled(bookmark or wording.heading, drawing)], printing, wording)


def tiled_set(drawings: Sequence[Titled], printing: Printing, wording: Wording) -> list[Page]:
    """Several drawings that belong together, each tiled on its own as ``tiled_pages`` does.

    The map on every page shows all of them, which page holds which tile, and what is on it.
    """
    grids: list[_Grid] = []
    for one in drawings:
        layouts = _layouts(one.drawing.box.grown(LINE_ROOM), printing, wording)
        plans = [plan_tiles(one.drawing, layout.area.width, layout.area.height) for layout in layouts]
        layout, plan = min(zip(layouts, plans, strict=True), key=lambda choice: len(choice[1].tiles))
        grids.append(_Grid(one, layout, plan, sum(len(grid.plan.tiles) for grid in grids)))
    return [page for grid in grids for page in _pages(grid, grids)]


def _pages(grid: _Grid, grids: Sequence[_Grid]) -> Iterator[Page]:
    layout, plan, drawing = grid.layout, grid.plan, grid.titled.drawing
    area = layout.area
    whole = Box(0, 0, layout.sheet.width, layout.sheet.height)
    notes = [_PRINT_TRUE, _JOIN] if len(plan.tiles) > 1 else [_PRINT_TRUE]
    common = Placed(layout.furniture(notes), 0, 0, whole)
    for number, tile in enumerate(plan.tiles):
        yield Page(
            layout.sheet,
            layout.tile_marks(tile, grid, grids),
            (Placed(drawing, area.left - tile.area.left, area.bottom - tile.area.bottom, area), common),
            _bookmarks(grid.titled.title, plan, number),
        )


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

    def tile_marks(self, tile: Tile, grid: _Grid, grids: Sequence[_Grid]) -> Drawing:
        """What tells one tile's page from the others, for the ``tile`` of a grid; nothing where it is the only one."""
        pages, several = sum(len(one.plan.tiles) for one in grids), len(grid.plan.tiles) > 1
        if pages == 1:
            return Drawing()
        names = [f"Tile {tile.name} of {grid.plan.rows} × {grid.plan.columns}"] if several else []
        names += [f"page {grid.page(tile)} of {pages}"] if grid.titled.parts or len(grids) > 1 else []
        inside, bars = self.sheet.printable, self.bars
        name = replace(
            _HEADING,
            text=" · ".join(names),
            x=inside.right,
            y=inside.top - ASCENT * _HEADING.height,
            align=Align.RIGHT,
        )
        joins = _joins(self.area, tile, grid.plan) if several else ()
        place = Box(bars.left + _BARS_WIDTH, bars.bottom, bars.right, bars.top)
        return Drawing((*joins, name)) + _map(place, tile, grid, grids)


@dataclass(frozen=True, eq=False)
class _Grid:
    """A drawing, the sheets it is printed on, how it is cut into tiles, and how many pages come before it."""

    titled: Titled
    layout: _Layout
    plan: Plan
    before: int

    def page(self, tile: Tile) -> int:
        """The number of a tile's page, from 1."""
        return self.before + self.plan.tiles.index(tile) + 1

    def contents(self) -> Iterator[tuple[int, str]]:
        """Every page's number, and the parts that it shows something of."""
        for tile in self.plan.tiles:
            shown = [name for name, box in self.titled.parts if box.overlaps(tile.cell)]
            yield self.page(tile), ", ".join(shown)


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


def _map(place: Box, here: Tile, own: _Grid, grids: Sequence[_Grid]) -> Drawing:
    """The printed tiles of all grids in miniature at the right of ``place``, this page's own shaded and framed.

    Where the drawings have named parts a list at their left says which pages show what.
    """
    contents = _listed([page for grid in grids for page in grid.contents()])
    wide = sum(grid.plan.columns * grid.layout.area.width for grid in grids)
    high = max(grid.plan.rows * grid.layout.area.height for grid in grids)
    gaps, listed = _MAP_GAP * (len(grids) - 1), _LIST_SHARE * place.width if contents else 0.0
    shrink = min((place.width - gaps - listed) / wide, place.height / high)
    right = place.right
    marks: list[Mark] = []
    for grid in reversed(grids):
        width = grid.plan.columns * grid.layout.area.width * shrink
        marks += _small_grid(grid, right - width, place.top, shrink, here if grid is own else None, bool(contents))
        right -= width + _MAP_GAP
    return Drawing(tuple(marks)) + _fitted(contents, Box(place.left, place.bottom, right, place.top))


def _small_grid(
    grid: _Grid, left: float, top: float, shrink: float, here: Tile | None, numbered: bool
) -> Iterator[Mark]:
    """One grid's printed tiles and what is cut from them, each tile with its page's number or its own name."""
    width, height = grid.layout.area.width * shrink, grid.layout.area.height * shrink
    cells = {
        tile: Box(
            left + tile.column * width,
            top - (tile.row + 1) * height,
            left + (tile.column + 1) * width,
            top - tile.row * height,
        )
        for tile in grid.plan.tiles
    }
    for tile, cell in sorted(cells.items(), key=lambda pair: pair[0] == here):  # its heavy frame goes over the others'
        yield rectangle(cell, Role.MAP_HERE if tile == here else Role.MAP_TILE)
    for tile, cell in cells.items():
        x, y = cell.centre
        text = str(grid.page(tile)) if numbered else tile.name
        name = replace(_SMALL, text=text, x=x, y=y - _SMALL.height / 2, align=Align.CENTRE)
        if cell.grown(-0.4).contains(name.box):
            yield name


def _listed(pages: Sequence[tuple[int, str]]) -> list[str]:
    """A line for each run of pages that show the same.

    >>> _listed([(1, "Trank"), (2, "Trank"), (3, "Thumb"), (4, "")])
    ['1–2: Trank', '3: Thumb']
    """
    lines = []
    for shown, run in groupby(pages, key=lambda page: page[1]):
        first, *more = (number for number, _ in run)
        if shown:
            lines.append(f"{first}–{more[-1]}: {shown}" if more else f"{first}: {shown}")
    return lines


def _fitted(texts: Sequence[str], place: Box) -> Drawing:
    """Texts below one another in a place, in letters as small as they must be to go in."""
    for height in (_SMALL.height, 1.5, 1.3, 1.1):
        lines = paragraph(texts, place.left, place.top, place.width, replace(_SMALL, height=height))
        if not lines.marks or place.grown(1e-6).contains(lines.box):
            break
    return lines
