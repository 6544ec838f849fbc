"""A size chart as people print it, laid out as the sheet of a size group: titles, notes, sizes across or down.

How a chart was understood is always told, in a note; what is unclear is an error at its cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import log
from statistics import mean

from grading import units
from grading.codes import Code
from grading.findings import Finding, Place, column_letters, counted
from grading.model.names import name_key
from grading.sheets.cells import as_text, cell_text
from grading.sheets.chart_place import NAME, UNIT, WORDED, Cell, Chart, chart_found
from grading.sheets.chart_words import is_end_of_range, like_a_size, middle, units_said, without_footnote, without_unit
from grading.sheets.declared import FAMILY
from grading.sheets.grids import CellValue, Grid, address
from grading.sheets.rows import headings, hidden_parts, uneven_lines
from grading.units import UNIT_WORDS, UnreadableError

__all__ = ["laid_out", "with_middles"]

#: So much more of one side's names must look like sizes, or so much smoother must figures run, for it to be settled.
_SETTLED, _SMOOTHER = 0.3, 1.5
#: What is no larger than this part of the figures beside it, in every row, is no size's but a tolerance or a step.
_SMALL = 0.4
#: So many names of rows or sizes are repeated where a chart is told back.
_NAMED = 8


def laid_out(grid: Grid) -> tuple[Grid | None, list[Finding]]:
    """The chart as a sheet headed Measurement, Unit and the sizes, each cell placed where it stands in print.

    Gives no grid where none is to be made out, and an error that says why.
    """
    chart = chart_found(grid)
    if chart is None:
        return None, [_unclear(grid.place(1, 1), "No row of headings with figures under it is to be made out here.")]
    if chart.headings[-1] not in grid.cells and (uneven := list(uneven_lines(grid, chart.header, chart.rows))):
        return None, uneven
    across = _sizes_across(chart)
    if across is None:
        found = "Neither the names nor the figures tell whether the sizes run across or down."
        return None, [_unclear(chart.corner, found, f"Write '{NAME}' over the names of what is measured.")]
    if unclear := [*_second_chart(chart), *_ends_of_ranges(chart)]:
        return None, unclear
    chart = _without_tolerances(replace(chart, across=across))
    sheet, finding = _as_group(chart)
    return sheet, [finding, *hidden_parts(grid, chart.rows, chart.columns)]


def with_middles(grid: Grid, columns: Iterable[int], below: int) -> tuple[Grid, list[Finding]]:
    """The grid with the middle of each range in these columns below a row, and a note of each."""
    wanted, cells, findings = frozenset(columns), dict(grid.cells), []
    for (row, column), value in grid.cells.items():
        if row > below and column in wanted and isinstance(value, str) and (figure := middle(as_text(value))):
            cells[row, column] = figure
            found = f"'{as_text(value)}' is a range; its middle, {figure}, is read."
            action = "Type the figure that you grade by if it is another."
            findings.append(
                Finding.note(Code.RANGE_READ, grid.place(row, column), found, "One figure a cell.", action, "range")
            )
    return replace(grid, cells=cells), findings


def _sizes_across(chart: Chart) -> bool | None:
    """Whether sizes run across; None where neither names nor figures tell."""
    if name_key(without_unit(chart.text((chart.header, chart.labels)))[0]) == name_key(NAME):
        return True
    across, down = (_share_of_sizes(map(chart.text, cells)) for cells in (chart.headings, chart.sides))
    if abs(across - down) > _SETTLED:
        return across > down
    along = _roughness(chart, ([(row, column) for column in chart.columns] for row in chart.rows))
    downwards = _roughness(chart, ([(row, column) for row in chart.rows] for column in chart.columns))
    if max(along, downwards) < _SMOOTHER * min(along, downwards) or along == downwards:
        return None
    return along < downwards


def _second_chart(chart: Chart) -> Iterator[Finding]:
    """An error where the headings stand once more below: another chart begins there."""
    headings = {column: chart.text((chart.header, column)) for column in chart.columns}
    for row in sorted({row for row, _ in chart.grid.cells if row > chart.header}):
        again = sum(bool(text) and chart.text((row, column)) == text for column, text in headings.items())
        if again > 1 and 2 * again >= len(headings):
            found = f"The headings of row {chart.header} stand here once more: another chart begins."
            yield _unclear(chart.grid.place(row, chart.labels), found, "Put each chart on a sheet of its own.")
            return


def _ends_of_ranges(chart: Chart) -> Iterator[Finding]:
    """An error where the least and the most of a range stand in columns or rows of their own."""
    for cells in (chart.headings, chart.sides):
        ends = [cell for cell in cells if is_end_of_range(chart.text(cell))]
        if len(ends) > 1:
            named = " and ".join(f"'{chart.text(cell)}'" for cell in ends[:2])
            found = f"{named} are the ends of a range, and not two measurements or sizes."
            action = "Write both into one cell, as 17–18 (its middle is read), or the one figure that you grade by."
            yield _unclear(chart.grid.place(*ends[0]), found, action)


def _without_tolerances(chart: Chart) -> Chart:
    """The chart without those of its sizes that are tolerances or steps: their figures are small beside the others."""

    def magnitude(name: Cell, size: Cell) -> float:
        return _magnitude(chart.grid.value(*chart.figure(name, size)))

    names, sizes = chart.names, chart.sizes
    usual = {name: sorted(magnitude(name, size) for size in sizes)[len(sizes) // 2] for name in names}
    kept = [
        size
        for size in sizes
        if like_a_size(chart.text(size)) or any(magnitude(name, size) > usual[name] * _SMALL for name in names)
    ]
    if len(kept) < 2:
        return chart
    rows, columns = (tuple(dict.fromkeys(numbers)) for numbers in zip(*kept, strict=True))
    return replace(chart, columns=columns) if chart.across else replace(chart, rows=rows)


def _share_of_sizes(names: Iterable[str]) -> float:
    known = [name for name in names if name]
    return sum(map(like_a_size, known)) / max(len(known), 1)


def _roughness(chart: Chart, lines: Iterable[Sequence[Cell]]) -> float:
    """How far figures that stand beside one another are apart, as the mean logarithm of their ratios."""
    figures = ([_magnitude(chart.grid.value(*cell)) for cell in line] for line in lines)
    apart = [abs(log(one / other)) for line in figures for one, other in pairwise(line) if one * other > 0]
    return mean(apart) if apart else 0.0


def _magnitude(value: CellValue) -> float:
    """Roughly how large a figure is, 0 for none."""
    text = without_footnote(as_text(value))
    try:
        return float(units.signed_length(middle(text) or text, "mm"))
    except UnreadableError:
        return 0.0


# The table as the sheet of a group


def _as_group(chart: Chart) -> tuple[Grid | None, Finding]:
    """The chart laid out anew and a note of how it was understood; no grid but an error where a row has no unit."""
    names, sizes = chart.names, chart.sizes
    worded = _worded_columns(chart) if chart.across else {}
    first = 3 + len(worded)
    moved = {(1, at): size for at, size in enumerate(sizes, start=first)}
    for row, name in enumerate(names, start=2):
        moved |= {(row, at): chart.figure(name, size) for at, size in enumerate(sizes, start=first)}
        moved |= {(row, at): (name[0], column) for at, column in enumerate(worded.values(), start=3)}
    values = {to: chart.grid.cells[old] for to, old in moved.items() if old in chart.grid.cells}
    cells = {to: without_footnote(as_text(one)) if isinstance(one, str) else one for to, one in values.items()}
    for at, size in enumerate(sizes, start=first):
        if isinstance(chart.grid.value(*size), str):
            text = chart.text(size)
            cells[1, at] = without_unit(text)[0] or text
    heads = dict(enumerate([NAME, UNIT, *worded], start=1))
    cells |= {(1, at): heading for at, heading in heads.items()}
    origins = {(1, at): (chart.header, chart.labels) for at in heads} | moved
    general, unclear = _general_unit(chart)
    lacking = []
    for row, name in enumerate(names, start=2):
        text, own = without_unit(chart.text(name))
        own = own or _unit_beside(chart, name) or general
        figures = [cells[row, at] for at in range(first, first + len(sizes)) if (row, at) in cells]
        if not own and not all(isinstance(figure, str) and units_said(figure) for figure in figures):
            lacking.append(name)
        cells |= {(row, 1): text, (row, 2): own or "mm"} if text else {(row, 2): own or "mm"}
        origins |= {(row, 1): name, (row, 2): name}
    if lacking:
        return None, unclear or _without_any_unit(chart, lacking)
    families = _family_cells(chart)
    last = 2 + len(names)
    for at, cell in enumerate(families, start=first):
        origins |= {(last, 1): families[0], (last, at): cell}
        cells |= {(last, 1): FAMILY, (last, at): _family(chart, cell)}
    named, used = ([as_text(cells.get((row, at))) for row in range(2, last)] for at in (1, 2))
    of_sizes = [as_text(cells.get((1, first + at))) for at in range(len(sizes))]
    return _grid_of(chart.grid, cells, origins, moved), _read_as(chart, named, of_sizes, used, families)


def _family_cells(chart: Chart) -> list[Cell]:
    """Where the chart says which family each size is of, in the order of the sizes; nothing where it does not."""
    grid = chart.grid
    for row, column in (cell for cell in sorted(grid.cells) if name_key(cell_text(grid, *cell)) == name_key(FAMILY)):
        if column not in chart.columns and (row not in chart.rows if chart.across else row == chart.header):
            return [chart.figure((row, column), size) for size in chart.sizes]
    return []


def _family(chart: Chart, cell: Cell) -> str:
    """The word of a family, which may stand in one merged cell over all of its sizes."""
    row, column = cell
    over = (
        (top, left)
        for left, top, right, bottom in chart.grid.merges
        if top <= row <= bottom and left <= column <= right
    )
    return chart.text(next(over, cell))


def _worded_columns(chart: Chart) -> dict[str, int]:
    """The columns of words that a size group's sheet has too, by their headings there."""
    there = headings(chart.grid, chart.header)
    return {name: there[name_key(name)] for name in WORDED if name_key(name) in there}


