"""Reads a workbook of size tables: sheets that begin with the heading 'Measurement', else printed charts."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from grading.codes import Code
from grading.findings import Finding, Findings, Place, Severity, has_errors
from grading.model.names import name_key, nearest
from grading.model.sizes import SizeTable
from grading.sheets.cells import as_text, cell_text
from grading.sheets.chart_words import is_figure
from grading.sheets.declared import ABOUT, FAMILY, SIZE_GROUP, MeasuredRow
from grading.sheets.grids import Grid, Opened
from grading.sheets.kinds import SIZE_TABLES, is_of_another_table, mistaken
from grading.sheets.printed import laid_out, with_middles
from grading.sheets.refusals import TOO_MANY_CELLS, in_workbook
from grading.sheets.rows import Row, Table, header_row, headings, is_headed, read_rows
from grading.sheets.values import values
from grading.units import MM_PER, UnreadableError, typed, unit_name

__all__ = ["Bounds", "measured_rows", "read_sizes", "rows_named", "unit_named"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and the most that a figure may be, mm, and of what it is else no measurement."""

    shortest: float
    longest: float
    of: str


#: A run of 190 sizes, or 60 groups, has a quarter of these: more figures than anybody measures are not judged.
_MOST_CELLS = 40_000
#: No measurement of a hand lies outside these; most slips of unit do.
OF_A_HAND = Bounds(1, 600, "a hand")
#: So many rows named like those of a size group make a sheet look like one.
_ROWS_OF_A_TABLE = 2


def read_sizes(opened: Opened, span: Bounds = OF_A_HAND) -> tuple[tuple[SizeTable, ...], list[Finding]]:
    """Every size group of an opened workbook, in the order of its sheets; groups with an error are left out.

    A figure outside of ``span`` is one.
    """
    tables = []
    grids, findings = _grids_of_groups(opened)
    for grid in grids:
        own = Findings()
        grid = own.gather(with_middles(grid, _size_columns(grid), header_row(grid)))
        grid, families = own.gather(_without_families(grid))
        table = own.gather(read_rows(grid, SIZE_GROUP, "mm"))
        own += _out_of_bounds(table, grid.place(), span)
        findings += own
        if not has_errors(own):
            tables.append(replace(_size_table(grid.sheet, table), families=families))
    return tuple(tables), findings


def _without_families(grid: Grid) -> tuple[tuple[Grid, tuple[str, ...]], list[Finding]]:
    """The grid without its row of families, their words by size, and what is told of sizes that have none."""
    header = header_row(grid)
    named = [row for row, column in grid.cells if column == 1 and name_key(cell_text(grid, row, 1)) == name_key(FAMILY)]
    row = min((row for row in named if row > header), default=0)
    if not row:
        return (grid, ()), []
    columns = [column for column in _size_columns(grid) if cell_text(grid, header, column)]
    words = [cell_text(grid, row, column) for column in columns]
    findings = [
        Finding.error(
            Code.BLANK_CELL,
            grid.place(row, column),
            f"Size {cell_text(grid, header, column)} is of no family.",
            "A word in every size, the same for all that are one run: short, long.",
            f"Fill it in, or take the row {FAMILY} out.",
        )
        for column, word in zip(columns, words, strict=True)
        if not word
    ]
    rest = {cell: value for cell, value in grid.cells.items() if cell[0] != row}
    return (replace(grid, cells=rest), tuple(words)), findings


