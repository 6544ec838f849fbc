"""The audit: small rules that each hold one thing of a table, a block or a run to what it should be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from grading.audit.allowances import ALLOWANCE_RULES
from grading.audit.bases import BASE_RULES
from grading.audit.blocks import BLOCK_RULES, KINK_RULES, audit_drivers
from grading.audit.cutting import CUTTING_RULES
from grading.audit.marks import MARK_BLOCK_RULES, MARK_RULES
from grading.audit.measures import MEASURE_BLOCK_RULES, MEASURE_RULES
from grading.audit.outlines import OUTLINE_RULES
from grading.audit.patterns import PATTERN_RULES
from grading.audit.points_of_measure import POINT_OF_MEASURE_RULES
from grading.audit.relations import audit_relations
from grading.audit.runs import RUN_LADDER_RULES
from grading.audit.seams import SEAM_RULES
from grading.audit.subject import Subject
from grading.audit.tables import audit_table
from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding, Severity
from grading.model.block import Block
from grading.model.sizes import SizeTable

__all__ = ["Subject", "audit_block", "audit_chart", "audit_fit", "audit_run", "audit_table", "without_what_follows"]


def audit_block(block: Block) -> Iterator[Finding]:
    """What is wrong with a block on its own, whatever table it is graded by."""
    for rules in (
        BLOCK_RULES,
        KINK_RULES,
        CUTTING_RULES,
        SEAM_RULES,
        MARK_BLOCK_RULES,
        MEASURE_BLOCK_RULES,
        POINT_OF_MEASURE_RULES,
        ALLOWANCE_RULES,
        BASE_RULES,
    ):
        for rule in rules:
            yield from rule(block)


def audit_fit(block: Block, table: SizeTable) -> Iterator[Finding]:
    """Whether a table has what a block is driven by, in figures of hands; a cell is told once."""
    return _each_place_once(audit_drivers(block, table), audit_relations(table))


def audit_chart(table: SizeTable) -> Iterator[Finding]:
    """What is odd about a size chart without a block: its increments, then one hand's figures; a cell is told once."""
    of_increments, of_one_hand = list(audit_table(table)), list(audit_relations(table))
    impossible = {finding.place for finding in of_one_hand if finding.severity is Severity.ERROR}
    of_increments = [one for one in of_increments if one.severity is Severity.ERROR or one.place not in impossible]
    return _each_place_once(of_increments, of_one_hand)


def _each_place_once(first: Iterable[Finding], then: Iterable[Finding]) -> Iterator[Finding]:
    """All of the first findings, and those of the others that are of a place of which the first say nothing."""
    told = set()
    for finding in first:
        told.add(finding.place)
        yield finding
    yield from (finding for finding in then if finding.place not in told)


def without_what_follows(findings: Sequence[Finding], table: SizeTable) -> tuple[Finding, ...]:
    """The findings without those that follow from an error in a cell.

    These are other findings of the same cell that are no errors, and limits that are passed in the size of that cell
    and speak of its measurement.
    """
    wrong = {one.place for one in findings if one.severity is Severity.ERROR and one.place.cell}

    def follows(one: Finding) -> bool:
        if one.code != Code.LIMIT_PASSED:
            return one.severity is not Severity.ERROR and one.place in wrong
        named = (name for name in table.measurements if name in one.found)
        return one.place.size in table.sizes and any(table.place(name, one.place.size) in wrong for name in named)

    return tuple(one for one in findings if not follows(one))


def audit_run(run: SizeRun) -> Iterator[Finding]:
    """Every finding on a graded run: pattern against body, drawn shapes, then marks."""
    subject = Subject(run)
    for rule in (*PATTERN_RULES, *MEASURE_RULES, *RUN_LADDER_RULES, *OUTLINE_RULES, *MARK_RULES):
        yield from rule(subject)
