"""Wrong but plausible changes to a workbook's tables, each with a number: a slip of the pen, of a unit, of a row.

The cells are changed in memory, on the grids that the reader makes of a workbook, so that thousands of changes can
be tried in minutes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

from grading.sheets.opening import Grid, Opened, address

__all__ = ["FACTORS", "Change", "changes", "grid_of", "kind_of_figure"]

FACTORS = (0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 25.4)
#: What is added, mm (a share or a percentage likewise: in its own unit).
STEPS = (3.0, -3.0)
#: Sheets without anything that is measured or cut by.
PROSE_SHEETS = ("About these sheets", "Making", "Work")
#: Columns and fields of which no sum and no line depends.
PROSE = {
    "Note", "Stitch", "Needle", "Material", "How to measure", "Source", "Why", "Name", "Date", "Notes", "Step",
}  # fmt: skip
#: What a cell may hold besides what its column shows already.
OTHERWISE = {
    "Unit": ("mm", "cm", "in"),
    "Mirror line": ("yes", "no"),
    "Tells the size": ("yes", "no"),
    "Drawn from": ("inside", "outside"),
    "Marked on": ("inside", "outside"),
    "Severity": ("error", "warning", "note"),
    "How": ("straight", "along", "across", "perimeter", "height", "clearance"),
}
_PERCENT = re.compile(r"([\d.]+) ?%")

Cells = Mapping[tuple[int, int], Any]


@dataclass(frozen=True)
class Change:
    """One change: ``cells`` are the new values by (row, column), None for a blank; ``row`` is what the row is called.

    ``kind`` is ``×10`` and the like, ``+3``, ``name``, ``row deleted`` or ``figures exchanged``; ``column`` the
    heading of the cell, or nothing where a row is changed.
    """

    number: int
    workbook: str
    sheet: str
    kind: str
    row: str
    column: str
    place: str
    told: str
    cells: Cells

    def of(self, opened: Opened) -> Opened:
        """The workbook with the change made."""
        return replace(
            opened, grids=tuple(self._changed(grid) if grid.sheet == self.sheet else grid for grid in opened.grids)
        )

    def _changed(self, grid: Grid) -> Grid:
        cells = {at: value for at, value in {**grid.cells, **self.cells}.items() if value is not None}
        return replace(grid, cells=cells)

    def __str__(self) -> str:
        return f"{self.number}: {self.workbook}, {self.sheet} {self.place} ({self.row}): {self.told}"


def changes(opened: Opened, sheets: Sequence[str] = (), first: int = 1) -> list[Change]:
    """Every change to the sheets named, or to all that hold tables, numbered from ``first``."""
    made: list[Change] = []
    for grid in opened.grids:
        if (sheets and grid.sheet not in sheets) or grid.sheet == "About these sheets":
            continue
        for kind, row, column, told, cells in _of_grid(grid):
            at = min(cells)
            name = " ".join(str(grid.value(row, column) or "") for column in _naming(grid)).strip()
            made.append(
                Change(
                    first + len(made),
                    opened.path.name,
                    grid.sheet,
                    kind,
                    name,
                    _heading(grid, row, column) if column else "",
                    address(*at) if column else f"row {row}",
                    told,
                    cells,
                )
            )
    return made


def kind_of_figure(value: object) -> str:
    """``figure`` for a number, ``percent`` for a text that is one, else nothing."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return "figure"
    return "percent" if isinstance(value, str) and _PERCENT.fullmatch(value) else ""


def grid_of(opened: Opened, sheet: str) -> Grid:
    return next(grid for grid in opened.grids if grid.sheet == sheet)


_Made = tuple[str, int, int, str, Cells]


def _of_grid(grid: Grid) -> Iterator[_Made]:
    rows = [row for row in range(2, grid.rows + 1) if any((row, column) in grid.cells for column in _columns(grid))]
    if grid.sheet not in PROSE_SHEETS:
        for row in rows:
            for column in _columns(grid):
                yield from _other_figures(grid, row, column)
        for row in rows:
            for column in _columns(grid):
                yield from _other_names(grid, rows, row, column)
        yield from _exchanged(grid, rows)
    for row in rows:
        cells = {(row, column): None for column in _columns(grid) if (row, column) in grid.cells}
        yield "row deleted", row, 0, "row deleted", cells


def _other_figures(grid: Grid, row: int, column: int) -> Iterator[_Made]:
    value = grid.value(row, column)
    kind = kind_of_figure(value)
    if not kind or _heading(grid, row, column) in PROSE:
        return
    figure = float(str(value).rstrip("% "))
    for name, changed in (
        *((f"×{factor:g}", figure * factor) for factor in FACTORS),
        *((f"{step:+g}", figure + step) for step in STEPS),
    ):
        changed = round(changed, 9)
        if changed != figure:
            new = f"{changed:g} %" if kind == "percent" else changed
            yield name, row, column, f"{value} → {new}", {(row, column): new}


def _other_names(grid: Grid, rows: Sequence[int], row: int, column: int) -> Iterator[_Made]:
    value = grid.value(row, column)
    heading = _heading(grid, row, column)
    if value is None or kind_of_figure(value) or heading in PROSE:
        return
    others = [grid.value(other, column) for other in rows] if grid.sheet != "Block" else []
    for other in dict.fromkeys([*others, *OTHERWISE.get(heading, ())]):
        if other is not None and other != value and not kind_of_figure(other):
            yield "name", row, column, f"{value} → {other}", {(row, column): other}


def _exchanged(grid: Grid, rows: Sequence[int]) -> Iterator[_Made]:
    if grid.sheet == "Block":
        return
    for one, other in combinations(rows, 2):
        columns = [
            column
            for column in _columns(grid)
            if _heading(grid, one, column) not in PROSE
            and (kind_of_figure(grid.value(one, column)) or kind_of_figure(grid.value(other, column)))
        ]
        cells = {(one, column): grid.value(other, column) for column in columns}
        cells |= {(other, column): grid.value(one, column) for column in columns}
        if any(grid.value(*at) != value for at, value in cells.items()):
            yield "figures exchanged", one, 0, f"figures exchanged with row {other}", cells


def _columns(grid: Grid) -> range:
    return range(1, grid.columns + 1)


def _naming(grid: Grid) -> tuple[int, ...]:
    """The columns that name a row: the first, and the second where the first is a piece."""
    return (1, 2) if grid.value(1, 1) in ("Piece", "Move") and grid.sheet != "Pieces" else (1,)


def _heading(grid: Grid, row: int, column: int) -> str:
    """What a cell is called: its field on the sheet Block, else its column's heading."""
    return str(grid.value(row, 1) if grid.sheet == "Block" else grid.value(1, column) or "")
