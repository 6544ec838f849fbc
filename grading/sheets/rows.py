"""Reads a grid by a sheet's declaration: rows of parsed values, and a finding for every cell that is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from grading import units
from grading.codes import Code
from grading.findings import Finding, Findings, Place, Severity, amount, column_letters, has_errors
from grading.model.names import name_key, nearest
from grading.sheets.as_shown import read_as_shown
from grading.sheets.cells import as_text, cell_text, lookalike_key, shown, unread_as_length
from grading.sheets.columns import Cells, Column, SameAs, Sheet
from grading.sheets.declared import ABOUT
from grading.sheets.grids import CellValue, Grid, Opened
from grading.units import MM2_PER, UnreadableError

__all__ = [
    "Row",
    "Table",
    "find_grid",
    "find_headed",
    "header_row",
    "headings",
    "hidden_parts",
    "is_headed",
    "read_fields",
    "read_rows",
    "read_sheet",
    "uneven_lines",
    "unread_sheets",
]

_FAULTS = {
    Code.FORMULA_WITHOUT_VALUE: "The cell holds a formula whose value was never saved.",
    Code.FORMULA_ERROR: "The cell's formula ends in an error.",
}
_ACTIONS = {
    Code.BLANK_CELL: "Fill it in, or begin the row with # to leave the whole row out.",
    Code.FORMULA_WITHOUT_VALUE: "Open the workbook in a spreadsheet program and save it, or type the value.",
    Code.FORMULA_ERROR: "Correct the formula and save the workbook, or type the value.",
    Code.DATE_FOR_NAME: "Format the cell as text, then type the name again.",
    Code.NUMBER_FOR_NAMES: "Format the cell as text, then type the names again.",
    Code.MERGED_CELL: "Unmerge the cells and fill in each.",
    Code.SHOWN_OTHERWISE: "Give the cell the number format 'General', then see whether the figure is right.",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One row's parsed values by column name, None where a cell is wrong; ``sound`` if none is."""

    grid: Grid
    number: int
    values: Mapping[str, Any]
    cells: Mapping[str, tuple[int, int]]
    sound: bool

    def __getitem__(self, column: str) -> Any:
        return self.values[column]

    def place(self, column: str = "") -> Place:
        """The cell of that column, or the row's first where there is none."""
        return self.grid.place(*self.cells.get(column, (self.number, 1)))


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet as read. ``others`` are the headings of the columns of which it may have any number, in order."""

    rows: tuple[Row, ...] = ()
    others: tuple[str, ...] = ()


def headings(grid: Grid, row: int = 0) -> dict[str, int]:
    """The columns of a row's texts by their keys, without blank ones; of the row of headings if no row is given."""
    row = row or header_row(grid)
    keys = {name_key(cell_text(grid, row, column)): column for column in range(grid.columns, 0, -1)}
    return {key: column for key, column in keys.items() if key}


def is_headed(grid: Grid, sheet: Sheet) -> bool:
    """Whether the first heading is that of the declared sheet, whatever its case and spaces."""
    return name_key(cell_text(grid, header_row(grid), 1)) == name_key(sheet.columns[0].name)


def find_grid(opened: Opened, sheet: Sheet) -> tuple[Grid | None, list[Finding]]:
    """The sheet's grid in a workbook, by its name; an error if it must be there and is not."""
    grid = opened.grid(sheet.name)
    if grid is not None or sheet.optional:
        return grid, []
    names = ", ".join(grid.sheet for grid in opened.grids)
    found = f"There is no sheet '{sheet.name}'; there are {names or 'none'}."
    action = f"Add it, with the headings {', '.join(column.name for column in sheet.columns)}."
    return None, [Finding.error(Code.MISSING_SHEET, Place(opened.path.name), found, sheet.help, action)]


def find_headed(opened: Opened, sheet: Sheet, wanted: str) -> tuple[Grid | None, list[Finding]]:
    """The first sheet of a workbook or CSV file that is headed like this one, whatever its name; an error if none is.

    ``wanted`` are the headings in words. A file that could not be opened has its error already.
    """
    grid = next((grid for grid in opened.grids if is_headed(grid, sheet)), None)
    if grid is not None or not opened.grids:
        return grid, []
    found = f"No sheet begins with the heading '{sheet.columns[0].name}'."
    action = f"Add the headings {wanted} in the first row."
    return None, [Finding.error(Code.MISSING_SHEET, Place(opened.path.name), found, sheet.help, action)]


