"""Reads filled check sheets: every figure that somebody typed, and what cannot be made out, by its cell."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from grading import units
from grading.findings import Finding, Place, Severity
from grading.inputs.cells import as_text, heading_key
from grading.inputs.opening import Grid, Opened
from grading.model.returns import CHECK_FIELDS, CHECK_HEADINGS, HANDS, CheckSheet, Reading, TargetGiven
from grading.units import UnreadableError

__all__ = ["read_check_sheets"]

#: What a sheet must say for its readings to mean anything.
_NEEDED = ("Group", "Size", "Run", "Unit")
_PAIR = re.compile(rf"pair([0-9]+)({'|'.join(HANDS)})")
_SEND_ANEW = "Ask for the sheet as it was handed out, filled in and saved as a workbook (.xlsx)."


def read_check_sheets(opened: Opened) -> tuple[list[CheckSheet], list[Finding]]:
    """The check sheets of a file, in order; an error where it holds none, or one that does not say what it is of.

    A reading that is no length is kept as it was typed, with a warning. Other sheets of the file are left alone.
    """
    sheets: list[CheckSheet] = []
    findings: list[Finding] = []
    headed = [(grid, header) for grid in opened.grids if (header := _header_row(grid))]
    for grid, header in headed:
        sheet, found = _check_sheet(grid, header)
        findings += found
        if sheet is not None:
            sheets.append(sheet)
    if opened.grids and not headed:
        wanted = f"A row headed {', '.join(CHECK_HEADINGS)}, as on the sheet that was handed out."
        findings.append(_error("not-a-check-sheet", Place(opened.path.name), "There is no check sheet.", wanted))
    return sheets, findings


def _header_row(grid: Grid) -> int:
    wanted = [heading_key(heading) for heading in CHECK_HEADINGS]
    rows = sorted({row for row, column in grid.cells if column == 1})
    columns = range(1, len(wanted) + 1)
    return next((row for row in rows if [_key(grid, row, column) for column in columns] == wanted), 0)


def _key(grid: Grid, row: int, column: int) -> str:
    return heading_key(as_text(grid.value(row, column)))


def _check_sheet(grid: Grid, header: int) -> tuple[CheckSheet | None, list[Finding]]:
    fields = dict.fromkeys(CHECK_FIELDS, "")
    for row in range(1, header):
        for field in CHECK_FIELDS:
            if _key(grid, row, 1) == heading_key(field):
                fields[field] = as_text(grid.value(row, 2))
    missing = [field for field in _NEEDED if not fields[field]]
    if missing:
        found = f"The sheet does not say its {', '.join(missing).lower()}."
        return None, [_error("check-sheet-incomplete", grid.place(), found, "It is there when it is handed out.")]
    try:
        unit = units.unit_name(fields["Unit"])
    except UnreadableError as wrong:
        return None, [_error(wrong.code, grid.place(), str(wrong), "The unit is there when it is handed out.")]
    columns = {_key(grid, header, column): column for column in range(1, grid.columns + 1)}
    rows = list(_filled(grid, header))
    readings: list[Reading] = []
    findings: list[Finding] = []
    for row in rows:
        for heading, column in columns.items():
            if (pair := _PAIR.fullmatch(heading)) and ((row, column) in grid.cells or (row, column) in grid.faults):
                reading, doubtful = _reading(grid, row, column, int(pair[1]), pair[2], unit)
                readings.append(reading)
                findings += doubtful
    if not readings:
        findings.append(_note("check-sheet-blank", grid.place(), "Nothing is filled in."))
    elif not fields["Name"]:
        findings.append(_note("name-missing", grid.place(), "Nobody's name is on the sheet."))
    given = tuple((as_text(grid.value(row, 2)), _given(grid, row, columns, unit)) for row in rows)
    texts = (fields["Run"], fields["Group"], fields["Size"], unit, fields["Name"], fields["Date"], fields["Remarks"])
    return CheckSheet(grid.place(), *texts, given, tuple(readings)), findings


def _filled(grid: Grid, header: int) -> Iterator[int]:
    """The rows of the table: those that name a measure, up to the first that does not."""
    row = header + 1
    while as_text(grid.value(row, 2)):
        yield row
        row += 1


def _reading(grid: Grid, row: int, column: int, pair: int, hand: str, unit: str) -> tuple[Reading, list[Finding]]:
    measure, place = as_text(grid.value(row, 2)), grid.place(row, column)
    typed = as_text(grid.value(row, column)) or "a formula that was not saved"
    try:
        if (row, column) in grid.faults:
            raise UnreadableError(grid.faults[row, column], "The cell's formula has no value.")
        mm = float(units.measurement(grid.value(row, column), unit))
    except UnreadableError as wrong:
        found = [
            Finding(
                wrong.code,
                Severity.WARNING,
                place,
                str(wrong),
                f"The {measure} of the {hand} hand of pair {pair}, in {unit}. It is kept, and counts as to be checked.",
                "Ask whoever measured, and correct the cell.",
            )
        ]
        return Reading(measure, pair, hand, typed, None, place), found
    return Reading(measure, pair, hand, typed, mm, place), []


def _given(grid: Grid, row: int, columns: Mapping[str, int], unit: str) -> TargetGiven | None:
    cells = [grid.value(row, columns.get(heading_key(heading), 0)) for heading in CHECK_HEADINGS[2:]]
    try:
        figure, minus, plus = (float(units.length(cell, unit)) for cell in cells)
    except UnreadableError:
        return None
    return TargetGiven(figure, minus, plus)


def _error(code: str, place: Place, found: str, expected: str) -> Finding:
    return Finding(code, Severity.ERROR, place, found, expected, _SEND_ANEW)


def _note(code: str, place: Place, found: str) -> Finding:
    return Finding(code, Severity.NOTE, place, found, "", "Ask whoever sent it.")