def _grid_of(grid: Grid, cells: dict[Cell, CellValue], origins: dict[Cell, Cell], moved: Mapping[Cell, Cell]) -> Grid:
    return Grid(
        grid.workbook,
        grid.sheet,
        cells,
        grid.hidden,
        faults={to: grid.faults[old] for to, old in moved.items() if old in grid.faults},
        merges=grid.merges,
        shown={to: grid.shown[old] for to, old in moved.items() if old in grid.shown},
        origins=origins,
    )


# Units


def _general_unit(chart: Chart) -> tuple[str, Finding | None]:
    """The unit of rows that name none, or an error where two are named; blank and None where none is."""
    grid = chart.grid
    corner = [cell for cell in grid.cells if cell[0] == chart.header and cell[1] not in chart.columns]
    above = [cell for cell in grid.cells if cell[0] < chart.header]
    table = {chart.header, chart.unit_row, *chart.rows}
    notes = [cell for cell in grid.cells if cell[0] > chart.header and cell[0] not in table]
    for cells in (chart.sizes, corner, above, notes):
        said = {cell: units_said(cell_text(grid, *cell)) | {without_unit(chart.text(cell))[1]} - {""} for cell in cells}
        several = set().union(*said.values())
        if len(several) == 1:
            return several.pop(), None
        if several:
            found = f"The chart speaks of {' and '.join(UNIT_WORDS[unit] for unit in units.MM_PER if unit in several)}."
            cell = next(cell for cell in sorted(said) if said[cell])
            return "", _unclear(grid.place(*cell), found, "Leave one, or write a unit into each row.")
    return "", None


