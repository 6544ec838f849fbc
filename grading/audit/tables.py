"""Audit a size table on its own: increments that are not what their neighbours lead one to expect.

Each rule takes a table of body measurements and yields findings; none of them knows a block.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import SupportsIndex

import numpy as np

from grading.findings import Finding, Severity
from grading.geometry.arrays import Floats
from grading.model.sizes import SizeTable

__all__ = ["TABLE_RULES", "Slip", "audit_table", "find_slip"]

#: A slip stands out by this many times the largest unevenness that is left once it is set right.
STANDS_OUT = 2.5
#: A figure off by no more than this many of the steps to which its row is rounded wavers with the rounding.
ROUNDED = 1.5
#: The steps to which tables are rounded, mm.
STEPS = (1.0, 0.5, 0.1)
#: A lead increment this many times the usual one looks like a size left out.
GAP = 1.8


@dataclass(frozen=True, slots=True)
class Slip:
    """A figure out of line with its row: its column, the figure that would be regular, and how far it is off."""

    column: int
    regular: float
    off: float


def audit_table(table: SizeTable) -> Iterator[Finding]:
    """Every finding of every rule on a table of body measurements."""
    for rule in TABLE_RULES:
        yield from rule(table)


def find_slip(row: Floats) -> Slip | None:
    """The one figure of a row (sizes,) that, set right, makes its increments by far the most even, if there is one.

    Unevenness is how much each increment differs from the next. A slip of e in the middle of a regular row upsets
    two increments, and so adds 4e to the sum of it; at an end, e. A grade that changes once, or wavers by the
    rounding of its figures, stays as uneven whichever figure is set right, and is no slip. Needs four sizes, since
    three leave open which of them is wrong.

    >>> find_slip(np.array([180.0, 192, 240, 216, 228]))
    Slip(column=2, regular=204.0, off=36.0)
    >>> find_slip(np.array([180.0, 192, 204, 222, 240]))
    """
    if len(row) < 4:
        return None
    regular = _regular(row)
    column = int(np.argmin(_unevenness_set_right(row, regular)))
    repaired = row.copy()
    repaired[column] = regular[column]
    off = float(row[column] - regular[column])
    rounding = ROUNDED * _rounded_to(np.delete(row, column))
    if abs(off) < max(STANDS_OUT * np.abs(np.diff(repaired, 2)).max(), rounding):
        return None
    return Slip(column, float(regular[column]), off)


def _unevenness_set_right(row: Floats, regular: Floats) -> Floats:
    """For each column how uneven the row (sizes,) is once that figure is as its neighbours lead to, less a constant.

    A figure enters three differences of increments, once, minus twice and once: only these have to be taken anew.
    """
    uneven = np.pad(np.diff(row, 2), 2)
    takes_part = np.pad(np.ones(len(row) - 2), 2)
    change = np.zeros(len(row))
    for first, times in enumerate((1, -2, 1)):
        here = slice(first, first + len(row))
        after = uneven[here] + times * takes_part[here] * (regular - row)
        change += np.abs(after) - np.abs(uneven[here])
    # figures that come to the same must not be told apart by their last bits: the first of them is taken
    return change.round(9)


def _rounded_to(figures: Floats) -> float:
    """The coarsest of ``STEPS`` of which all figures are multiples; the finest if of none."""
    for step in STEPS:
        if np.allclose(figures / step, np.round(figures / step), atol=1e-6):
            return step
    return STEPS[-1]


def _regular(row: Floats) -> Floats:
    """For each column the figure that its neighbours lead to: half-way between two, or one more increment."""
    regular = np.empty(len(row))
    regular[1:-1] = (row[:-2] + row[2:]) / 2
    regular[0], regular[-1] = 2 * row[1] - row[2], 2 * row[-2] - row[-3]
    return regular


def _not_increasing(table: SizeTable) -> Iterator[Finding]:
    """Sizes are told apart by the first measurement, so that one must grow from each size to the next."""
    lead = table.values[0]
    for column in np.flatnonzero(np.diff(lead) <= 0):
        yield _finding(
            table,
            0,
            column + 1,
            "not-increasing",
            Severity.ERROR,
            f"{table.measurements[0]} goes from {lead[column]:g} in size {table.sizes[column]} to "
            f"{lead[column + 1]:g} mm in size {table.sizes[column + 1]}.",
            "Each size larger than the one before it: sizes are told apart by this measurement.",
            "Check both figures, and the order of the columns.",
        )


def _falls_while_lead_rises(table: SizeTable) -> Iterator[Finding]:
    """No other measurement of a hand shrinks while its girth grows."""
    rising = np.diff(table.values[0]) > 0
    for row in range(1, len(table.measurements)):
        values = table.values[row]
        for column in np.flatnonzero(rising & (np.diff(values) < 0)):
            yield _finding(
                table,
                row,
                column + 1,
                "falls-while-girth-rises",
                Severity.ERROR,
                f"{table.measurements[row]} falls from {values[column]:g} to {values[column + 1]:g} mm while "
                f"{table.measurements[0]} rises.",
                "A measurement that grows with the hand.",
                "Check both figures.",
            )


def _increment_out_of_line(table: SizeTable) -> Iterator[Finding]:
    """One figure that spoils an otherwise even row is most likely a slip of the pen."""
    for row, name in enumerate(table.measurements):
        slip = find_slip(table.values[row])
        if slip is None:
            continue
        yield _finding(
            table,
            row,
            slip.column,
            "increment-out-of-line",
            Severity.WARNING,
            f"{name} in size {table.sizes[slip.column]} is {abs(slip.off):g} mm "
            f"{'more' if slip.off > 0 else 'less'} than the sizes beside it lead to.",
            f"About {slip.regular:g} mm would be regular.",
            "Check the figure; leave it if the step is meant.",
        )


def _equal_sizes(table: SizeTable) -> Iterator[Finding]:
    """Two columns with the same figures are one size twice."""
    known: dict[tuple[float, ...], str] = {}
    for column, (size, figures) in enumerate(zip(table.sizes, map(tuple, table.values.T.tolist()), strict=True)):
        if figures in known:
            yield _finding(
                table,
                0,
                column,
                "equal-sizes",
                Severity.ERROR,
                f"Sizes {known[figures]} and {size} have the same figures.",
                "Sizes that differ.",
                "Fill in the size's own figures, or take the column out.",
            )
        known.setdefault(figures, size)


def _gap_in_sizes(table: SizeTable) -> Iterator[Finding]:
    """A step of twice the usual size in most rows at once is a size that is missing, not a slip."""
    steps = np.diff(table.values, axis=1)
    if len(table.sizes) < 4 or np.any(steps[0] <= 0):
        return
    usual = np.median(steps, axis=1, keepdims=True)
    wide = (steps > GAP * usual) & (usual > 0)
    for column in np.flatnonzero(wide[0] & (wide.mean(axis=0) > 0.6)):
        yield _finding(
            table,
            0,
            column + 1,
            "gap-in-sizes",
            Severity.WARNING,
            f"Most measurements take a double step from size {table.sizes[column]} to {table.sizes[column + 1]}.",
            "Steps of about the same size: a hand in between finds no mitten that fits.",
            "Add the size between them, or leave the gap if it is meant.",
        )


def _finding(
    table: SizeTable,
    row: int,
    column: SupportsIndex,
    code: str,
    severity: Severity,
    found: str,
    expected: str,
    action: str,
) -> Finding:
    place = table.place(table.measurements[row], table.sizes[column])
    return Finding(code, severity, place, found, expected, action)


#: The rules for a table of body measurements, in the order in which their findings are told.
TABLE_RULES: tuple[Callable[[SizeTable], Iterator[Finding]], ...] = (
    _not_increasing,
    _equal_sizes,
    _falls_while_lead_rises,
    _increment_out_of_line,
    _gap_in_sizes,
)
