"""The job of 'grading stock': a batch planned from the graded sizes and the stock table, into a folder of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from grading.asked import Tables
from grading.codes import Code
from grading.drawing.paper import DEFAULT_PRINTING, Printing
from grading.engine.graded import GradedGroup
from grading.findings import Finding, Findings, Place, StoppedError, has_errors
from grading.jobs.tables import check_job
from grading.jobs.told import in_unit
from grading.model.stock import Sold
from grading.outputs.files import folder_names
from grading.outputs.printable import unprintable, unprintable_stock
from grading.outputs.stock import batch_record, stock_files, stock_findings
from grading.publish import Published, made_folders, publish
from grading.sheets.opening import open_tables
from grading.sheets.stock import fairs_twice, read_fair, read_stock
from grading.stock.agreement import disagreeing
from grading.stock.doubtful import doubtful
from grading.stock.plan import Batch, Plan, Progress, prepared

__all__ = ["PreparedBatch", "planned", "prepared_batch"]


@dataclass(frozen=True, eq=False)
class PreparedBatch:
    """A batch that can be planned, or None where an error stands in the way; findings; and the folder for its files.

    ``inputs`` are the SHA-256 sums of the tables by their names, ``earlier`` the folders with files of earlier plans,
    ``printing`` is for what is true to scale, ``unit`` is that of figures told and printed.
    """

    batch: Batch | None
    groups: tuple[GradedGroup, ...]
    findings: tuple[Finding, ...]
    inputs: Mapping[str, str]
    folder: Path
    earlier: tuple[Path, ...]
    printing: Printing
    unit: str

    def findings_of(self, plan: Plan) -> tuple[Finding, ...]:
        """What was found in planning, and what its files cannot hold."""
        return tuple(in_unit((*plan.findings, *stock_findings(plan, self.groups, self.printing, self.unit)), self.unit))

    def publish(self, plan: Plan, *, replace: bool = False) -> Published:
        """Make the plan's files and put them into the folder; ``replace`` those that somebody has changed."""
        findings = [*self.findings, *self.findings_of(plan)]
        files = dict(stock_files(plan, self.groups, self.inputs, findings, self.printing, self.unit))
        return publish(self.folder, files, batch_record(plan, self.groups, self.inputs), replace=replace)


def prepared_batch(
    tables: Tables,
    stock: Path,
    out: Path,
    *,
    at_least: int | None = None,
    sized: bool = False,
    fairs: Sequence[Path] = (),
    mock_up: str | None = None,
    printing: Printing = DEFAULT_PRINTING,
    unit: str = "",
) -> PreparedBatch:
    """Read the tables and the stock table, and grade. ``at_least`` so many pairs of each size are to be made.

    Where the batch is ``sized`` otherwise, the number of pairs in the stock table is neither used nor told. ``fairs``
    are workbooks that were filled in at past fairs. A ``mock_up`` of a size is laid on poor parts first. Lengths are
    told and printed in ``unit``, or in that of the tables.
    """
    job = check_job(*tables).told_in(unit)
    unit = unit or job.unit
    findings = Findings(job.all_findings)
    opened = findings.gather(open_tables(stock))
    given = [*(["Pairs"] if sized else []), *(["Least of a size"] if at_least is not None else [])]
    table = findings.gather(read_stock(opened, groups=[group.run.group for group in job.groups], given=given))
    at_fairs: list[Sold] = []
    inputs = {name: digest for group in job.groups for name, digest in group.inputs} | {stock.name: opened.digest}
    for path in fairs:
        filled_in = findings.gather(open_tables(path))
        at_fairs += findings.gather(read_fair(filled_in))
        inputs[path.name] = filled_in.digest
    if table is not None:
        table = replace(table, sold=(*table.sold, *at_fairs))
        findings += fairs_twice(table.sold)
    for group in job.groups:
        findings += unprintable(group.run.block, group.run.table)
    runs = [group.run for group in job.groups]
    if table is not None:
        table, left = table.without(group for group in job.named if group not in job)
        findings += [_not_asked_for(left, stock)] if left and job.groups else []
        names = [name for run in runs for name in run.table.measurements]
        table = table.spelled_as({run.group: run.sizes for run in runs}, names)
        findings += [*unprintable_stock(table), *doubtful(table, runs), *disagreeing(table, runs)]
    batch = None
    if table is not None and not has_errors(findings):
        try:
            batch = prepared(table, runs, at_least, mock_up)
        except StoppedError as stopped:
            findings.append(stopped.finding)
    folder = out / folder_names([*job.named, "stock"])["stock"]
    earlier = tuple(made_folders(folder, ""))
    told = tuple(in_unit(findings, unit))
    return PreparedBatch(batch, job.groups, told, inputs, folder, earlier, printing, unit)


def _not_asked_for(groups: Sequence[str], stock: Path) -> Finding:
    return Finding.note(
        Code.ROWS_NOT_ASKED_FOR,
        Place(stock.name),
        f"The rows for {', '.join(groups)} are left out.",
        "The batch is for the groups that were asked for.",
        "Name a group with --group to have it in the batch, or leave --group out.",
    )


def planned(
    batch: Batch, progress: Progress, *, pairs: int | None = None, skins: bool = False, budget: float | None = None
) -> Plan:
    """The plan for so many pairs, for the skins on hand or for a sum; without any, for what the table says.

    Raises StoppedError where there is none.
    """
    if skins:
        return batch.for_skins(progress)
    if budget is not None:
        return batch.for_budget(budget, progress)
    return batch.for_pairs(batch.table.terms.pairs if pairs is None else pairs, progress)
