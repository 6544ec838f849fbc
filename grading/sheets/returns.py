"""Reads check sheets that were filled in: every figure that somebody typed, and each cell that cannot be read."""

from __future__ import annotations

import re
from collections.abc import Sequence

from grading import units
from grading.codes import Code
from grading.findings import Finding, Findings, Place
from grading.model.names import name_key
from grading.model.returns import HANDS, PAIRS, CheckSheet, Reading, TargetGiven
from grading.sheets.cells import as_text
from grading.sheets.check_sheet import ASKED, CHECK
from grading.sheets.grids import Grid, Opened, address
from grading.sheets.kinds import CHECK_SHEETS, mistaken
from grading.units import UnreadableError

__all__ = ["read_check_sheets"]

#: The column of each heading, as they are handed out.
_AT = {column.name: number for number, column in enumerate(CHECK.columns, start=1)}
_PAIR = re.compile(rf"pair([0-9]+)({'|'.join(HANDS)})")
#: So many of the headings make a check sheet.
_ENOUGH = 3
_SEND_ANEW = "Ask for the sheet as it was handed out, filled in and saved as a workbook (.xlsx)."


def read_check_sheets(opened: Opened) -> tuple[list[CheckSheet], list[Finding]]:
    """The check sheets of a file, in order; an error where it holds none, or one that does not say what it is of.

    A reading that is no length is kept as it was typed, with a warning. Other sheets of the file are left alone.
    """
    if wrong := mistaken(opened, CHECK_SHEETS):
        return [], wrong
    findings = Findings()
    headed = [(grid, header) for grid in opened.grids if (header := _header_row(grid))]
    sheets = [findings.gather(_check_sheet(grid, header)) for grid, header in headed]
    if opened.grids and not headed:
        wanted = f"A row headed {', '.join(_AT)}, as on the sheet that was handed out."
        findings.append(_error(Code.NOT_A_CHECK_SHEET, Place(opened.path.name), "There is no check sheet.", wanted))
    return [sheet for sheet in sheets if sheet is not None], findings


def _header_row(grid: Grid) -> int:
    """The row of headings, even if some are formulas whose values were not saved; 0 if there is none."""
    for row in sorted({row for row, column in (*grid.cells, *grid.faults) if column == 1}):
        lost = [(row, column) in grid.faults for column in _AT.values()]
        same = [_key(grid, row, column) == name_key(heading) for heading, column in _AT.items()]
        if sum(same) >= _ENOUGH and all(map(any, zip(same, lost, strict=True))):
            return row
    return 0


def _key(grid: Grid, row: int, column: int) -> str:
    return name_key(as_text(grid.value(row, column)))


def _check_sheet(grid: Grid, header: int) -> tuple[CheckSheet | None, list[Finding]]:
    fields = {field.name: "" for field in CHECK.fields}
    for row in range(1, header):
        for field in fields:
            if _key(grid, row, 1) == name_key(field):
                fields[field] = as_text(grid.value(row, 2))
    missing = [field.name for field in CHECK.fields if not field.optional and not fields[field.name]]
    if missing:
        found = f"The sheet does not say its {', '.join(missing).lower()}."
        return None, [_error(Code.CHECK_SHEET_INCOMPLETE, grid.place(), found, "It is there when it is handed out.")]
    try:
        unit = units.unit_name(fields["Unit"])
    except UnreadableError as wrong:
        return None, [_error(wrong.code, grid.place(), str(wrong), "The unit is there when it is handed out.")]
    boxes = _boxes(grid, header)
    rows: list[int] = []
    readings: list[Reading] = []
    findings = Findings()
    for row in _rows(grid, header):
        filled = [column for column in boxes if (row, column) in grid.cells or (row, column) in grid.faults]
        if not _measure(grid, row):
            findings += [_nameless(grid, row, filled)] if filled else []
            continue
        if not filled and not as_text(grid.value(row, _AT["least"])):
            continue  # somebody's remark below the table
        rows.append(row)
        readings += [findings.gather(_reading(grid, row, column, *boxes[column], unit)) for column in filled]
    if not readings:
        findings.append(_note(Code.CHECK_SHEET_BLANK, grid.place(), "Nothing is filled in."))
    elif not fields["Name"]:
        findings.append(_note(Code.NAME_MISSING, grid.place(), "Nobody's name is on the sheet."))
    given = tuple((_measure(grid, row), _given(grid, row, unit)) for row in rows)
    said = {field.fills: fields[field.name] for field in CHECK.fields if field.fills} | {"unit": unit}
    return CheckSheet(place=grid.place(), **said, given=given, readings=tuple(readings)), findings


def _rows(grid: Grid, header: int) -> range:
    """The rows of the table: down to the headings of the verdicts below it, or all there are."""
    top = [name_key(heading) for heading in list(_AT)[:2]]
    last = next((row for row in range(header + 1, grid.rows + 1) if [_key(grid, row, c) for c in (1, 2)] == top), None)
    return range(header + 1, last or grid.rows + 1)


def _measure(grid: Grid, row: int) -> str:
    return as_text(grid.value(row, _AT["Measure"]))


def _reading(grid: Grid, row: int, column: int, pair: int, hand: str, unit: str) -> tuple[Reading, list[Finding]]:
    measure, place = _measure(grid, row), grid.place(row, column)
    typed = as_text(grid.value(row, column)) or "a formula that was not saved"
    try:
        if (row, column) in grid.faults:
            raise UnreadableError(grid.faults[row, column], "The cell's formula has no value.")
        mm = float(units.measurement(grid.value(row, column), unit))
    except UnreadableError as wrong:
        expected = (
            f"The {measure} of the {hand} hand of pair {pair}, in {unit}. It is kept, and counts as to be checked."
        )
        action = "Ask whoever measured, and correct the cell."
        doubtful = [Finding.warning(wrong.code, place, str(wrong), expected, action)]
        return Reading(measure, pair, hand, typed, None, place), doubtful
    return Reading(measure, pair, hand, typed, mm, place), []


def _boxes(grid: Grid, header: int) -> dict[int, tuple[int, str]]:
    """The columns of readings, with the pair and the hand of each; known by their order where a heading was lost."""
    boxes = {}
    first = len(_AT) + 1
    for column in range(first, grid.columns + 1):
        if pair := _PAIR.fullmatch(_key(grid, header, column)):
            boxes[column] = (int(pair[1]), pair[2])
        elif (header, column) in grid.faults and column < first + PAIRS * len(HANDS):
            boxes[column] = ((column - first) // len(HANDS) + 1, HANDS[(column - first) % len(HANDS)])
    return boxes


def _given(grid: Grid, row: int, unit: str) -> TargetGiven | None:
    try:
        least, figure, most = (column.parse(grid.value(row, _AT[column.name]), unit) for column in ASKED)
        return TargetGiven(figure, figure - least, most - figure)
    except UnreadableError:
        return None


def _nameless(grid: Grid, row: int, filled: Sequence[int]) -> Finding:
    return Finding.warning(
        Code.MEASURE_MISSING,
        grid.place(row, _AT["Measure"]),
        f"The row has readings ({address(row, filled[0])} on), and no measure that they are of.",
        "The name of the measure, as it is handed out. The readings are not counted.",
        "Type the name, or ask what was measured.",
    )


def _error(code: Code, place: Place, found: str, expected: str) -> Finding:
    return Finding.error(code, place, found, expected, _SEND_ANEW)


def _note(code: Code, place: Place, found: str) -> Finding:
    return Finding.note(code, place, found, "", "Ask whoever sent it.")