def _grids_of_groups(opened: Opened) -> tuple[list[Grid], list[Finding]]:
    """The sheets of size groups: those that are headed so, else charts as they are printed; and findings."""
    if wrong := mistaken(opened, SIZE_TABLES):
        return [], wrong
    headed = [grid for grid in opened.grids if is_headed(grid, SIZE_GROUP)]
    if sum(len(grid.cells) for grid in headed) > _MOST_CELLS:
        return [], [in_workbook(TOO_MANY_CELLS, opened.path.name)]
    if headed:
        findings = Findings()
        grids = [findings.gather(_with_a_unit(grid)) for grid in headed]
        return grids, [*findings, *_sheets_not_read(opened, headed)]
    others = [grid for grid in opened.grids if name_key(grid.sheet) != name_key(ABOUT)]
    charts = [(grid, *laid_out(grid)) for grid in others]
    if read := [(grid, sheet, told) for grid, sheet, told in charts if sheet is not None]:
        told = [one for *_, told in read for one in told]
        return [sheet for _, sheet, _ in read], [*told, *_sheets_not_read(opened, [grid for grid, *_ in read])]
    unclear = [one for grid, _, told in charts if any(map(is_figure, grid.cells.values())) for one in told]
    return [], unclear or [*_without_any_group(opened), *_sheets_not_read(opened, [])]


def rows_named(opened: Opened) -> Iterator[tuple[str, list[str], Place]]:
    """Each group's name, the names of its rows and where its sheet is, whatever else is wrong with it."""
    for grid in _grids_of_groups(opened)[0]:
        names = [name for name in _column(grid, 0) if name and not name.startswith("#")]
        yield " ".join(grid.sheet.split()), names, grid.place()


def unit_named(opened: Opened) -> str:
    """The unit that all rows of a workbook name, whatever else is wrong with them; mm where they differ."""
    named = set()
    for text in (text for grid in _grids_of_groups(opened)[0] for text in _column(grid, 1)):
        with contextlib.suppress(UnreadableError):
            named.add(unit_name(text))
    return named.pop() if len(named) == 1 else "mm"


def _column(grid: Grid, number: int) -> Iterator[str]:
    """The texts under the heading of a declared column of size groups, counted from 0."""
    column = headings(grid).get(name_key(SIZE_GROUP.columns[number].name), 0)
    return (cell_text(grid, row, column) for row in range(header_row(grid) + 1, grid.rows + 1))


def _with_a_unit(grid: Grid) -> tuple[Grid, list[Finding]]:
    """A group's sheet; if it has no column of units it is given one, from what its headings or its title say."""
    if name_key(SIZE_GROUP.columns[1].name) in headings(grid):
        return grid, []
    sheet, told = laid_out(grid)
    return (grid, []) if sheet is None else (sheet, told)


def _size_columns(grid: Grid) -> list[int]:
    declared = {name_key(column.name) for column in SIZE_GROUP.columns}
    header = header_row(grid)
    return [at for at in range(1, grid.columns + 1) if name_key(cell_text(grid, header, at)) not in declared]


def _without_any_group(opened: Opened) -> Iterator[Finding]:
    if opened.grids:
        yield Finding.error(
            Code.MISSING_SHEET,
            Place(opened.path.name),
            "No sheet begins with the heading 'Measurement', and none holds a chart of figures by size.",
            "A sheet for each size group, its headings Measurement, Unit, then one a size.",
            "Add the headings in the first row, or name the right file.",
        )


def _sheets_not_read(opened: Opened, grids: Sequence[Grid]) -> Iterator[Finding]:
    """A finding for each sheet that is no group: an error where it looks as if it were meant to be one."""
    wanted = SIZE_GROUP.columns[0].name
    known = [name_key(as_text(value)) for grid in grids for (_, column), value in grid.cells.items() if column == 1]
    for grid in opened.grids:
        if grid in grids or name_key(grid.sheet) == name_key(ABOUT) or is_of_another_table(grid):
            continue
        first = cell_text(grid, 1, 1)
        left_out = any(name_key(text.lstrip("#")) == name_key(wanted) for text in _firsts(grid, "#"))
        row = 0 if left_out else _meant_as_headings(grid, wanted)
        alike = not left_out and sum(name_key(text) in known for text in _firsts(grid)) >= _ROWS_OF_A_TABLE
        action = "It is not read."
        if row or alike:
            action = f"Let the row of headings stand first, or put # before '{wanted}' if the sheet is not to be read."
        yield Finding(
            Code.SHEET_NOT_READ,
            Severity.ERROR if row or alike else Severity.NOTE,
            grid.place(row or 1, 1),
            f"The sheet {grid.sheet} is no size group: its first heading is '{first}'."
            if row <= 1
            else f"The sheet {grid.sheet} is not read: its headings stand in row {row}, below other rows.",
            f"Perhaps '{wanted}' is meant." if row == 1 else f"A size group's first heading is '{wanted}'.",
            "Correct the heading." if row == 1 else action,
        )