def unread_sheets(opened: Opened, sheets: Sequence[Sheet]) -> list[Finding]:
    """A finding for each other sheet: a warning where one of these may be meant, else a note."""
    names = [sheet.name for sheet in sheets if opened.grid(sheet.name) is None]
    known = {name_key(name) for name in (ABOUT, *(sheet.name for sheet in sheets))}
    return [
        _unknown(
            Code.UNKNOWN_SHEET, grid.place(), f"No sheet '{grid.sheet}' is known here.", nearest(grid.sheet, names)
        )
        for grid in opened.grids
        if name_key(grid.sheet) not in known
    ]


def _unknown(code: Code, place: Place, found: str, meant: str) -> Finding:
    """A note for a sheet or a heading that is not read; a warning where it looks like one that is missing."""
    if not meant:
        return Finding.note(code, place, found, "It is not read.", "")
    return Finding.warning(code, place, found, f"Perhaps '{meant}' is meant.", "It is not read as it is.")


def _unknown_heading(grid: Grid, row: int, column: int, meant: str) -> Finding:
    """A note or a warning for a heading that is not read; an error where it may be a missing one and has figures."""
    place, found = grid.place(row, column), f"No column '{cell_text(grid, row, column)}' is known here."
    if not meant or not _has_figures(grid, row, column):
        return _unknown(Code.UNKNOWN_COLUMN, place, found, meant)
    expected = f"Perhaps '{meant}' is meant: figures stand under it."
    action = f"Write '{meant}', or begin the heading with # if these figures are not to be read."
    return Finding.error(Code.UNKNOWN_COLUMN, place, found, expected, action)


def read_sheet(opened: Opened, sheet: Sheet, unit: str) -> tuple[tuple[Row, ...], list[Finding]]:
    """The rows of a workbook's sheet of that name, as `read_rows` has them; none where it is not there."""
    findings = Findings()
    grid = findings.gather(find_grid(opened, sheet))
    return () if grid is None else findings.gather(read_rows(grid, sheet, unit)).rows, findings


def read_rows(grid: Grid, sheet: Sheet, unit: str) -> tuple[Table, list[Finding]]:
    """Every row under the headings; blank rows, and rows that begin with #, are left out.

    ``unit`` is that of lengths without one, in rows that name none. All that is wrong is found, not only the first.
    """
    header = header_row(grid)
    if not header:
        return Table(), [_empty(grid, sheet, "The sheet is empty.")]
    findings = Findings()
    places = findings.gather(_find_columns(grid, sheet, header))
    columns = {name: column for name, (column, _) in places.items()}
    declared = {name: declaration for name, (_, declaration) in places.items()}
    absent = {column.name: column.if_absent for column in sheet.columns if column.name not in columns}
    complete = all(column.optional or column.name in columns for column in sheet.columns)
    rows: list[Row] = []
    numbers = [number for number in _filled_rows(grid) if number > header]
    for number in numbers:
        cells = {name: (number, column) for name, column in columns.items()}
        if not any(cell in grid.cells or cell in grid.faults for cell in cells.values()):
            continue
        row = findings.gather(_read_cells(grid, number, cells, declared, unit))
        values = {**absent, **row.values}
        same = {name: values[value.column] for name, value in values.items() if isinstance(value, SameAs)}
        rows.append(Row(grid, number, {**values, **same}, cells, row.sound and complete))
    uneven = list(uneven_lines(grid, header, numbers))
    findings.extend(uneven or _stray_values(grid, sheet, set(numbers), header))
    findings.extend(_repeated(rows, sheet.key))
    findings.extend(hidden_parts(grid, [row.number for row in rows], columns.values()))
    if not rows and not sheet.optional:
        findings.append(_empty(grid, sheet, "The sheet has no rows."))
    others = tuple(name for name, column in declared.items() if column is sheet.others)
    return Table(tuple(rows), others), findings


def read_fields(grid: Grid, sheet: Sheet, unit: str) -> tuple[Row, list[Finding]]:
    """A sheet of a field and its value in each row, as one row whose columns are the fields.

    The sheet's own unit, where it has a field for that, holds for the others.
    """
    header, findings = header_row(grid), Findings()
    places = findings.gather(_find_columns(grid, sheet, header))
    # A value may be left blank, but not the whole column of them.
    absent_columns = [column for column in sheet.columns if column.optional and column.name not in places]
    findings += [_missing_column(grid, header, column) for column in absent_columns]
    cells: dict[str, tuple[int, int]] = {}
    if len(places) == len(sheet.columns):
        columns = (places[column.name][0] for column in sheet.columns)
        cells = findings.gather(_find_fields(grid, sheet, header, *columns))
    findings.extend(hidden_parts(grid, [row for row, _ in cells.values()], [column for column, _ in places.values()]))
    present = {field.name: field for field in sheet.fields if field.name in cells}
    read, wrong = _read_cells(grid, header, cells, present, unit)
    absent = {field.name: field.if_absent for field in sheet.fields if field.name not in cells}
    sound = read.sound and not has_errors(findings)
    return Row(grid, header, {**absent, **read.values}, cells, sound), [*findings, *wrong]


