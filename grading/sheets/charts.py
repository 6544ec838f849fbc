"""Reads whatever has figures by size: a workbook or CSV of size tables, or the record of a run."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from grading.codes import Code
from grading.findings import Finding, Findings, Place
from grading.model.figures import GroupFigures
from grading.model.sizes import SizeTable
from grading.publish.record import MADE_FOR, RECORD, json_of
from grading.sheets.opening import open_tables
from grading.sheets.sizes import Bounds, read_sizes

__all__ = ["read_chart", "read_figures"]

#: A record has no more figures by size: so many are not judged of tables either.
_MOST_FIGURES = 40_000
#: A chart may be of any body or garment, and a slip in it is the audit's to judge: ten times a palm is read too.
OF_ANYTHING = Bounds(0.1, 5000, "a body, or of what is worn")


def read_chart(path: Path) -> tuple[tuple[SizeTable, ...], list[Finding]]:
    """The size tables of a workbook or CSV file, or those of a run: from its folder, from the one above the groups',
    or from its run.json."""
    known, findings = read_figures(path)
    return tuple(one.by_size for one in known), findings


def read_figures(path: Path) -> tuple[tuple[GroupFigures, ...], list[Finding]]:
    """All figures of each group in a file or a folder, which may be any that `read_chart` takes."""
    if path.is_dir():
        inner = [] if (path / RECORD).exists() else sorted(path.glob(f"*/{RECORD}"))
        return _of_records([record for record in inner if _is_of_a_group(record)] or [path / RECORD])
    if path.name == RECORD:
        return _of_records([path])
    findings = Findings()
    tables = findings.gather(read_sizes(findings.gather(open_tables(path)), OF_ANYTHING))
    return tuple(GroupFigures(table) for table in tables), findings


def _is_of_a_group(record: Path) -> bool:
    """Whether a record tells of a graded group, and not of a batch, a customer or returned sheets."""
    with contextlib.suppress(OSError, ValueError, RecursionError):
        told = json_of(record)
        return isinstance(told, dict) and "figures" in told and not str(told.get(MADE_FOR, "")).startswith("customer")
    return True  # what is wrong with it is told when it is read


def _of_records(records: Sequence[Path]) -> tuple[tuple[GroupFigures, ...], list[Finding]]:
    known, findings = [], []
    for record in records:
        try:
            known.append(_from_record(json_of(record)))
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
    sizes = told["sizes"]
    if not isinstance(sizes, list):
        raise TypeError("sizes are not as they are written")
    names = tuple(map(str, sizes))
    rows = _figures(told["figures"], len(names))
    values = np.array(list(rows.values()), dtype=float).reshape(len(rows), len(names))
    table = SizeTable(_text(str(told["group"])), tuple(map(_text, names)), tuple(rows), values, ("mm",) * len(rows))
    allowances, points = (told.get(key) for key in ("allowances", "points"))
    return GroupFigures(
        table,
        {name: mm for name, (mm,) in _figures(allowances, 1).items()} if isinstance(allowances, dict) else None,
        {name: (x, y) for name, (x, y) in _figures(points, 2).items()} if isinstance(points, dict) else None,
    )


def _figures(named: object, each: int) -> dict[str, list[float]]:
    """A mapping of names to ``each`` figures, checked. Raises TypeError or ValueError where it is something else."""
    if not isinstance(named, dict):
        raise TypeError("figures are not as they are written")
    if len(named) * each > _MOST_FIGURES:
        raise ValueError("more figures than anybody measures")
    values = np.array(list(named.values()), dtype=float).reshape(len(named), each)
    if not np.isfinite(values).all():
        raise ValueError("a figure is none")
    return dict(zip(map(_text, named), values.tolist(), strict=True))


def _text(name: str) -> str:
    """The name as it is. Raises ValueError for one that cannot be written as UTF-8."""
    name.encode()
    return name
