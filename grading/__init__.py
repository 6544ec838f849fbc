"""Graded size runs of a mitten block, from two spreadsheets: nests, patterns, spec sheets.

The names below are imported when they are first used, so that ``import grading`` costs nothing.

>>> import grading
>>> grading.grade.__module__
'grading.engine.run'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from grading.version import __version__ as __version__

if TYPE_CHECKING:
    from grading.audit import audit_block, audit_fit, audit_run, audit_table
    from grading.audit.increments import increments_of_run, increments_of_table
    from grading.engine.balance import balanced
    from grading.engine.run import SizeRun, grade
    from grading.findings import Finding, GradingError, Place, Severity
    from grading.jobs.returns import check_returns, read_returns
    from grading.jobs.tables import Job, check_job, read_job
    from grading.model.block import Block
    from grading.model.sizes import SizeTable
    from grading.readings.cut_lines import cut_lines
    from grading.readings.marks import placed_marks
    from grading.readings.measures import measured
    from grading.readings.seams import walked_seams

#: In which module each name lives.
_HOMES = {
    name: home
    for home, names in {
        "audit": "audit_block audit_fit audit_run audit_table",
        "audit.increments": "increments_of_run increments_of_table",
        "engine.balance": "balanced",
        "engine.run": "SizeRun grade",
        "findings": "Finding GradingError Place Severity",
        "jobs.returns": "check_returns read_returns",
        "jobs.tables": "Job check_job read_job",
        "model.block": "Block",
        "model.sizes": "SizeTable",
        "readings.cut_lines": "cut_lines",
        "readings.marks": "placed_marks",
        "readings.measures": "measured",
        "readings.seams": "walked_seams",
    }.items()
    for name in names.split()
}

__all__ = [
    "Block",
    "Finding",
    "GradingError",
    "Job",
    "Place",
    "Severity",
    "SizeRun",
    "SizeTable",
    "audit_block",
    "audit_fit",
    "audit_run",
    "audit_table",
    "balanced",
    "check_job",
    "check_returns",
    "cut_lines",
    "grade",
    "increments_of_run",
    "increments_of_table",
    "measured",
    "placed_marks",
    "read_job",
    "read_returns",
    "walked_seams",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'grading' has no attribute '{name}'")
    return getattr(import_module(f"grading.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return __all__
