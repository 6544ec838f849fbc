"""Slips of the pen, by kind: a table with one slip in it, and the cells that it was made in."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from grading.model.sizes import SizeTable
from grading.units import MM_PER

__all__ = ["KINDS", "Slip", "slipped"]

Cell = tuple[int, int]
Chance = np.random.Generator
#: The finest that a tape is read to, mm: what a slip of some millimetres is typed to.
TAPE = {"mm": 1.0, "cm": 1.0, "in": 25.4 / 16}


@dataclass(frozen=True)
class Slip:
    """A table with a slip: where, and by how much the figure changed, mm. A whole column has no cells of its own."""

    table: SizeTable
    cells: frozenset[Cell]
    by: float


def slipped(table: SizeTable, kind: str, chance: Chance) -> Slip | None:
    """The table with a slip of a kind at a place of chance; None where the table has no place for one."""
    return KINDS[kind](table, chance)


def _typed(table: SizeTable, cell: Cell) -> str:
    return f"{round(table.values[cell] / float(MM_PER[table.units[cell[0]]]), 6):g}"


def _put(table: SizeTable, figures: Mapping[Cell, float]) -> Slip | None:
    values = table.values.copy()
    for cell, figure in figures.items():
        values[cell] = figure
    by = np.abs(values - table.values).max()
    if by < 1e-6 or values.min() <= 0:
        return None
    return Slip(replace(table, values=values), frozenset(figures), float(by))


def _cells(table: SizeTable, chance: Chance) -> Iterator[Cell]:
    """Every cell, in an order of chance."""
    for number in chance.permutation(table.values.size):
        yield int(number) // table.values.shape[1], int(number) % table.values.shape[1]


def _first(table: SizeTable, chance: Chance, made: Callable[[Cell], Mapping[Cell, float] | None]) -> Slip | None:
    for cell in _cells(table, chance):
        figures = made(cell)
        slip = _put(table, figures) if figures else None
        if slip is not None:
            return slip
    return None


def _retyped(
    table: SizeTable, cell: Cell, texts: list[str], chance: Chance, least: float = 0
) -> Mapping[Cell, float] | None:
    unit = float(MM_PER[table.units[cell[0]]])
    figures = {float(text) * unit for text in texts if text.strip(".")}
    fitting = sorted(
        figure for figure in figures if figure > 0 and abs(figure - table.values[cell]) >= max(least, 1e-6)
    )
    return {cell: fitting[int(chance.integers(len(fitting)))]} if fitting else None


def _digits_swapped(text: str) -> list[str]:
    made = []
    places = [place for place, sign in enumerate(text) if sign.isdigit()]
    for one, other in itertools.pairwise(places):
        digits = list(text)
        digits[one], digits[other] = digits[other], digits[one]
        made.append("".join(digits))
    return made


def _swap(least: float, most: float = np.inf) -> Callable[[SizeTable, Chance], Slip | None]:
    def made(table: SizeTable, chance: Chance) -> Slip | None:
        def at(cell: Cell) -> Mapping[Cell, float] | None:
            figures = _retyped(table, cell, _digits_swapped(_typed(table, cell)), chance, least)
            return figures if figures and abs(figures[cell] - table.values[cell]) < most else None

        return _first(table, chance, at)

    return made


def _off(by: float) -> Callable[[SizeTable, Chance], Slip | None]:
    def made(table: SizeTable, chance: Chance) -> Slip | None:
        def at(cell: Cell) -> Mapping[Cell, float]:
            tape = TAPE[table.units[cell[0]]]
            typed = max(round(by / tape), 1) * tape
            return {cell: table.values[cell] + typed * chance.choice([-1, 1])}

        return _first(table, chance, at)

    return made


def _copied(table: SizeTable, chance: Chance) -> Slip | None:
    def at(cell: Cell) -> Mapping[Cell, float] | None:
        row, column = cell
        beside = column + int(chance.choice([-1, 1]))
        if not 0 <= beside < table.values.shape[1] or abs(table.values[row, beside] - table.values[cell]) < 5:
            return None
        return {cell: table.values[row, beside]}

    return _first(table, chance, at)


def _rows_exchanged(table: SizeTable, chance: Chance) -> Slip | None:
    def at(cell: Cell) -> Mapping[Cell, float] | None:
        column = cell[1]
        others = np.flatnonzero(np.abs(table.values[:, column] - table.values[cell]) >= 10)
        if not len(others):
            return None
        other = int(chance.choice(others))
        return {cell: table.values[other, column], (other, column): table.values[cell]}

    return _first(table, chance, at)


def _figures_exchanged(table: SizeTable, chance: Chance) -> Slip | None:
    def at(cell: Cell) -> Mapping[Cell, float] | None:
        row, column = cell
        beside = column + 1
        if beside >= table.values.shape[1] or abs(table.values[row, beside] - table.values[cell]) < 5:
            return None
        return {cell: table.values[row, beside], (row, beside): table.values[cell]}

    return _first(table, chance, at)


def _sizes_exchanged(table: SizeTable, chance: Chance) -> Slip | None:
    column = int(chance.integers(table.values.shape[1] - 1))
    values = table.values.copy()
    values[:, [column, column + 1]] = values[:, [column + 1, column]]
    cells = frozenset((row, one) for row in range(len(values)) for one in (column, column + 1))
    return Slip(replace(table, values=values), cells, float(np.abs(values - table.values).max()))


def _unit(*factors: float) -> Callable[[SizeTable, Chance], Slip | None]:
    def made(table: SizeTable, chance: Chance) -> Slip | None:
        return _first(table, chance, lambda cell: {cell: table.values[cell] * chance.choice(factors)})

    return made


def _dropped(table: SizeTable, chance: Chance) -> Slip | None:
    def at(cell: Cell) -> Mapping[Cell, float] | None:
        text = _typed(table, cell)
        return _retyped(table, cell, [text[:place] + text[place + 1 :] for place in range(len(text))], chance)

    return _first(table, chance, at)


#: What each kind makes of a table.
KINDS: Mapping[str, Callable[[SizeTable, Chance], Slip | None]] = {
    "digits swapped, 10 mm or more": _swap(10),
    "digits swapped, less": _swap(0, 10),
    "1 cm": _off(10),
    "5 mm": _off(5),
    "2 mm": _off(2),
    "neighbour copied": _copied,
    "two rows exchanged in a size": _rows_exchanged,
    "two figures of a row exchanged": _figures_exchanged,
    "two sizes exchanged": _sizes_exchanged,
    "unit": _unit(10, 1 / 10, 25.4, 1 / 25.4, 2.54, 1 / 2.54),
    "digit dropped": _dropped,
}
