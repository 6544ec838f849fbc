"""What cells hold, and where they lie: the values that sheets are written from."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from xlsxwriter.utility import xl_col_to_name

from grading.workbooks.looks import Look

__all__ = ["Area", "Bar", "BarChart", "Content", "Formula", "Heading", "Link", "Styled", "Value"]

Value = float | int | str | bool


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula (with its leading ``=``) and what it comes to, for programs that do not calculate."""

    text: str
    value: Value


@dataclass(frozen=True, slots=True)
class Link:
    """Text that leads to the top of another sheet of the book, named as it is there."""

    text: str
    sheet: str


@dataclass(frozen=True, slots=True)
class Styled:
    """Content with a look of its own, where it differs from its column's."""

    content: str | float | int | bool | dt.date | Formula | Link | None
    look: Look

    @classmethod
    def flagged(cls, text: str, when: bool) -> Styled:
        """A text that wants attention ``when`` that is so."""
        return cls(text, Look.FLAGGED if when else Look.TEXT)


Content = str | float | int | bool | dt.date | Formula | Link | Styled | None


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of a table's column: its text, and the look of the cells below it.

    ``width`` is in characters, where it is not computed; the column takes ``span`` of the sheet's; ``help`` is told
    while one of its cells is chosen.
    """

    text: str
    look: Look = Look.TEXT
    width: float | None = None
    span: int = 1
    help: str = ""


@dataclass(frozen=True, slots=True)
class Area:
    """Where the cells of a table lie (headings apart): first row and column from 1, and how many of each."""

    sheet: str
    top: int
    left: int
    rows: int
    columns: int

    def cell(self, row: int, column: int) -> str:
        """The name of a cell, rows and columns of the table counted from 0."""
        return f"{xl_col_to_name(self.left + column - 1)}{self.top + row}"

    def cell_elsewhere(self, row: int, column: int) -> str:
        """The same cell, as used from another sheet."""
        return f"{_quoted(self.sheet)}!{self.cell(row, column)}"

    def column(self, column: int) -> str:
        """All cells of a column, as used within the sheet."""
        return f"{self.cell(0, column)}:{self.cell(self.rows - 1, column)}"

    def fixed(self, row: int, column: int) -> str:
        """A cell as named from anywhere in the book, which a copied formula keeps to."""
        return f"{_quoted(self.sheet)}!{self._fixed(row, column)}"

    @property
    def whole(self) -> str:
        """All cells, as used from another sheet."""
        return f"{self.fixed(0, 0)}:{self._fixed(self.rows - 1, self.columns - 1)}"

    def reference(self, column: int, rows: int | None = None, first: int = 0) -> str:
        """The cells of a column from row ``first`` to the one before row ``rows`` (all), as used from another sheet."""
        return f"{self.fixed(first, column)}:{self._fixed((self.rows if rows is None else rows) - 1, column)}"

    def _fixed(self, row: int, column: int) -> str:
        return f"${xl_col_to_name(self.left + column - 1)}${self.top + row}"


def _quoted(sheet: str) -> str:
    return "'" + sheet.replace("'", "''") + "'"


@dataclass(frozen=True, slots=True)
class Bar:
    """The bars of one kind in a chart: the cell of their name, those of what they stand for, and their grey (RRGGBB).

    Cells are named as `Area.fixed` and `Area.reference` do.
    """

    name: str
    labels: str
    values: str
    colour: str


@dataclass(frozen=True, slots=True)
class BarChart:
    """A chart of upright bars. ``gap`` is the room between groups of bars, in hundredths of a bar."""

    title: str
    bars: tuple[Bar, ...]
    number_format: str
    gap: int
    legend: bool = False
    framed: bool = True