def _firsts(grid: Grid, mark: str = "") -> list[str]:
    """The texts of the first column that begin with a mark."""
    texts = (cell_text(grid, row, column) for row, column in sorted(grid.cells) if column == 1)
    return [text for text in texts if text.startswith(mark)]


def _meant_as_headings(grid: Grid, wanted: str) -> int:
    """The row that was most likely meant for the headings of a size group; 0 if there is none."""
    for row, column in sorted({*grid.cells, *grid.faults}):
        if column > 1 and cell_text(grid, row, column) and name_key(cell_text(grid, row, column)) != "unit":
            continue  # headings may begin further to the right, and 'Unit' is among them
        if column == 1 and (nearest(cell_text(grid, row, 1), [wanted]) or (row == 1 and (1, 1) in grid.faults)):
            return row
        if column > 1 and "unit" in headings(grid, row):
            return row
    return 0


def _size_table(group: str, table: Table) -> SizeTable:
    rows, sizes = table.rows, table.others
    measured: tuple[MeasuredRow, ...] = values(SIZE_GROUP, rows, sizes)
    places = {(number, -1): row.place("Measurement") for number, row in enumerate(rows)}
    places |= {
        (number, column): row.place(size) for number, row in enumerate(rows) for column, size in enumerate(sizes)
    }
    return SizeTable(
        group=" ".join(group.split()),
        sizes=sizes,
        measurements=tuple(row.name for row in measured),
        values=np.array([row.figures for row in measured]),
        units=tuple(row.unit for row in measured),
        how_to_measure=tuple(row.how_to_measure for row in measured),
        source=tuple(row.source for row in measured),
        places=places,
    )


def measured_rows(table: SizeTable) -> Iterator[MeasuredRow]:
    """The rows of a size table, as they are read and written."""
    columns = (table.measurements, table.units, table.values.tolist(), table.how_to_measure, table.source)
    return (
        MeasuredRow(name, unit, tuple(row), how, source) for name, unit, row, how, source in zip(*columns, strict=True)
    )


def _out_of_bounds(table: Table, sheet: Place, span: Bounds) -> Iterator[Finding]:
    if table.rows and not table.others:
        yield Finding.error(
            Code.NO_SIZES,
            sheet,
            "The sheet has no column for a size.",
            "After Measurement and Unit one column a size, smallest first.",
            "Add the sizes' names to the headings.",
        )
    for row in table.rows:
        for size in table.others:
            yield from _out_of_range(row, size, span)


def _in_own_unit(mm: float, unit: str) -> str:
    return f"{mm:g} mm" if unit == "mm" else f"{typed(mm, MM_PER[unit]):g} {unit}, {mm:g} mm,"


def _in_other_units(mm: float, unit: str, span: Bounds) -> str:
    """The end of a sentence that names the units in which the figure may have been measured instead."""
    units = [name for name, per in MM_PER.items() if (per < MM_PER[unit]) == (mm > span.longest) and name != unit]
    return f": perhaps it was measured in {' or '.join(units)}" if units else ""


def _out_of_range(row: Row, size: str, span: Bounds) -> Iterator[Finding]:
    figure = row[size]
    if row["Unit"] is None:  # told already, and mended first
        return
    if figure is not None and not span.shortest <= figure <= span.longest:
        yield Finding.error(
            Code.FIGURE_OUT_OF_RANGE,
            row.place(size),
            f"{row['Measurement']} is {_in_own_unit(float(figure), row['Unit'])} in size {size}.",
            f"Between {span.shortest:g} and {span.longest:g} mm: this is no measurement of {span.of}.",
            f"Check the figure, and the row's unit ({row['Unit']}){_in_other_units(figure, row['Unit'], span)}.",
            cause=f"unit {row['Unit']}",
        )
