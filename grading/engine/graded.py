"""A graded group: what every product of a run is made from, under the id that is printed on each."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, fields, replace

from grading.engine.cut_lines import CutLoop
from grading.engine.run import SizeRun
from grading.findings import Finding, counted
from grading.model.block import Block
from grading.model.sizes import SizeTable
from grading.version import __version__

__all__ = ["GradedGroup", "Input", "run_id"]

#: A file that was read: its name and its SHA-256.
Input = tuple[str, str]


@dataclass(frozen=True, eq=False)
class GradedGroup:
    """One group's run, its id, its seam allowances laid on, and the files it was made from.

    ``findings`` are what the audit found, and where a seam allowance cannot be laid on; ``of_tables`` what was found
    while the tables it is made from were read.
    """

    run: SizeRun
    run_id: str
    cut_lines: tuple[CutLoop, ...]
    findings: tuple[Finding, ...]
    inputs: tuple[Input, ...]
    of_tables: tuple[Finding, ...] = ()

    def __repr__(self) -> str:
        sizes = counted(len(self.run.sizes), "size")
        return f"<GradedGroup {self.run.group}: {sizes} of '{self.run.block.name}', run {self.run_id}>"


def run_id(block: Block, table: SizeTable) -> str:
    """A short hash of all that a run's figures depend on: parsed values, allowances, and the program's version.

    Where the values were read from does not count, so a workbook saved anew without a change keeps it; nor does
    what whoever sews is told besides figures, so that another word there leaves a returned check sheet's run in force.
    """
    block = replace(block, work=())
    rows = (table.group, table.sizes, table.measurements, table.values.tolist(), table.how_to_measure, table.source)
    # As dataclasses spell themselves; a block shows itself in short.
    spelled = ", ".join(f"{field.name}={getattr(block, field.name)!r}" for field in fields(block))
    return hashlib.sha256(f"({__version__!r}, Block({spelled}), {rows!r})".encode()).hexdigest()[:10]
