"""The increments of a table or a run, with those that a finding points to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from grading.engine.run import SizeRun
from grading.findings import Finding
from grading.geometry.arrays import Floats
from grading.model.sizes import SizeTable
from grading.readings.measures import measured

__all__ = ["Increments", "increments_of_run", "increments_of_table"]


@dataclass(frozen=True, eq=False)
class Increments:
    """From each size to the next, how much every row grows: ``steps`` (rows, sizes − 1) in mm.

    ``flagged`` (rows, sizes − 1) marks the increments that end in a size which a finding names for that row; if it
    names the first size, the one that begins there.
    """

    group: str
    sizes: tuple[str, ...]
    names: tuple[str, ...]
    steps: Floats
    flagged: np.ndarray[tuple[int, int], np.dtype[np.bool_]]


def increments_of_table(table: SizeTable, findings: Iterable[Finding]) -> Increments:
    """The increments of a size table's rows."""
    return _increments(table.group, table.sizes, table.measurements, table.values, table, findings)


def increments_of_run(run: SizeRun, findings: Iterable[Finding]) -> Increments:
    """The increments of a run: its body measurements, then its finished measures."""
    figures = measured(run)
    names = (*run.table.measurements, *(measure.name for measure in figures.measures))
    values = np.concatenate([run.table.values, figures.values])
    return _increments(run.group, run.sizes, names, values, run.table, findings)


def _increments(
    group: str,
    sizes: tuple[str, ...],
    names: tuple[str, ...],
    values: Floats,
    table: SizeTable,
    findings: Iterable[Finding],
) -> Increments:
    cells = {table.place(name, size): (name, size) for name in table.measurements for size in sizes if table.places}
    named = {cells.get(finding.place, (finding.place.measure, finding.place.size)) for finding in findings}
    marked = np.array([[(name, size) in named for size in sizes] for name in names], dtype=bool)
    marked = marked.reshape(len(names), len(sizes))
    flagged = marked[:, 1:].copy()
    flagged[:, :1] |= marked[:, :1]
    return Increments(group, sizes, names, np.diff(values, axis=1), flagged)
