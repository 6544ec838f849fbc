"""The audit: small rules that each hold one thing of a table, a block or a run to what it should be."""

from __future__ import annotations

from collections.abc import Iterator

from grading.audit.blocks import audit_block, audit_fit
from grading.audit.marks import MARK_RULES
from grading.audit.outlines import OUTLINE_RULES
from grading.audit.patterns import PATTERN_RULES
from grading.audit.subject import Subject
from grading.audit.tables import audit_table
from grading.engine.run import SizeRun
from grading.findings import Finding

__all__ = ["Subject", "audit_block", "audit_fit", "audit_run", "audit_table"]


def audit_run(run: SizeRun) -> Iterator[Finding]:
    """Every finding on a graded run: pattern against body, drawn shapes, then marks."""
    subject = Subject(run)
    for rule in (*PATTERN_RULES, *OUTLINE_RULES, *MARK_RULES):
        yield from rule(subject)