def _find_fields(
    grid: Grid, sheet: Sheet, header: int, name_column: int, value_column: int
) -> tuple[dict[str, tuple[int, int]], list[Finding]]:
    """The cell of each field's value; an error for each that is needed and not there, or is there twice."""
    known = {name_key(field.name): field for field in sheet.fields}
    cells: dict[str, tuple[int, int]] = {}
    findings = []
    for number in _filled_rows(grid):
        name, place = cell_text(grid, number, name_column), grid.place(number, name_column)
        if number <= header or not name:
            continue
        field = known.get(name_key(name))
        if field is None:
            found = f"'{name}' is no field of this sheet."
            expected = f"The fields are {', '.join(field.name for field in sheet.fields)}."
            findings.append(Finding.note(Code.UNKNOWN_FIELD, place, found, expected, ""))
        elif field.name in cells:
            findings.append(_duplicate(place, name, grid.place(*cells[field.name])))
        else:
            cells[field.name] = (number, value_column)
    for field in sheet.fields:
        if field.name not in cells and not field.optional:
            found, action = f"There is no field '{field.name}'.", f"Add a row '{field.name}'."
            findings.append(Finding.error(Code.MISSING_FIELD, grid.place(), found, field.help, action))
    return cells, findings


# Columns


def _find_columns(grid: Grid, sheet: Sheet, header: int) -> tuple[dict[str, tuple[int, Column]], list[Finding]]:
    """Each heading's column and declaration; headings that nobody declared are noted, or are the sheet's others."""
    known = {name_key(column.name): column for column in sheet.columns}
    headed = headings(grid, header)
    missing = [column.name for column in sheet.columns if name_key(column.name) not in headed]
    columns: dict[str, tuple[int, Column]] = {}
    findings: list[Finding] = []
    for number in range(1, grid.columns + 1):
        name, place = cell_text(grid, header, number), grid.place(header, number)
        declared = known.get(name_key(name), sheet.others)
        if code := grid.faults.get((header, number)):
            expected = "A heading, which says what is under it."
            findings.append(Finding.error(code, place, _FAULTS[code], expected, _ACTIONS[code]))
            continue
        if not name or name.startswith("#"):
            continue
        perhaps = declared is None or (declared is sheet.others and not _has_figures(grid, header, number))
        meant = nearest(name, missing) if perhaps else ""
        if declared is None or meant:
            findings.append(_unknown_heading(grid, header, number, meant))
            continue
        if declared is sheet.others and isinstance(grid.value(header, number), date):
            found = f"{name} is a date: the spreadsheet made one of what was typed, as it does of 8-9."
            findings.append(Finding.error(Code.DATE_FOR_NAME, place, found, "A name.", _ACTIONS[Code.DATE_FOR_NAME]))
        name = name if declared is sheet.others else declared.name
        twin = next((other for other in columns if lookalike_key(other) == lookalike_key(name)), None)
        if twin is None:
            columns[name] = (number, declared)
        else:
            findings.append(_duplicate_heading(place, name, twin, grid.place(header, columns[twin][0])))
    # A heading that cannot be read is told of already, and most likely the one that is missing.
    if any(one.severity is Severity.ERROR and one.code != Code.DUPLICATE_COLUMN for one in findings):
        return columns, findings
    absent = [column for column in sheet.columns if column.name not in columns and not column.optional]
    findings += [_missing_column(grid, header, column) for column in absent]
    if sheet.others and not any(declared is sheet.others for _, declared in columns.values()):
        found = f"There is no column for {sheet.others.name}."
        place = grid.place(header, 1)
        findings.append(Finding.error(Code.MISSING_COLUMN, place, found, sheet.help, "Add at least one."))
    return columns, findings


def _duplicate_heading(place: Place, name: str, twin: str, first: Place) -> Finding:
    same = name_key(twin) == name_key(name)
    found = f"'{name}' {'is' if same else 'looks like'} the heading of {first.cell}{' already' if same else ''}."
    expected = "Every heading is there once."
    return Finding.error(Code.DUPLICATE_COLUMN, place, found, expected, "Rename or delete one.")


