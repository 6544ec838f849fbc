"""Papers, what a printer makes of them, and how a drawing is cut into tiles that fit them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from math import ceil

import numpy as np
import shapely

from grading.drawing.legibility import shapes
from grading.drawing.marks import Box, Drawing

__all__ = [
    "LINE_ROOM",
    "MARGIN",
    "OVERLAP",
    "PAPERS",
    "Paper",
    "Plan",
    "Printing",
    "Sheet",
    "Tile",
    "plan_tiles",
    "reach",
    "tiles_along",
]

#: What the printers of a home or a copy shop leave white at each edge, in mm (common practice).
MARGIN = 7.0
#: How much of the drawing neighbouring tiles both show, in mm.
OVERLAP = 10.0
#: What is kept free round a drawing's box for the width of its lines, in mm.
LINE_ROOM = 1.0


@dataclass(frozen=True)
class Paper:
    """A paper with its sides in mm; one cut ``to_fit`` is as large as its drawing needs, up to those sides."""

    name: str
    short: float
    long: float
    to_fit: bool = False


#: A4 and A3 as in ISO 216, Letter and Tabloid as in ANSI/ASME Y14.1 (sizes A and B). A page of a PDF file has
#: sides of at most 14 400 units of 1/72 in (ISO 32000-1, Annex C).
PAPERS = {
    paper.name: paper
    for paper in (
        Paper("a4", 210, 297),
        Paper("a3", 297, 420),
        Paper("letter", 215.9, 279.4),
        Paper("tabloid", 279.4, 431.8),
        Paper("sheet", 5080, 5080, to_fit=True),
    )
}


@dataclass(frozen=True)
class Sheet:
    """One side of paper, measured in mm as they come out of the printer, from its lower left corner.

    ``scale`` (x, y) is what the file must hold for 1 mm to come out as 1 mm.
    """

    width: float
    height: float
    printable: Box
    scale: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True)
class Printing:
    """A paper and a printer that may print wrongly scaled.

    ``correct_short`` and ``correct_long`` are wanted length / printed length, along the paper's short and long
    side. They change what one sheet can hold, and nothing else has to know of them.
    """

    paper: Paper
    correct_short: float = 1.0
    correct_long: float = 1.0

    def upright(self) -> Sheet:
        """The sheet with its short side below."""
        return _sheet((self.paper.short, self.paper.long), (self.correct_short, self.correct_long))

    def lying(self) -> Sheet:
        """The sheet with its long side below."""
        return _sheet((self.paper.long, self.paper.short), (self.correct_long, self.correct_short))

    def around(self, width: float, height: float) -> Sheet:
        """A sheet cut to fit so that ``width`` × ``height`` mm are printable, as far as the paper goes."""
        scale = (self.correct_short, self.correct_long)
        most = (self.paper.short, self.paper.long)
        needed = ((side + 2 * MARGIN) * max(1.0, factor) for side, factor in zip((width, height), scale, strict=True))
        across, up = (min(side, limit) for side, limit in zip(needed, most, strict=True))
        return _sheet((across, up), scale)


def _sheet(paper: tuple[float, float], scale: tuple[float, float]) -> Sheet:
    """The sheet on a paper (width, height).

    A file scaled by less than 1 holds more mm than the paper has; a printer that prints too large loses them
    at both edges alike, so the margin grows by that.
    """
    width, height = (side / factor for side, factor in zip(paper, scale, strict=True))
    across, up = (MARGIN + max(0.0, (drawn - side) / 2) for drawn, side in zip((width, height), paper, strict=True))
    return Sheet(width, height, Box(across, up, width - across, height - up), scale)


@dataclass(frozen=True)
class Tile:
    """One page's share of a drawing, in the drawing's mm.

    ``area`` is what the page shows, ``cell`` what is left when half of each overlap is trimmed away. Rows are
    lettered from the top, columns numbered from the left.
    """

    row: int
    column: int
    area: Box
    cell: Box

    @property
    def name(self) -> str:
        """
        >>> Tile(1, 2, Box(0, 0, 1, 1), Box(0, 0, 1, 1)).name, Tile(26, 0, Box(0, 0, 1, 1), Box(0, 0, 1, 1)).name
        ('B3', 'AA1')
        """
        row, letters = self.row, ""
        while row >= 0:
            row, letter = divmod(row, 26)
            letters = chr(ord("A") + letter) + letters
            row -= 1
        return f"{letters}{self.column + 1}"


@dataclass(frozen=True)
class Plan:
    """A grid of ``rows`` × ``columns``, and those of its tiles that show anything, row by row."""

    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def plan_tiles(drawing: Drawing, width: float, height: float, overlap: float = OVERLAP) -> Plan:
    """The drawing cut into tiles of ``width`` × ``height`` mm that share ``overlap`` mm with their neighbours.

    The grid has as few rows and columns as the drawing's box allows. Where it has room to spare it is moved
    about, and stands where the fewest tiles show anything: in the middle if that is as good as elsewhere.
    Raises ValueError if a tile is no larger than the overlap.
    """
    if min(width, height) <= overlap:
        raise ValueError(f"a tile of {width:g} × {height:g} mm leaves nothing beside {overlap:g} mm of overlap")
    box = drawing.box.grown(LINE_ROOM)
    columns, rows = tiles_along(box.width, width, overlap), tiles_along(box.height, height, overlap)
    spare_x = reach(columns, width, overlap) - box.width
    spare_y = reach(rows, height, overlap) - box.height
    if rows == columns == 1:
        return Plan(1, 1, tuple(_grid(box.left - spare_x / 2, box.top + spare_y / 2, width, height, overlap, 1, 1)))
    shares = (0.5, 0.25, 0.75, 0.0, 1.0)
    grids = [
        list(_grid(box.left - sx * spare_x, box.top + sy * spare_y, width, height, overlap, rows, columns))
        for sx, sy in product(shares, shares)
    ]
    return Plan(rows, columns, min(_filled(_shapes(drawing), grids), key=len))


@lru_cache(maxsize=1)
def _shapes(drawing: Drawing) -> shapely.STRtree:
    # The same drawing is cut into upright tiles and into lying ones, one after the other.
    return shapely.STRtree(shapes(drawing.marks))


def tiles_along(length: float, side: float, overlap: float = OVERLAP) -> int:
    """How many tiles of a side it takes to reach over a length; rounding alone takes no further one."""
    return max(1, ceil((length - overlap) / (side - overlap) - 1e-9))


def reach(tiles: int, side: float, overlap: float = OVERLAP) -> float:
    """The length that so many tiles of a side reach over."""
    return tiles * (side - overlap) + overlap


def _grid(
    left: float, top: float, width: float, height: float, overlap: float, rows: int, columns: int
) -> Iterator[Tile]:
    half = overlap / 2
    for row, column in product(range(rows), range(columns)):
        x, y = left + column * (width - overlap), top - row * (height - overlap)
        area = Box(x, y - height, x + width, y)
        cell = Box(
            area.left + half * (column > 0),
            area.bottom + half * (row < rows - 1),
            area.right - half * (column < columns - 1),
            area.top - half * (row > 0),
        )
        yield Tile(row, column, area, cell)


def _filled(marks: shapely.STRtree, grids: Sequence[Sequence[Tile]]) -> Iterator[tuple[Tile, ...]]:
    """Of each grid the tiles whose cell any mark reaches; what reaches no further than an overlap is on the neighbour.

    Grids have as many tiles each.
    """
    tiles = [tile for grid in grids for tile in grid]
    cells = shapely.box(*np.array([tile.cell for tile in tiles]).T)
    reached = np.zeros(len(tiles), dtype=bool)
    reached[marks.query(cells, predicate="intersects")[0]] = True
    for grid, shown in zip(grids, reached.reshape(len(grids), -1), strict=True):
        yield tuple(tile for tile, shows in zip(grid, shown, strict=True) if shows)