def _unit_beside(chart: Chart, name: Cell) -> str:
    """The unit that stands in a row's or a column's line of units."""
    cell = (name[0], chart.unit_column) if chart.across else (chart.unit_row, name[1])
    return without_unit(cell_text(chart.grid, *cell))[1] if all(cell) else ""


def _without_any_unit(chart: Chart, names: Sequence[Cell]) -> Finding:
    figures = [_magnitude(chart.grid.value(row, column)) for row in chart.rows for column in chart.columns]
    usual = sorted(figure for figure in figures if figure)
    expected = "The unit of the figures."
    if usual:
        # Figures of a hand are from 40 to 250 mm, from 4 to 25 cm.
        middle_one = usual[len(usual) // 2]
        expected += f" They look like {UNIT_WORDS['mm' if middle_one > 40 else 'cm' if middle_one > 10 else 'in']}."
    found = "No unit is named, in a title, a heading or a cell."
    action = "Write mm, cm or in into the title, or beside each row's name."
    return Finding.error(Code.CHART_UNCLEAR, chart.grid.place(*names[0]), found, expected, action)


# What is told


def _unclear(place: Place, found: str, action: str = "") -> Finding:
    expected = (
        f"Names of sizes on one side, names of measurements on the other (or headings {NAME}, {UNIT}, then a size)."
    )
    return Finding.error(Code.CHART_UNCLEAR, place, found, expected, action or "Write headings over the figures.")


def _read_as(
    chart: Chart, rows: Sequence[str], sizes: Sequence[str], used: Iterable[str], families: Sequence[Cell]
) -> Finding:
    laid = f"{counted(len(sizes), 'size')} {'across' if chart.across else 'down'} ({_first_names(sizes)})"
    found = f"Read as: {laid}, {' and '.join(dict.fromkeys(used))}, {counted(len(rows), 'row')} ({_first_names(rows)})"
    words = dict.fromkeys(word for cell in families if (word := _family(chart, cell)))
    found += f", families {_first_names([*words])}." if words else "."
    left = list(_left_out(chart, families))
    expected = f"Not read: {', '.join(left)}." if left else ""
    return Finding.note(Code.CHART_READ_AS, chart.corner, found, expected, "See that this is how it is meant.")


def _first_names(names: Sequence[str]) -> str:
    more = len(names) - _NAMED
    return ", ".join([*names[:_NAMED], *([f"{more} more"] if more > 0 else [])])


def _left_out(chart: Chart, families: Sequence[Cell]) -> Iterator[str]:
    """What stands beside and below the table: columns of words, and rows without figures."""
    grid, taken = chart.grid, {chart.labels, chart.unit_column, *chart.columns, *_worded_columns(chart).values()}
    taken |= {column for _, column in families}
    for column in sorted({column for row, column in grid.cells if row in chart.rows} - taken):
        heading = cell_text(grid, chart.header, column)
        yield f"column {column_letters(column)}{f' ({heading})' if heading else ''}"
    lines = {row for row, _ in families}
    for row in sorted({row for row, _ in grid.cells if row > chart.header} - {chart.unit_row, *chart.rows, *lines}):
        column = min(column for other, column in grid.cells if other == row)
        text = cell_text(grid, row, column)
        yield f"{address(row, column)} ({text if len(text) <= 30 else text[:29] + '…'})"