def _has_figures(grid: Grid, header: int, column: int) -> bool:
    """Whether figures stand under a heading."""
    return any(row > header and of == column and _is_figure(value) for (row, of), value in grid.cells.items())


def _is_figure(value: CellValue) -> bool:
    if isinstance(value, str):
        return unread_as_length(value) is None
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def uneven_lines(grid: Grid, header: int, rows: Sequence[int]) -> Iterator[Finding]:
    """Lines of a CSV file, down to the last with figures, that have more or fewer cells than the line of headings."""
    if not grid.widths:
        return
    headings = max((column for row, column in grid.cells if row == header), default=0)
    filled = {row: max(column for other, column in grid.cells if other == row) for row in rows}
    figures = {row for (row, column), value in grid.cells.items() if column > 1 and _is_figure(value)}
    last = max((row for row in rows if row in figures), default=0)
    for row in rows:
        count = max(filled[row], min(grid.widths[row], headings))
        if row <= last and count != headings:
            yield Finding.error(
                Code.UNEVEN_LINE,
                grid.place(row, 1),
                f"Line {row} has {count} cells, the headings are {headings}.",
                "As many cells as headings: else figures stand under another size's name.",
                "A decimal comma in a file parted by commas does this: part it by semicolons, or use decimal points.",
                "uneven lines",
            )


def _stray_values(grid: Grid, sheet: Sheet, rows: set[int], header: int) -> Iterator[Finding]:
    """A value in a column that has no heading: a size that lost its name, or a figure cut in two by its comma."""
    headed = {column for row, column in (*grid.cells, *grid.faults) if row == header}
    stray = {column: row for row, column in sorted(grid.cells, reverse=True) if row in rows and column not in headed}
    for column, row in sorted(stray.items()):
        yield Finding(
            Code.VALUE_WITHOUT_HEADING,
            Severity.ERROR if sheet.others else Severity.WARNING,
            grid.place(row, column),
            f"{shown(grid.value(row, column))} stands in a column that has no heading.",
            "Only columns with a heading are read; in a CSV file a decimal comma can cause this.",
            "Give the column its heading, or clear it.",
        )


# Rows


def _filled_rows(grid: Grid) -> list[int]:
    """The rows that hold anything, but for those that begin with #."""
    first: dict[int, int] = {}
    for row, column in (*grid.cells, *grid.faults):
        first[row] = min(column, first.get(row, column))
    return [
        row
        for row, column in sorted(first.items())
        if (row, column) in grid.faults or not as_text(grid.value(row, column)).startswith("#")
    ]


def header_row(grid: Grid) -> int:
    return next(iter(_filled_rows(grid)), 0)


def _read_cells(
    grid: Grid, number: int, cells: Mapping[str, tuple[int, int]], declared: Mapping[str, Column], unit: str
) -> tuple[Row, list[Finding]]:
    """The parsed cells of one row. Its unit, if it names one, is read first and holds for the others."""
    values: dict[str, Any] = {}
    findings: list[Finding] = []
    sound = True
    area_unit = next(iter(MM2_PER))
    for name in sorted(cells, key=lambda name: declared[name].kind not in (Cells.UNIT, Cells.AREA_UNIT)):
        column, cell = declared[name], cells[name]
        try:
            values[name], told = _read_cell(grid, cell, column, area_unit if column.kind is Cells.AREA else unit)
            if told:
                findings.append(_as_shown(grid.place(*cell), column, told))
            findings += _out_of_bounds(grid.place(*cell), column, values[name])
        except UnreadableError as wrong:
            values[name], sound = None, False
            findings.append(_wrong_cell(grid.place(*cell), column, name, unit, wrong))
        if column.kind is Cells.UNIT:
            unit = values[name] or unit
        if column.kind is Cells.AREA_UNIT:
            area_unit = values[name] or area_unit
        if column.optional and cell not in grid.cells and (merge := grid.merge_over(*cell)):
            found, action = f"The cell is merged into {merge} and counts as blank.", _ACTIONS[Code.MERGED_CELL]
            findings.append(Finding.warning(Code.MERGED_CELL, grid.place(*cell), found, "", action))
    return Row(grid, number, values, cells, sound), findings


