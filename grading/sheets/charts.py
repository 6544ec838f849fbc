"""Reads whatever has figures by size: a workbook or CSV of size tables, or the record of a run."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from grading.codes import Code
from grading.findings import Finding, Place
from grading.model.figures import GroupFigures
from grading.model.sizes import SizeTable
from grading.publish.disk import plain_bytes
from grading.sheets.opening import open_tables
from grading.sheets.sizes import Bounds, read_sizes

__all__ = ["RECORD", "read_chart", "read_figures"]

RECORD = "run.json"
#: A record is no longer, bytes, and has no more figures by size: so many are not judged of tables either.
_LONGEST, _MOST_FIGURES = 20_000_000, 40_000
#: A chart may be of any body or garment, and a slip in it is the audit's to judge: ten times a palm is read too.
OF_ANYTHING = Bounds(0.1, 5000, "a body, or of what is worn")


def read_chart(path: Path) -> tuple[tuple[SizeTable, ...], list[Finding]]:
    """The size tables of a workbook or CSV file, or those of a run: from its folder, from the one above the groups',
    or from its run.json."""
    known, findings = read_figures(path)
    return tuple(one.by_size for one in known), findings


def read_figures(path: Path) -> tuple[tuple[GroupFigures, ...], list[Finding]]:
    """All that a file or a folder tells of each group, as `read_chart` finds them."""
    if not path.is_dir() and path.name != RECORD:
        opened, findings = open_tables(path)
        tables, found = read_sizes(opened, OF_ANYTHING)
        return tuple(GroupFigures(table) for table in tables), findings + found
    if not path.is_dir():
        return _of_records([path])
    inner = [] if (path / RECORD).exists() else sorted(path.glob(f"*/{RECORD}"))
    return _of_records([record for record in inner if _is_of_a_group(record)] or [path / RECORD])


def _is_of_a_group(record: Path) -> bool:
    """Whether a record tells of a graded group, and not of a batch, a customer or returned sheets."""
    with contextlib.suppress(OSError, ValueError, RecursionError):
        told = json.loads(plain_bytes(record, _LONGEST).decode())
        return isinstance(told, dict) and "figures" in told and not str(told.get("made for", "")).startswith("customer")
    return True  # what is wrong with it is told when it is read


def _of_records(records: Sequence[Path]) -> tuple[tuple[GroupFigures, ...], list[Finding]]:
    known, findings = [], []
    for record in records:
        try:
            known.append(_from_record(json.loads(plain_bytes(record, _LONGEST).decode())))
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as problem:
            findings.append(
                Finding.error(
                    Code.RECORD_UNREADABLE,
                    Place(workbook=str(record)),
                    f"The record of the run cannot be read ({type(problem).__name__}).",
                    "The run.json that 'grading run' writes into each group's folder.",
                    "Name the folder of a run, or run it again.",
                )
            )
    return tuple(known), findings


def _from_record(told: dict[str, object]) -> GroupFigures:
    """The figures of a record. Raises KeyError, TypeError or ValueError for one that is not as written."""
    figures = told["figures"]
    sizes = told["sizes"]
    if not isinstance(figures, dict) or not isinstance(sizes, list):
        raise TypeError("figures and sizes are not as they are written")
    if len(figures) * len(sizes) > _MOST_FIGURES:
        raise ValueError("more figures than anybody measures")
    values = np.array(list(figures.values()), dtype=float).reshape(len(figures), len(sizes))
    allowances, points = told.get("allowances"), told.get("points")
    kept = np.array([*allowances.values()] if isinstance(allowances, dict) else [], dtype=float)
    placed = np.array([*points.values()] if isinstance(points, dict) else [], dtype=float).reshape(-1, 2)
    if not all(np.isfinite(one).all() for one in (values, kept, placed)):
        raise ValueError("a figure is none")
    group, names = str(told["group"]), tuple(map(str, sizes))
    "".join((group, *names, *figures, *_names(allowances), *_names(points))).encode()  # ValueError for no text
    return GroupFigures(
        SizeTable(group, names, tuple(figures), values, ("mm",) * len(figures)),
        dict(zip(allowances, kept.tolist(), strict=True)) if isinstance(allowances, dict) else None,
        {name: (x, y) for name, (x, y) in zip(points, placed.tolist(), strict=True)}
        if isinstance(points, dict)
        else None,
    )


def _names(told: object) -> tuple[str, ...]:
    return tuple(told) if isinstance(told, dict) else ()
