"""What every judging part of the package yields: a finding that says what, where, why and what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from enum import Enum

__all__ = ["Finding", "Place", "Severity", "has_errors", "worst_first"]


class Severity(Enum):
    """How much a finding weighs: an error stops the run before anything is written."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    def __str__(self) -> str:
        return self.value


@dataclass(frozen=True, slots=True)
class Place:
    """Where a finding points: a cell of a workbook, or a piece and size of a run. Give what is known.

    >>> str(Place(workbook="sizes.xlsx", sheet="Women", cell="D5"))
    'sizes.xlsx, sheet Women, cell D5'
    >>> str(Place(group="Women", size="3", piece="Thumb"))
    'group Women, size 3, piece Thumb'
    """

    workbook: str = ""
    sheet: str = ""
    cell: str = ""
    group: str = ""
    size: str = ""
    piece: str = ""
    edge: str = ""
    measure: str = ""
    seam: str = ""

    def __str__(self) -> str:
        named = ((field.name, getattr(self, field.name)) for field in fields(self))
        return ", ".join(value if name == "workbook" else f"{name} {value}" for name, value in named if value)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found by a reader or a check.

    ``code`` is stable (tests and scripts may rely on it); ``found``, ``expected`` and ``action`` are short
    sentences for a maker, in that order: what is there, what should be there and why, what to do.

    >>> print(Finding("size-not-number", Severity.ERROR, Place("sizes.xlsx", "Women", "D5"),
    ...               "'abc' where a measurement belongs.", "A number in mm.", "Type the figure."))
    error size-not-number: sizes.xlsx, sheet Women, cell D5: 'abc' where a measurement belongs. \
A number in mm. Type the figure.
    """

    code: str
    severity: Severity
    place: Place
    found: str
    expected: str
    action: str

    def __str__(self) -> str:
        parts = [f"{self.severity} {self.code}", str(self.place)]
        parts.append(" ".join(part for part in (self.found, self.expected, self.action) if part))
        return ": ".join(part for part in parts if part)


def has_errors(findings: Iterable[Finding]) -> bool:
    """Whether any finding is an error."""
    return any(finding.severity is Severity.ERROR for finding in findings)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings with errors first, then warnings, then notes; otherwise in the order they came."""
    order = list(Severity)
    return sorted(findings, key=lambda finding: order.index(finding.severity))
