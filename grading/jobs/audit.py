"""The job of 'grading audit': the increments of a run or of any size chart, and what changed from one to another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from grading.asked import Tables
from grading.audit import audit_chart
from grading.audit.increments import Increments, increments_of_run, increments_of_table
from grading.findings import Finding
from grading.jobs.tables import Job, check_job
from grading.model.figures import GroupFigures
from grading.model.names import Names
from grading.model.sizes import common_unit
from grading.readings.comparison import Comparison, compared, figures_of_run
from grading.sheets.charts import read_chart, read_figures

__all__ = ["Compared", "audited_chart", "audited_job", "chart_against", "job_against"]


@dataclass(frozen=True, eq=False)
class Audited:
    """The increments of each group, all that was found, and the unit that the tables have in common."""

    increments: tuple[Increments, ...]
    findings: tuple[Finding, ...]
    unit: str


@dataclass(frozen=True, eq=False)
class Compared:
    """Groups compared by their names, those that only one of the two sides has, and what was found reading them.

    ``unit`` is the one that the newer tables have in common.
    """

    comparisons: tuple[Comparison, ...]
    alone: tuple[str, ...]
    findings: tuple[Finding, ...]
    unit: str


def audited_job(job: Job) -> Audited:
    """The increments of every measure of the graded groups, and all that was found."""
    increments = tuple(increments_of_run(group.run, group.findings) for group in job.groups)
    return Audited(increments, job.all_findings, job.unit)


def audited_chart(path: Path) -> Audited:
    """The increments of every row of a size chart, or of the record of a run, and what is odd about them."""
    tables, findings = read_chart(path)
    of_tables = [list(audit_chart(table)) for table in tables]
    increments = tuple(increments_of_table(table, own) for table, own in zip(tables, of_tables, strict=True))
    return Audited(increments, (*findings, *chain.from_iterable(of_tables)), common_unit(tables))


def job_against(tables: Tables, other: Path) -> Compared:
    """What changed from another chart or run to the groups that are graded from these tables."""
    job = check_job(*tables)
    new = tuple(figures_of_run(group.run) for group in job.groups)
    if not new:  # of tables with errors the figures that can be read
        new = read_figures(tables.sizes)[0]
    return _against(new, job.findings, tables.groups, other, job.unit)


def chart_against(chart: Path, groups: Sequence[str], other: Path) -> Compared:
    """What changed from another chart or run to the groups of this one."""
    new, findings = read_figures(chart)
    return _against(new, findings, groups, other, common_unit(one.by_size for one in new))


def _against(
    new: Sequence[GroupFigures], findings: Sequence[Finding], groups: Sequence[str], other: Path, unit: str
) -> Compared:
    old, more = read_figures(other)
    pairs, alone = _side_by_side(new, old, groups)
    return Compared(tuple(compared(*pair) for pair in pairs), tuple(alone), (*findings, *more), unit)


def _side_by_side(
    new: Sequence[GroupFigures], old: Sequence[GroupFigures], groups: Sequence[str]
) -> tuple[list[tuple[GroupFigures, GroupFigures]], list[str]]:
    """The groups asked for, or all, in pairs by their names, and those that only one of the two has.

    A single group on both sides is compared whatever its names.
    """
    asked = Names(groups)
    if groups:
        new = [one for one in new if one.by_size.group in asked]
        old = [one for one in old if one.by_size.group in asked] or (old if len(old) == 1 else [])
    if len(new) == len(old) == 1:
        return [(new[0], old[0])], []
    known = Names(one.by_size.group for one in new)
    by_name = {known.settled_or_not(one.by_size.group): one for one in old}
    pairs = [(one, by_name.pop(one.by_size.group, None)) for one in new]
    alone = [one.by_size.group for one, other in pairs if other is None]
    alone += [one.by_size.group for one in by_name.values()]
    return [(one, other) for one, other in pairs if other is not None], alone
