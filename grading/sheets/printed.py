"""A size chart as people print it, laid out as the sheet of a size group: titles, notes, sizes across or down.

Nothing is taken without a word: how a chart was understood is a note, and what is unclear an error at its cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log
from statistics import mean

from grading import units
from grading.findings import Finding, Place, counted
from grading.model.names import name_key
from grading.sheets.cells import as_text, cell_text
from grading.sheets.chart_words import (
    is_figure,
    is_unit,
    like_a_size,
    middle,
    units_said,
    without_footnote,
    without_unit,
)
from grading.sheets.declared import FAMILY, SIZE_GROUP
from grading.sheets.grids import CellValue, Grid, address, column_letters
from grading.sheets.rows import hidden_parts, uneven_lines
from grading.units import UNIT_WORDS, UnreadableError

__all__ = ["laid_out", "with_middles"]

#: A cell, as a row and a column.
Cell = tuple[int, int]

#: So much more of one side's names must look like sizes, or so much smoother must figures run, for it to be settled.
_SETTLED, _SMOOTHER = 0.3, 1.5
#: A chart of hands has fewer cells than this, and its headings stand among the first rows that hold anything.
_MOST_CELLS, _FIRST_ROWS = 10_000, 40
#: So many names of rows or sizes are repeated where a chart is told back.
_NAMED = 8

_NAME, _UNIT, *_WORDED = (column.name for column in SIZE_GROUP.columns)


@dataclass(frozen=True, slots=True)
class _Chart:
    """Where a chart stands in its grid: its headings, the names beside its rows, and its figures.

    ``unit_row`` and ``unit_column`` hold units and nothing else, and are 0 where there is none.
    """

    grid: Grid
    header: int
    labels: int
    columns: tuple[int, ...]
    rows: tuple[int, ...]
    unit_row: int = 0
    unit_column: int = 0

    def text(self, cell: Cell) -> str:
        return without_footnote(cell_text(self.grid, *cell))

    @property
    def corner(self) -> Place:
        return self.grid.place(self.header, self.labels)


def laid_out(grid: Grid) -> tuple[Grid | None, list[Finding]]:
    """The chart as a sheet headed Measurement, Unit and the sizes, each cell placed where it stands in print.

    Gives no grid where none is to be made out, and an error that says why.
    """
    chart = _found(grid)
    if chart is None:
        return None, [_unclear(grid.place(1, 1), "No row of headings with figures under it is to be made out here.")]
    if all((chart.header, column) not in grid.cells for column in chart.columns[-1:]) and (
        uneven := list(uneven_lines(grid, chart.header, chart.rows))
    ):
        return None, uneven
    across = _sizes_across(chart)
    if across is None:
        found = "Neither the names nor the figures tell whether the sizes run across or down."
        return None, [_unclear(chart.corner, found, f"Write '{_NAME}' over the names of what is measured.")]
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
                Finding.note("range-read", grid.place(row, column), found, "One figure a cell.", action, "range")
            )
    return replace(grid, cells=cells), findings


# Where the table stands


def _found(grid: Grid) -> _Chart | None:
    """The table of a sheet: the first row that names most of the columns in which figures stand below it."""
    if len(grid.cells) + len(grid.faults) > _MOST_CELLS:
        return None
    firsts = dict(sorted(grid.cells, reverse=True))
    remarks = {row for row, column in firsts.items() if cell_text(grid, row, column).startswith("#")}
    taken = [cell for cell in sorted({*grid.cells, *grid.faults}) if cell[0] not in remarks]
    figures = {cell for cell in taken if cell in grid.faults or is_figure(grid.cells[cell])}
    for header in [*dict.fromkeys(row for row, _ in taken if not _names_families(grid, row))][:_FIRST_ROWS]:
        below = [cell for cell in taken if cell[0] > header]
        labels = _label_column(grid, header, below, figures)
        columns = tuple(sorted({column for row, column in figures if row > header and column > labels}))
        headed = sum((header, column) in grid.cells for column in columns)
        if columns and 2 * headed >= len(columns) and (headed > 1 or len(columns) == 1):
            named = frozenset(columns)
            rows = tuple(sorted({row for row, column in figures if row > header and column in named}))
            return _Chart(grid, header, labels, columns, rows, *_of_units(grid, header, labels, below, rows))
    return None


def _label_column(grid: Grid, header: int, below: Sequence[Cell], figures: set[Cell]) -> int:
    """The column that names the rows: the one headed so, else one of sizes where the headings are none, else that of
    the longest words left of the figures; numbers that only count the rows name nothing.
    """
    used = sorted({column for _, column in below} | {column for row, column in grid.cells if row == header})
    headings = {column: name_key(without_unit(cell_text(grid, header, column))[0]) for column in used}
    for wanted in (name_key(_NAME), "size", "sizes"):
        if named := [column for column in used if headings[column] == wanted]:
            return named[0]
    worded: dict[int, list[str]] = {}
    rows = {row for row, _ in figures if row > header}
    for column in used:
        own = [cell for cell in below if cell[1] == column and cell[0] in rows]
        texts = [cell_text(grid, *cell) for cell in own]
        if headings[column] in map(name_key, (_UNIT, *_WORDED)) or (not worded and _is_count(texts)):
            continue
        if any(cell in figures for cell in own):
            break
        if texts:
            worded[column] = texts
    sizes = [column for column, texts in worded.items() if all(map(like_a_size, texts))]
    if sizes and not any(like_a_size(cell_text(grid, header, column)) for column in used if column not in worded):
        return sizes[0]
    return max(worded, key=lambda column: mean(map(len, worded[column])), default=used[0])


def _names_families(grid: Grid, row: int) -> bool:
    """Whether a row says which family each size is of: its first word says so, and words behind that are repeated."""
    texts = [cell_text(grid, *cell) for cell in sorted(grid.cells) if cell[0] == row]
    merged = any(top <= row <= bottom and left < right for left, top, right, bottom in grid.merges)
    return bool(texts) and name_key(texts[0]) == name_key(FAMILY) and (merged or len({*texts}) < len(texts))


def _is_count(texts: Sequence[str]) -> bool:
    """Whether texts are 1, 2, 3 and so on."""
    return [text.rstrip(".") for text in texts] == [str(number) for number in range(1, len(texts) + 1)]


def _of_units(grid: Grid, header: int, labels: int, below: Sequence[Cell], rows: Sequence[int]) -> tuple[int, int]:
    """The row and the column that hold units and nothing else, 0 where there is none."""
    by_row: dict[int, list[str]] = {}
    by_column: dict[int, list[str]] = {}
    for row, column in below:
        if column != labels and row < rows[0]:
            by_row.setdefault(row, []).append(cell_text(grid, row, column))
        elif column != labels and row in rows:
            by_column.setdefault(column, []).append(cell_text(grid, row, column))
    row, column = (next((at for at, texts in by.items() if all(map(is_unit, texts))), 0) for by in (by_row, by_column))
    return row, column


def _sizes_across(chart: _Chart) -> bool | None:
    """Whether sizes run across; None where neither names nor figures tell."""
    if name_key(without_unit(chart.text((chart.header, chart.labels)))[0]) == name_key(_NAME):
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


def _share_of_sizes(names: Iterable[str]) -> float:
    known = [name for name in names if name]
    return sum(map(like_a_size, known)) / max(len(known), 1)


def _roughness(chart: _Chart, lines: Iterable[Sequence[Cell]]) -> float:
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


def _as_group(chart: _Chart, *, across: bool) -> tuple[Grid | None, list[Finding]]:
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
    heads = dict(enumerate([_NAME, _UNIT, *worded], start=1))
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


def _family_cells(chart: _Chart, sizes: Sequence[Cell], *, across: bool) -> list[Cell]:
    """Where the chart says which family each size is of, in the order of the sizes; nothing where it does not."""
    grid = chart.grid
    named = [cell for cell in sorted(grid.cells) if name_key(cell_text(grid, *cell)) == name_key(FAMILY)]
    if across:
        rows = [row for row, column in named if row not in chart.rows and column not in chart.columns]
        return [(rows[0], column) for _, column in sizes] if rows else []
    columns = [column for row, column in named if row == chart.header and column not in chart.columns]
    return [(row, columns[0]) for row, _ in sizes] if columns else []


def _family(chart: _Chart, cell: Cell) -> str:
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


def _worded_columns(chart: _Chart) -> dict[str, int]:
    """The columns of words that a size group's sheet has too, by what heads them there."""
    known = {name_key(name): name for name in _WORDED}
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


def _general_unit(chart: _Chart, sizes: Sequence[Cell]) -> tuple[str, Finding | None]:
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


def _unit_beside(chart: _Chart, name: Cell, *, across: bool) -> str:
    """The unit that stands in a row's or a column's line of units."""
    line = chart.unit_column if across else chart.unit_row
    cell = (name[0], line) if across else (line, name[1])
    return without_unit(cell_text(chart.grid, *cell))[1] if line else ""


def _without_any_unit(chart: _Chart, names: Sequence[Cell]) -> Finding:
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
        f"Names of sizes on one side, names of measurements on the other (or headings {_NAME}, {_UNIT}, then a size)."
    )
    return Finding.error("chart-unclear", place, found, expected, action or "Write headings over the figures.")


def _read_as(
    chart: _Chart,
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
    return Finding.note("chart-read-as", chart.corner, found, expected, "See that this is how it is meant.")


def _listed(names: Sequence[str]) -> str:
    more = len(names) - _NAMED
    return ", ".join([*names[:_NAMED], *([f"{more} more"] if more > 0 else [])])


def _left_out(chart: _Chart, families: Sequence[Cell]) -> Iterator[str]:
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
