"""Reads whatever has figures by size: a workbook or CSV of size tables, or the record of a run."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from grading.findings import Finding, Place, Severity
from grading.inputs.opening import open_tables
from grading.inputs.sizes import read_sizes
from grading.model.sizes import SizeTable

__all__ = ["RECORD", "read_chart"]

RECORD = "run.json"


def read_chart(path: Path) -> tuple[tuple[SizeTable, ...], list[Finding]]:
    """The size tables of a workbook or CSV file, or those of a run from its folder or its run.json."""
    record = path / RECORD if path.is_dir() else path
    if record.name != RECORD:
        opened, findings = open_tables(path)
        tables, found = read_sizes(opened)
        return tables, findings + found
    try:
        told = json.loads(record.read_text(encoding="utf-8"))
        return (_from_record(told),), []
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as problem:
        finding = Finding(
            "record-unreadable",
            Severity.ERROR,
            Place(workbook=str(record)),
            f"The record of the run cannot be read ({type(problem).__name__}).",
            "The run.json that 'grading run' writes into each group's folder.",
            "Name the folder of a run, or run it again.",
        )
        return (), [finding]


def _from_record(told: dict[str, object]) -> SizeTable:
    """The figures of a record. Raises KeyError, TypeError or ValueError for one that is not as written."""
    figures = told["figures"]
    sizes = told["sizes"]
    if not isinstance(figures, dict) or not isinstance(sizes, list):
        raise TypeError("figures and sizes are not as they are written")
    values = np.array(list(figures.values()), dtype=float).reshape(len(figures), len(sizes))
    if not np.isfinite(values).all():
        raise ValueError("a figure is none")
    group, names = str(told["group"]), tuple(map(str, sizes))
    "".join((group, *names, *figures)).encode()  # a ValueError for what no text can be
    blank = ("",) * len(figures)
    return SizeTable(group, names, tuple(figures), values, ("mm",) * len(blank), blank, blank)
