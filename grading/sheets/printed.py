"""A size chart as people print it, laid out as the sheet of a size group: titles, notes, sizes across or down.

Nothing is taken without a word: how a chart was understood is a note, and what is unclear an error at its cell.
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
from grading.sheets.rows import hidden_parts, uneven_lines
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
    if all((chart.header, column) not in grid.cells for column in chart.columns[-1:]) and (
        uneven := list(uneven_lines(grid, chart.header, chart.rows))
    ):
        return None, uneven
    across = _sizes_across(chart)
    if across is None:
        found = "Neither the names nor the figures tell whether the sizes run across or down."
        return None, [_unclear(chart.corner, found, f"Write '{NAME}' over the names of what is measured.")]
    if unclear := [*_second_chart(chart), *_ends_of_ranges(chart)]:
        return None, unclear
    chart = _without_tolerances(chart, across=across)
    sheet, findings = _as_group(chart, across=across)
    return sheet, [*findings, *hidden_parts(grid, chart.rows, chart.columns)]


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
    across = _share_of_sizes(chart.text((chart.header, column)) for column in chart.columns)
    down = _share_of_sizes(chart.text((row, chart.labels)) for row in chart.rows)
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
    headed = [(chart.header, column) for column in chart.columns]
    for cells in (headed, [(row, chart.labels) for row in chart.rows]):
        ends = [cell for cell in cells if is_end_of_range(chart.text(cell))]
        if len(ends) > 1:
            named = " and ".join(f"'{chart.text(cell)}'" for cell in ends[:2])
            found = f"{named} are the ends of a range, and not two measurements or sizes."
            action = "Write both into one cell, as 17–18 (its middle is read), or the one figure that you grade by."
            yield _unclear(chart.grid.place(*ends[0]), found, action)


def _without_tolerances(chart: Chart, *, across: bool) -> Chart:
    """The chart without what stands among its sizes and is none: tolerances or steps, small beside their figures."""
    rows, columns = chart.rows, chart.columns

    def is_size(cell: Cell, figures: Sequence[Cell], usual: Mapping[int, float]) -> bool:
        if like_a_size(chart.text(cell)):
            return True
        return any(_magnitude(chart.grid.value(*at)) > usual[at[not across]] * _SMALL for at in figures)

    def usual(line: Sequence[Cell]) -> float:
        return sorted(_magnitude(chart.grid.value(*cell)) for cell in line)[len(line) // 2]

    if across:
        by_row = {row: usual([(row, column) for column in columns]) for row in rows}
        kept = [at for at in columns if is_size((chart.header, at), [(row, at) for row in rows], by_row)]
        return replace(chart, columns=tuple(kept)) if len(kept) > 1 else chart
    by_column = {column: usual([(row, column) for row in rows]) for column in columns}
    kept = [at for at in rows if is_size((at, chart.labels), [(at, column) for column in columns], by_column)]
    return replace(chart, rows=tuple(kept)) if len(kept) > 1 else chart


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


def _as_group(chart: Chart, *, across: bool) -> tuple[Grid | None, list[Finding]]:
    named = [(row, chart.labels) for row in chart.rows]
    headed = [(chart.header, column) for column in chart.columns]
    names, sizes = (named, headed) if across else (headed, named)
    worded = _worded_columns(chart) if across else {}
    first = 3 + len(worded)
    moved = {(1, first + at): size for at, size in enumerate(sizes)}
    for row, name in enumerate(names, start=2):
        for at, size in enumerate(sizes, start=first):
            moved[row, at] = (name[0], size[1]) if across else (size[0], name[1])
        moved |= {(row, at): (name[0], column) for at, column in enumerate(worded.values(), start=3)}
    cells = _moved_values(chart.grid, moved)
    general, unclear = _general_unit(chart, sizes)
    lacking = []
    heads = dict(enumerate([NAME, UNIT, *worded], start=1))
    cells |= {(1, at): heading for at, heading in heads.items()}
    origins = {(1, at): (chart.header, chart.labels) for at in heads} | moved
    for row, name in enumerate(names, start=2):
        text, own = without_unit(chart.text(name))
        own = own or _unit_beside(chart, name, across=across) or general
        figures = [cells[row, at] for at in range(first, first + len(sizes)) if (row, at) in cells]
        if not own and not all(isinstance(figure, str) and units_said(figure) for figure in figures):
            lacking.append(name)
        cells |= {(row, 1): text, (row, 2): own or "mm"} if text else {(row, 2): own or "mm"}
        origins |= {(row, 1): name, (row, 2): name}
    for at, size in enumerate(sizes, start=first):
        if size in chart.grid.cells and isinstance(chart.grid.cells[size], str):
            cells[1, at] = _size_name(chart.text(size))
    families = _family_cells(chart, sizes, across=across)
    at_row = 2 + len(names)
    for at, cell in enumerate(families, start=first):
        origins |= {(at_row, 1): families[0], (at_row, at): cell}
        cells |= {(at_row, 1): FAMILY, (at_row, at): _family(chart, cell)}
    if lacking:
        return None, [unclear or _without_any_unit(chart, lacking)]
    sheet = _grid_of(chart.grid, cells, origins, moved)
    rows = [as_text(cells.get((row, 1))) for row in range(2, 2 + len(names))]
    used = dict.fromkeys(as_text(cells[row, 2]) for row in range(2, 2 + len(names)))
    named_sizes = [as_text(cells.get((1, first + at))) for at in range(len(sizes))]
    told = _read_as(chart, rows, named_sizes, list(used), families, across=across)
    return sheet, [told]


def _family_cells(chart: Chart, sizes: Sequence[Cell], *, across: bool) -> list[Cell]:
    """Where the chart says which family each size is of, in the order of the sizes; nothing where it does not."""
    grid = chart.grid
    named = [cell for cell in sorted(grid.cells) if name_key(cell_text(grid, *cell)) == name_key(FAMILY)]
    if across:
        rows = [row for row, column in named if row not in chart.rows and column not in chart.columns]
        return [(rows[0], column) for _, column in sizes] if rows else []
    columns = [column for row, column in named if row == chart.header and column not in chart.columns]
    return [(row, columns[0]) for row, _ in sizes] if columns else []


def _family(chart: Chart, cell: Cell) -> str:
    """The word of a family, which may stand but once over all of its sizes."""
    row, column = cell
    over = (
        (top, left)
        for left, top, right, bottom in chart.grid.merges
        if top <= row <= bottom and left <= column <= right
    )
    return chart.text(next(over, cell))


def _size_name(text: str) -> str:
    """A size's name without the unit of its figures."""
    name, _ = without_unit(text)
    return name or text


