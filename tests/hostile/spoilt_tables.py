"""Tables with one to three things wrong in their cells, lines, sheets or names, each made anew from its number."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable, Mapping
from dataclasses import replace

from grading.sheets.opening import Grid, Opened

NAMES = [
    "../../outside", "..", ".", "/etc/passwd", "a/b", "C:\\x", "con", "nul.pdf", "~$x", "a\x00b", "a\x1b[31mb",
    "\ufffe", "\ud800", "🧤", "👩‍👩‍👧", "قفاز", "\u202eevil", "e\u0301", "ﬁ", "İ", "ß", "=1+1", "@SUM(A1)", "'", '"',
    "<b>&amp;", "%s{0}", "x" * 40_000, " ", "A'", "boundary", "mirror line", "-", "8/9", "1e5", "None", "#REF!",
]  # fmt: skip
FIGURES = [
    0, -1, 0.0, -0.0, 1, 1e-320, 1e308, -1e308, float("nan"), float("inf"), 10**40, True, False, 0.1, 1e5, 599.99,
    "1e308", "nan", "inf", "-5", "1/0", "0/0", "1/3", "8 3/4", "21,5 cm", "1,234.5", "٣٤", "½", "1" * 5000, "10 %",
    "3 in", "--1", "+", "1_000", "0x10",
    dt.datetime(2026, 9, 8), dt.date(1, 1, 1), dt.time(8, 9), dt.timedelta(days=400),
]  # fmt: skip

Mutation = Callable[[random.Random, list[Grid]], list[Grid]]


def some_cell(chance: random.Random, grid: Grid) -> tuple[int, int]:
    row, column = chance.choice(list(grid.cells) or [(1, 1)])
    return (row, column + 1) if chance.random() < 0.1 else (row, column)


def one_grid(change: Callable[[random.Random, Grid], Grid]) -> Mutation:
    def mutated(chance: random.Random, grids: list[Grid]) -> list[Grid]:
        chosen = chance.randrange(len(grids))
        return [change(chance, grid) if i == chosen else grid for i, grid in enumerate(grids)]

    return mutated


def typed_over(chance: random.Random, grid: Grid) -> Grid:
    cells = dict(grid.cells)
    for _ in range(chance.choice([1, 1, 1, 3, 10])):
        cells[some_cell(chance, grid)] = chance.choice(NAMES if chance.random() < 0.4 else FIGURES)
    return replace(grid, cells=cells)


def slipped(chance: random.Random, grid: Grid) -> Grid:
    """A figure off by a digit, a factor or a little."""
    cells = dict(grid.cells)
    figures = [cell for cell, value in cells.items() if isinstance(value, int | float)] or [(1, 1)]
    for _ in range(chance.choice([1, 1, 4])):
        cell = chance.choice(figures)
        value = cells.get(cell)
        if isinstance(value, int | float):
            cells[cell] = chance.choice([value * 10, value / 10, -value, value + chance.gauss(0, 20), value * 1e6, 0])
    return replace(grid, cells=cells)


def swapped(chance: random.Random, grid: Grid) -> Grid:
    cells = dict(grid.cells)
    one, other = some_cell(chance, grid), some_cell(chance, grid)
    cells[one], cells[other] = cells.get(other), cells.get(one)
    return replace(grid, cells={cell: value for cell, value in cells.items() if value is not None})


def line_lost(chance: random.Random, grid: Grid) -> Grid:
    row, column = some_cell(chance, grid)
    by_row = chance.random() < 0.7
    kept = {c: v for c, v in grid.cells.items() if (c[0] != row if by_row else c[1] != column)}
    return replace(grid, cells=kept)


def line_doubled(chance: random.Random, grid: Grid) -> Grid:
    row, _ = some_cell(chance, grid)
    doubled = {(grid.rows + 1, column): value for (r, column), value in grid.cells.items() if r == row}
    return replace(grid, cells={**grid.cells, **doubled})


def cells_spoilt(chance: random.Random, grid: Grid) -> Grid:
    row, column = some_cell(chance, grid)
    match chance.randrange(4):
        case 0:
            return replace(grid, faults={(row, column): chance.choice(["formula-without-value", "formula-error"])})
        case 1:
            bounds = (column, row, column + chance.randrange(3), row + chance.randrange(3))
            kept = {c: v for c, v in grid.cells.items() if c == (row, column) or not _within(c, bounds)}
            return replace(grid, cells=kept, merges=(bounds,))
        case 2:
            return replace(grid, hidden=True, hidden_rows=frozenset({row, 1}))
        case _:
            return replace(grid, sheet=chance.choice(NAMES))


def _within(cell: tuple[int, int], bounds: tuple[int, int, int, int]) -> bool:
    left, top, right, bottom = bounds
    return top <= cell[0] <= bottom and left <= cell[1] <= right


def widened(chance: random.Random, grid: Grid) -> Grid:
    """As many columns as are read at most, each a copy of the last."""
    last = grid.columns
    more = {
        (row, column): f"{value} {column}" if row == 1 else value
        for (row, at), value in grid.cells.items()
        if at == last
        for column in range(last + 1, chance.choice([last + 3, 60, 200]))
    }
    return replace(grid, cells={**grid.cells, **more})


def emptied(chance: random.Random, grid: Grid) -> Grid:
    keep = chance.choice([0, 1, 2])
    return replace(grid, cells={cell: value for cell, value in grid.cells.items() if cell[0] <= keep})


def sheet_lost(chance: random.Random, grids: list[Grid]) -> list[Grid]:
    lost = chance.randrange(len(grids))
    return [grid for i, grid in enumerate(grids) if i != lost]


def renamed(chance: random.Random, grids: list[Grid]) -> list[Grid]:
    """One word everywhere by another, so that the tables agree with one another still."""
    words = sorted({v for g in grids for v in g.cells.values() if isinstance(v, str) and 0 < len(v) < 30})
    old, new = chance.choice(words), chance.choice(NAMES)
    return [
        replace(
            grid,
            sheet=new if grid.sheet == old else grid.sheet,
            cells={
                cell: _word_for_word(value, old, new) if isinstance(value, str) else value
                for cell, value in grid.cells.items()
            },
        )
        for grid in grids
    ]


def _word_for_word(text: str, old: str, new: str) -> str:
    return ", ".join(new if word == old else word for word in text.split(", "))


MUTATIONS: list[Mutation] = [
    *[one_grid(change) for change in (typed_over, slipped, swapped, line_lost, line_doubled, cells_spoilt)] * 2,
    *[one_grid(change) for change in (widened, emptied, typed_over, slipped)],
    sheet_lost,
    renamed,
    renamed,
]


def mutated(opened: Mapping[str, Opened], chance: random.Random) -> dict[str, Opened]:
    """Either workbook, or where a word is renamed both, with one to three things wrong."""
    tables = dict(opened)
    for _ in range(chance.choice([1, 1, 1, 2, 3])):
        change = chance.choice(MUTATIONS)
        if change is renamed:
            counts = [len(one.grids) for one in tables.values()]
            grids = renamed(chance, [grid for one in tables.values() for grid in one.grids])
            parts = grids[: counts[0]], grids[counts[0] :]
            tables = {n: replace(one, grids=tuple(p)) for (n, one), p in zip(tables.items(), parts, strict=True)}
            continue
        name = chance.choice(list(tables))
        if tables[name].grids:
            tables[name] = replace(tables[name], grids=tuple(change(chance, list(tables[name].grids))))
    return tables
