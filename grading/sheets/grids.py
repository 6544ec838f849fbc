"""What is read of a file before anything in it is understood: plain grids of cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from pathlib import Path

from grading.codes import Code
from grading.findings import Place, column_letters
from grading.model.names import name_key
from grading.sheets.number_formats import Shown

__all__ = ["CellValue", "Grid", "Opened", "address"]

#: What a cell may hold; a blank one is None.
CellValue = str | int | float | bool | date | time | timedelta | None


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet's cells, by (row, column) counted from 1 as in the spreadsheet; blank ones are left out.

    What reads the file fills it, cell by cell; after that nothing changes it.

    ``faults`` gives the code of each cell that has no value to trust: 'formula-without-value' where a formula was
    never calculated and saved, 'formula-error' where it shows one (#REF!). ``merges`` are the merged cells' bounds:
    first column and row, last column and row. ``shown`` has what a cell shows where that is other than the figure in
    it; a percentage is its text, 6 % and not 0.06. ``widths`` are how many cells each line of a CSV file has.
    ``origins`` tell where cells stand that were laid out anew; ``merges`` and places are of the sheet as it is.
    """

    workbook: str
    sheet: str
    cells: dict[tuple[int, int], CellValue] = field(default_factory=dict)
    hidden: bool = False
    hidden_rows: set[int] = field(default_factory=set)
    faults: dict[tuple[int, int], Code] = field(default_factory=dict)
    merges: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden_columns: set[int] = field(default_factory=set)
    shown: dict[tuple[int, int], Shown] = field(default_factory=dict)
    widths: Mapping[int, int] = field(default_factory=dict)
    origins: Mapping[tuple[int, int], tuple[int, int]] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        """The last row that holds anything."""
        return max((row for row, _ in (*self.cells, *self.faults)), default=0)

    @property
    def columns(self) -> int:
        """The last column that holds anything."""
        return max((column for _, column in (*self.cells, *self.faults)), default=0)

    def value(self, row: int, column: int) -> CellValue:
        """What the cell holds, None if it is blank."""
        return self.cells.get((row, column))

    def merge_over(self, row: int, column: int) -> str:
        """The merged range that leaves this cell without a value of its own, or nothing."""
        row, column = self.origins.get((row, column), (row, column))
        for left, top, right, bottom in self.merges:
            if top <= row <= bottom and left <= column <= right and (row, column) != (top, left):
                return f"{address(top, left)}:{address(bottom, right)}"
        return ""

    def place(self, row: int = 0, column: int = 0) -> Place:
        """Where a cell is, or the sheet if no cell is given."""
        return Place(self.workbook, self.sheet, address(*self.origins.get((row, column), (row, column))) if row else "")


@dataclass(frozen=True, slots=True)
class Opened:
    """A file as read: its sheets, in their order, and the SHA-256 of its bytes; neither if it cannot be read."""

    path: Path
    digest: str = ""
    grids: tuple[Grid, ...] = ()

    def grid(self, sheet: str) -> Grid | None:
        """The sheet of that name, whatever its case and spaces, or None."""
        return next((grid for grid in self.grids if name_key(grid.sheet) == name_key(sheet)), None)


def address(row: int, column: int) -> str:
    """A cell as a spreadsheet names it.

    >>> address(5, 4)
    'D5'
    """
    return f"{column_letters(column)}{row}"