def _worded_columns(chart: Chart) -> dict[str, int]:
    """The columns of words that a size group's sheet has too, by what heads them there."""
    known = {name_key(name): name for name in WORDED}
    headings = {
        column: name_key(cell_text(chart.grid, chart.header, column)) for column in range(1, chart.grid.columns + 1)
    }
    return {known[heading]: column for column, heading in headings.items() if heading in known}


def _moved_values(grid: Grid, moved: Mapping[Cell, Cell]) -> dict[Cell, CellValue]:
    values = {to: grid.cells[old] for to, old in moved.items() if old in grid.cells}
    return {to: without_footnote(as_text(value)) if isinstance(value, str) else value for to, value in values.items()}


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


def _general_unit(chart: Chart, sizes: Sequence[Cell]) -> tuple[str, Finding | None]:
    """The unit that holds where a row names none, or what is unclear of it."""
    grid = chart.grid
    corner = [cell for cell in grid.cells if cell[0] == chart.header and cell[1] not in chart.columns]
    above = [cell for cell in grid.cells if cell[0] < chart.header]
    table = {chart.header, chart.unit_row, *chart.rows}
    notes = [cell for cell in grid.cells if cell[0] > chart.header and cell[0] not in table]
    for cells in (sizes, corner, above, notes):
        said = {cell: units_said(cell_text(grid, *cell)) | {without_unit(chart.text(cell))[1]} - {""} for cell in cells}
        found = set().union(*said.values())
        if len(found) == 1:
            return found.pop(), None
        if found:
            named = " and ".join(UNIT_WORDS[unit] for unit in units.MM_PER if unit in found)
            cell = next(cell for cell in sorted(said) if said[cell])
            wrong = _unclear(
                grid.place(*cell), f"The chart speaks of {named}.", "Leave one, or write a unit into each row."
            )
            return "", wrong
    return "", None


def _unit_beside(chart: Chart, name: Cell, *, across: bool) -> str:
    """The unit that stands in a row's or a column's line of units."""
    line = chart.unit_column if across else chart.unit_row
    cell = (name[0], line) if across else (line, name[1])
    return without_unit(cell_text(chart.grid, *cell))[1] if line else ""


def _without_any_unit(chart: Chart, names: Sequence[Cell]) -> Finding:
    figures = [_magnitude(chart.grid.value(row, column)) for row in chart.rows for column in chart.columns]
    usual = sorted(figure for figure in figures if figure)
    likely = "" if not usual else f" They look like {_unit_of_a_hand(usual[len(usual) // 2])}."
    found = "No unit is named, in a title, a heading or a cell."
    told = _unclear(chart.grid.place(*names[0]), found, "Write mm, cm or in into the title, or beside each row's name.")
    return replace(told, expected=f"The unit of the figures.{likely}")


def _unit_of_a_hand(figure: float) -> str:
    """The unit in which a figure of that size is nearest to a hand's: from 40 to 250 mm, from 4 to 25 cm."""
    return UNIT_WORDS["mm"] if figure > 40 else UNIT_WORDS["cm"] if figure > 10 else UNIT_WORDS["in"]


# What is told


def _unclear(place: Place, found: str, action: str = "") -> Finding:
    expected = (
        f"Names of sizes on one side, names of measurements on the other (or headings {NAME}, {UNIT}, then a size)."
    )
    return Finding.error(Code.CHART_UNCLEAR, place, found, expected, action or "Write headings over the figures.")


def _read_as(
    chart: Chart,
    rows: Sequence[str],
    sizes: Sequence[str],
    used: Sequence[str],
    families: Sequence[Cell],
    *,
    across: bool,
) -> Finding:
    laid = f"{counted(len(sizes), 'size')} {'across' if across else 'down'} ({_listed(sizes)})"
    found = f"Read as: {laid}, {' and '.join(used)}, {counted(len(rows), 'row')} ({_listed(rows)})"
    words = dict.fromkeys(word for cell in families if (word := _family(chart, cell)))
    found += f", families {_listed([*words])}." if words else "."
    left = list(_left_out(chart, families))
    expected = f"Not read: {', '.join(left)}." if left else ""
    return Finding.note(Code.CHART_READ_AS, chart.corner, found, expected, "See that this is how it is meant.")


def _listed(names: Sequence[str]) -> str:
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
