"""Where a printed chart stands on its sheet: its headings, the names beside its rows, and its figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import mean

from grading.findings import Place
from grading.model.names import name_key
from grading.sheets.cells import cell_text
from grading.sheets.chart_words import is_figure, is_unit, like_a_size, without_footnote, without_unit
from grading.sheets.declared import FAMILY, SIZE_GROUP
from grading.sheets.grids import Grid

__all__ = ["NAME", "UNIT", "WORDED", "Cell", "Chart", "chart_found"]

#: A cell, as a row and a column.
Cell = tuple[int, int]

#: A chart of hands has fewer cells than this, and its headings stand among the first rows that hold anything.
_MOST_CELLS, _FIRST_ROWS = 10_000, 40

NAME, UNIT, *WORDED = (column.name for column in SIZE_GROUP.columns)


@dataclass(frozen=True, slots=True)
class Chart:
    """Where a chart stands in its grid: its headings, the names beside its rows, and its figures.

    ``unit_row`` and ``unit_column`` hold units and nothing else, and are 0 where there is none. Sizes run ``across``,
    as its columns, or down.
    """

    grid: Grid
    header: int
    labels: int
    columns: tuple[int, ...]
    rows: tuple[int, ...]
    unit_row: int = 0
    unit_column: int = 0
    across: bool = True

    @property
    def headings(self) -> list[Cell]:
        """The cells over the columns of figures."""
        return [(self.header, column) for column in self.columns]

    @property
    def sides(self) -> list[Cell]:
        """The cells beside the rows of figures."""
        return [(row, self.labels) for row in self.rows]

    @property
    def sizes(self) -> list[Cell]:
        """The cells that name the sizes."""
        return self.headings if self.across else self.sides

    @property
    def names(self) -> list[Cell]:
        """The cells that name what is measured."""
        return self.sides if self.across else self.headings

    def figure(self, name: Cell, size: Cell) -> Cell:
        """The cell of a figure, by the cell that names what is measured and the one that names the size."""
        return (name[0], size[1]) if self.across else (size[0], name[1])

    def text(self, cell: Cell) -> str:
        return without_footnote(cell_text(self.grid, *cell))

    @property
    def corner(self) -> Place:
        return self.grid.place(self.header, self.labels)


def chart_found(grid: Grid) -> Chart | None:
    """The chart on a sheet: its headings are the first row that names most of the columns of figures below it."""
    if len(grid.cells) + len(grid.faults) > _MOST_CELLS:
        return None
    firsts = dict(sorted(grid.cells, reverse=True))
    remarks = {row for row, column in firsts.items() if cell_text(grid, row, column).startswith("#")}
    taken = [cell for cell in sorted({*grid.cells, *grid.faults}) if cell[0] not in remarks]
    figures = {cell for cell in taken if cell in grid.faults or is_figure(grid.cells[cell])}
    for header in [*dict.fromkeys(row for row, _ in taken if not _names_families(grid, row))][:_FIRST_ROWS]:
        below = [cell for cell in taken if cell[0] > header]
        labels = _label_column(grid, header, below, figures)
        columns = tuple(sorted({column for row, column in figures if row > header and column > labels}))
        headed = sum((header, column) in grid.cells for column in columns)
        if columns and 2 * headed >= len(columns) and (headed > 1 or len(columns) == 1):
            named = frozenset(columns)
            rows = tuple(sorted({row for row, column in figures if row > header and column in named}))
            return Chart(grid, header, labels, columns, rows, *_of_units(grid, header, labels, below, rows))
    return None


def _label_column(grid: Grid, header: int, below: Sequence[Cell], figures: set[Cell]) -> int:
    """The column that names the rows.

    It is the one headed 'Measurement' or 'Size'. Else it is a column of sizes, if the headings are not sizes; else the
    one with the longest words left of the figures. A column that only counts the rows is not taken.
    """
    used = sorted({column for _, column in below} | {column for row, column in grid.cells if row == header})
    headings = {column: name_key(without_unit(cell_text(grid, header, column))[0]) for column in used}
    for wanted in (name_key(NAME), "size", "sizes"):
        if named := [column for column in used if headings[column] == wanted]:
            return named[0]
    worded: dict[int, list[str]] = {}
    rows = {row for row, _ in figures if row > header}
    for column in used:
        own = [cell for cell in below if cell[1] == column and cell[0] in rows]
        texts = [cell_text(grid, *cell) for cell in own]
        counted = [text.rstrip(".") for text in texts] == [str(number) for number in range(1, len(texts) + 1)]
        if headings[column] in map(name_key, (UNIT, *WORDED)) or (not worded and counted):
            continue
        if any(cell in figures for cell in own):
            break
        if texts:
            worded[column] = texts
    sizes = [column for column, texts in worded.items() if all(map(like_a_size, texts))]
    if sizes and not any(like_a_size(cell_text(grid, header, column)) for column in used if column not in worded):
        return sizes[0]
    return max(worded, key=lambda column: mean(map(len, worded[column])), default=used[0])


def _names_families(grid: Grid, row: int) -> bool:
    """Whether a row says which family each size is of: it begins with 'Family', and its words are repeated."""
    texts = [cell_text(grid, *cell) for cell in sorted(grid.cells) if cell[0] == row]
    merged = any(top <= row <= bottom and left < right for left, top, right, bottom in grid.merges)
    return bool(texts) and name_key(texts[0]) == name_key(FAMILY) and (merged or len({*texts}) < len(texts))


def _of_units(grid: Grid, header: int, labels: int, below: Sequence[Cell], rows: Sequence[int]) -> tuple[int, int]:
    """The row and the column that hold units and nothing else, 0 where there is none."""
    by_row: dict[int, list[str]] = {}
    by_column: dict[int, list[str]] = {}
    for row, column in below:
        if column != labels and row < rows[0]:
            by_row.setdefault(row, []).append(cell_text(grid, row, column))
        elif column != labels and row in rows:
            by_column.setdefault(column, []).append(cell_text(grid, row, column))
    row, column = (next((at for at, texts in by.items() if all(map(is_unit, texts))), 0) for by in (by_row, by_column))
    return row, column
