"""Every file of a planned batch, by its name in the batch's folder."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence

from grading.drawing.paper import Printing
from grading.engine.graded import GradedGroup
from grading.findings import Finding
from grading.publish import MADE_FOR
from grading.stock.plan import Plan
from grading.version import __version__

__all__ = ["BATCH", "FILES", "batch_id", "batch_record", "stock_files", "stock_findings"]

#: What is written, in order.
FILES = ("stock.xlsx", "lay-plan.pdf", "tickets.pdf", "slips.pdf", "stall.pdf", "fair.xlsx")
#: What the record of a batch's folder tells that it is for.
BATCH = "batch"


def batch_id(plan: Plan, groups: Sequence[GradedGroup]) -> str:
    """A short hash of all that the plan depends on: the graded runs, the stock table, and the pairs asked for."""
    counts = [(row.group, row.size, row.pairs) for row in plan.wanted]
    said = (__version__, [group.run_id for group in groups], plan.batch.table, counts)
    return hashlib.sha256(repr(said).encode()).hexdigest()[:10]


def stock_files(
    plan: Plan,
    groups: Sequence[GradedGroup],
    inputs: Mapping[str, str],
    findings: Sequence[Finding],
    printing: Printing,
    unit: str,
) -> Iterator[tuple[str, bytes]]:
    """The files, one after the other as each is made. ``inputs`` gives the SHA-256 of each table by its name.

    Figures of the size finder and the labels are in ``unit``.
    """
    from grading.outputs.stock.fair import fair_workbook
    from grading.outputs.stock.lay_plan import lay_plan
    from grading.outputs.stock.slips import slips
    from grading.outputs.stock.stall import stall
    from grading.outputs.stock.tickets import tickets
    from grading.outputs.stock.workbook import stock_workbook

    run_id = batch_id(plan, groups)
    styles = _styles(groups)
    yield FILES[0], stock_workbook(plan, run_id=run_id, inputs=inputs, findings=findings)
    yield FILES[1], lay_plan(plan, printing, run_id=run_id)
    yield FILES[2], tickets(plan, styles, printing, run_id=run_id)
    yield FILES[3], slips(plan, styles, printing, run_id=run_id)
    yield FILES[4], stall(plan, styles, printing, unit, run_id=run_id)
    yield FILES[5], fair_workbook(plan, run_id=run_id)


def stock_findings(plan: Plan, groups: Sequence[GradedGroup], printing: Printing, unit: str) -> Iterator[Finding]:
    """What the files cannot hold of what the tables say."""
    from grading.outputs.stock.stall import stall_findings

    yield from stall_findings(plan, _styles(groups), printing, unit, run_id=batch_id(plan, groups))


def _styles(groups: Sequence[GradedGroup]) -> dict[str, str]:
    return {group.run.group: group.run.block.name for group in groups}


def batch_record(plan: Plan, groups: Sequence[GradedGroup], inputs: Mapping[str, str]) -> dict[str, object]:
    """What run.json tells of the batch besides its files."""
    return {
        MADE_FOR: BATCH,
        "run": batch_id(plan, groups),
        "version": __version__,
        "pairs": plan.pairs,
        "skins": len(plan.lays),
        "runs": {group.run.group: group.run_id for group in groups},
        "inputs": dict(inputs),
    }
