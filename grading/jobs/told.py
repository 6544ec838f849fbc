"""Findings as they are told: in the unit that a maker thinks in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from grading.findings import Finding
from grading.units import lengths_in

__all__ = ["in_unit"]


def in_unit(findings: Iterable[Finding], unit: str) -> list[Finding]:
    """The findings, which are written in mm, with their lengths told in another unit."""
    return [
        replace(
            one,
            found=lengths_in(one.found, unit),
            expected=lengths_in(one.expected, unit),
            action=lengths_in(one.action, unit),
        )
        for one in findings
    ]