def _read_cell(grid: Grid, cell: tuple[int, int], column: Column, unit: str) -> tuple[object, str]:
    """What the cell holds, and what is to be told of it where it shows something else."""
    if cell in grid.faults:
        raise UnreadableError(grid.faults[cell], _FAULTS[grid.faults[cell]])
    value, seen = grid.value(*cell), grid.shown.get(cell)
    if seen is not None and (column.kind.is_figure or str(seen)):
        return read_as_shown(value, seen, column, unit)
    if seen is None and as_text(value):
        return column.parse(value, unit), ""
    if column.optional:
        return column.blank, ""
    if merge := grid.merge_over(*cell):
        raise UnreadableError(Code.MERGED_CELL, f"The cell is merged into {merge} and counts as blank.")
    raise UnreadableError(Code.BLANK_CELL, "The cell is blank.")


def _out_of_bounds(place: Place, column: Column, figure: object) -> Iterator[Finding]:
    if isinstance(figure, (int, float)) and not column.least <= figure <= column.most:
        least, figure, most = (_figure_told(one, column) for one in (column.least, figure, column.most))
        bounds = f"{least} or more" if column.most == math.inf else f"between {least} and {most}"
        found = f"{column.name} is {figure}."
        yield Finding.error(Code.FIGURE_OUT_OF_RANGE, place, found, f"It is {bounds}.", "Correct the cell.")


def _figure_told(figure: float, column: Column) -> str:
    return f"{units.show(figure, 'mm')} mm" if column.kind.is_length else amount(figure)


def _wrong_cell(place: Place, column: Column, name: str, unit: str, wrong: UnreadableError) -> Finding:
    kind = f"{column.kind.says} ({', '.join(column.choices)})" if column.choices else column.kind.says
    where = f", in {unit} unless it names another unit" if column.kind.is_length else ""
    action = _ACTIONS.get(wrong.code, "Correct the cell.")
    cause = wrong.code if wrong.code in _FAULTS else ""
    return Finding.error(wrong.code, place, str(wrong), f"'{name}' takes {kind}{where}.", action, cause)


def _as_shown(place: Place, column: Column, told: str) -> Finding:
    """A warning for a figure; a note for a name, since whoever typed it sees it as it is read, as W3 for 3."""
    severity = Severity.WARNING if column.kind.is_figure else Severity.NOTE
    expected = "A cell that shows what it holds: a number format changes what is seen and not what is there."
    action = "See which is meant, and give the cell the number format 'General'."
    return Finding(Code.SHOWN_OTHERWISE, severity, place, told, expected, action, "number format")


def _repeated(rows: list[Row], key: tuple[str, ...]) -> Iterator[Finding]:
    first: dict[tuple[str, ...], Row] = {}
    for row in rows:
        names = tuple(str(row.values.get(column) or "") for column in key)
        if not key or not all(names):
            continue
        known = first.setdefault(tuple(map(name_key, names)), row)
        if known is not row:
            yield _duplicate(row.place(key[-1]), ", ".join(names), known.place(key[-1]))


def hidden_parts(grid: Grid, rows: Iterable[int], columns: Iterable[int]) -> Iterator[Finding]:
    """Warnings of hidden sheets, rows and columns: they are read, though a maker does not see them."""
    action = "Show them (or clear the filter) and see whether they belong."
    if grid.hidden:
        found, expected = "The sheet is hidden.", "It is read like any other."
        yield Finding.warning(Code.HIDDEN_SHEET, grid.place(), found, expected, action.replace("them", "it"))
    for code, kind, hidden in (
        (Code.HIDDEN_ROWS, "rows", [str(row) for row in rows if row in grid.hidden_rows]),
        (Code.HIDDEN_COLUMNS, "columns", [column_letters(at) for at in sorted(columns) if at in grid.hidden_columns]),
    ):
        if hidden:
            found = f"Hidden {kind} hold values: {', '.join(hidden)}."
            yield Finding.warning(code, grid.place(), found, "They are read like any other.", action)


# Findings


def _empty(grid: Grid, sheet: Sheet, found: str) -> Finding:
    return Finding.error(Code.EMPTY_SHEET, grid.place(), found, sheet.help, "Fill it in.")


def _missing_column(grid: Grid, header: int, column: Column) -> Finding:
    found, action = f"There is no column '{column.name}'.", f"Add a column headed '{column.name}'."
    return Finding.error(Code.MISSING_COLUMN, grid.place(header, 1), found, column.help, action)


def _duplicate(place: Place, name: str, first: Place) -> Finding:
    found, expected = f"'{name}' stands in {first.cell} already.", "Each is there once; case and spaces do not count."
    return Finding.error(Code.DUPLICATE_NAME, place, found, expected, "Rename or delete one of them.")
