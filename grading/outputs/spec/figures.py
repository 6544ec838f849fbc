"""Figures as a sheet shows them: in the unit chosen, and where they stand so that formulas find them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import SupportsFloat

import numpy as np

from grading.geometry.arrays import Floats
from grading.units import MM_PER, rounded, with_decimal
from grading.workbooks.book import Area, BookSheet, Content, Formula, Heading, Look

__all__ = ["FigureTable", "LengthRow", "in_unit", "length_cell", "length_column", "room_of_lengths", "table_of_lengths"]


def in_unit(mm: Floats | SupportsFloat, unit: str) -> Floats:
    """Millimetres in another unit, without the noise beyond a millionth of it.

    >>> float(in_unit(222.25, "in"))
    8.75
    """
    figures: Floats = np.round(np.asarray(mm, dtype=float) / float(MM_PER[unit]), 6)
    return figures


#: A row's words, its lengths, and what else there is.
LengthRow = tuple[Sequence[Content], Sequence[Content], Sequence[Content]]

#: How lengths are shown to the nearest 1/16 of an inch.
_BY_TAPE = {Look.NUMBER: Look.SIXTEENTHS, Look.SIGNED: Look.SIGNED_SIXTEENTHS, Look.FINE: Look.SIGNED_SIXTEENTHS}


def length_column(heading: str, unit: str) -> Heading:
    """A column of lengths by which nothing is calculated, as `length_cell` has them."""
    return Heading(heading, Look.TEXT if unit == "in" else Look.NUMBER)


def length_cell(mm: float, unit: str) -> Content:
    """A length, of inches as a tape has it with its decimal in brackets."""
    return with_decimal(mm, unit) if unit == "in" else float(in_unit(mm, unit))


def room_of_lengths(sheet: BookSheet, rows: int, columns: int, unit: str) -> Area:
    """Where the figures of the next `table_of_lengths` will lie by which formulas calculate."""
    area = sheet.room(rows, columns)
    return replace(area, top=area.top + rows + 3) if unit == "in" else area


def table_of_lengths(
    sheet: BookSheet,
    columns: tuple[Sequence[Heading], Sequence[Heading], Sequence[Heading]],
    rows: Sequence[LengthRow],
    unit: str,
    *,
    name: str,
) -> Area:
    """A table of words, lengths and what else there is; where the lengths lie by which formulas calculate.

    Inches are shown twice: as a tape has them, to the nearest 1/16, and below that in decimals, by which formulas
    calculate, those of the tape too.
    """
    words, lengths, others = columns
    if unit != "in":
        return sheet.table([*words, *lengths, *others], [[*a, *b, *c] for a, b, c in rows], name=name)
    decimal = room_of_lengths(sheet, len(rows), len(words) + len(lengths), unit)
    tape = [
        [*said, *(_by_tape(decimal.cell(row, len(said) + i), length) for i, length in enumerate(figures)), *rest]
        for row, (said, figures, rest) in enumerate(rows)
    ]
    lengths = [replace(column, width=None) for column in lengths]
    by_tape = [replace(column, look=_BY_TAPE[column.look]) for column in lengths]
    sheet.table([*words, *by_tape, *others], tape, name=name)
    sheet.gap()
    sheet.note(_DECIMALS_TOLD)
    return sheet.table([*words, *lengths], [[*said, *figures] for said, figures, _ in rows], name=f"{name}, decimals")


_DECIMALS_TOLD = "The same in decimals: by these it is calculated, and a figure changed here changes above."


def _by_tape(cell: str, length: Content) -> Content:
    value = length.value if isinstance(length, Formula) else length
    return Formula(f"=ROUND(16*{cell},0)/16", rounded(16 * value, 0) / 16) if isinstance(value, float) else None


@dataclass(frozen=True, eq=False)
class FigureTable:
    """A table of one row a measure and one column a size: its cells, and what is shown in them.

    ``values`` (measures, sizes) stand in the columns of ``area`` from ``first`` on, ``tolerances`` − and +
    (measures, 2), where there are any, in the two after them.
    """

    names: tuple[str, ...]
    area: Area
    first: int
    values: Floats
    tolerances: Floats = field(default_factory=lambda: np.empty((0, 2)))

    def cell(self, row: int, column: int) -> str:
        """The cell of a figure, as used from another sheet."""
        return self.area.cell_elsewhere(row, self.first + column)
