"""Reads a workbook of size tables: a sheet whose first heading is 'Measurement' is a size group."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from difflib import get_close_matches

import numpy as np

from grading.findings import Finding, Place, Severity
from grading.inputs.cells import as_text
from grading.inputs.opening import Grid, Opened
from grading.inputs.rows import Row, Table, is_headed_by, read_rows
from grading.inputs.sheets import ABOUT, SIZE_GROUP
from grading.model.sizes import SizeTable

__all__ = ["read_sizes"]

#: No measurement of a hand lies outside these, mm; most slips of unit do.
SHORTEST, LONGEST = 1, 600


def read_sizes(opened: Opened) -> tuple[tuple[SizeTable, ...], list[Finding]]:
    """Every size group of an opened workbook, in the order of its sheets; groups with an error are left out."""
    findings: list[Finding] = []
    tables = []
    grids = [grid for grid in opened.grids if is_headed_by(grid, SIZE_GROUP.columns[0].name)]
    if opened.grids and not grids:
        findings.append(
            Finding(
                "missing-sheet",
                Severity.ERROR,
                Place(opened.path.name),
                "No sheet begins with the heading 'Measurement'.",
                "A sheet for each size group, its headings Measurement, Unit, then one a size.",
                "Add the headings in the first row, or name the right file.",
            )
        )
    findings += _unread(opened, grids)
    for grid in grids:
        table, wrong = read_rows(grid, SIZE_GROUP, "mm")
        wrong += _checked(table, grid.place())
        findings += wrong
        if not any(finding.severity is Severity.ERROR for finding in wrong):
            tables.append(_size_table(grid.sheet, table))
    return tuple(tables), findings


def _unread(opened: Opened, grids: Sequence[Grid]) -> Iterator[Finding]:
    """What is told of sheets that are no groups: an error where the heading that makes one may be misspelt."""
    wanted = SIZE_GROUP.columns[0].name
    for grid in opened.grids:
        if grid in grids or grid.sheet == ABOUT:
            continue
        first = as_text(grid.value(1, 1))
        near = get_close_matches(first.casefold(), [wanted.casefold()], 1, 0.7)
        yield Finding(
            "sheet-not-read",
            Severity.ERROR if near else Severity.NOTE,
            grid.place(1, 1),
            f"The sheet {grid.sheet} is no size group: its first heading is '{first}'.",
            f"Perhaps '{wanted}' is meant." if near else f"A size group's first heading is '{wanted}'.",
            "Correct the heading." if near else "It is not read.",
        )


def _size_table(group: str, table: Table) -> SizeTable:
    rows, sizes = table.rows, table.others
    places = {(number, -1): row.place("Measurement") for number, row in enumerate(rows)}
    places |= {
        (number, column): row.place(size) for number, row in enumerate(rows) for column, size in enumerate(sizes)
    }
    return SizeTable(
        group=" ".join(group.split()),
        sizes=sizes,
        measurements=tuple(row["Measurement"] for row in rows),
        values=np.array([[float(row[size]) for size in sizes] for row in rows]),
        units=tuple(row["Unit"] for row in rows),
        how_to_measure=tuple(row["How to measure"] for row in rows),
        source=tuple(row["Source"] for row in rows),
        places=places,
    )


def _checked(table: Table, sheet: Place) -> Iterator[Finding]:
    if table.rows and not table.others:
        yield Finding(
            "no-sizes",
            Severity.ERROR,
            sheet,
            "The sheet has no column for a size.",
            "After Measurement and Unit one column a size, smallest first.",
            "Add the sizes' names to the headings.",
        )
    for row in table.rows:
        for size in table.others:
            yield from _out_of_range(row, size)


def _out_of_range(row: Row, size: str) -> Iterator[Finding]:
    figure = row[size]
    if figure is not None and not SHORTEST <= figure <= LONGEST:
        yield Finding(
            "figure-out-of-range",
            Severity.ERROR,
            row.place(size),
            f"{row['Measurement']} is {float(figure):g} mm in size {size}.",
            f"Between {SHORTEST} and {LONGEST} mm: this is no measurement of a hand.",
            f"Check the figure, and the row's unit ({row['Unit']}).",
            cause=f"unit {row['Unit']}",
        )
