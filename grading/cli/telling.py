"""What the commands print: results to standard output, findings to standard error."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from shutil import get_terminal_size
from textwrap import wrap
from typing import NoReturn

import click

from grading.findings import Finding, Severity, has_errors, worst_first

__all__ = ["columns", "end", "stop", "tell_findings"]


def tell_findings(findings: Iterable[Finding]) -> None:
    """Print findings, the worst first, each as where, what was found, what was expected, what to do."""
    width = min(get_terminal_size().columns, 110)
    for finding in worst_first(findings):
        click.echo(click.style(f"{finding.severity}", bold=True) + f" {finding.code}  {finding.place}", err=True)
        for sentence in (finding.found, finding.expected, finding.action):
            for part in wrap(sentence, width - 2):
                click.echo(f"  {part}", err=True)


def columns(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table in plain text: the first column to the left, figures to the right.

    >>> print(columns(["measure", "S", "M"], [["palm width", "96.0", "102.0"]]))
    measure        S      M
    palm width  96.0  102.0
    """
    widths = [max(len(row[i]) for row in (headings, *rows)) for i in range(len(headings))]
    lines = []
    for row in (headings, *rows):
        first, *rest = (
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  ".join([first, *rest]).rstrip())
    return "\n".join(lines)


def end(findings: Iterable[Finding]) -> NoReturn:
    """End the program: status 1 if the tables or the audit have errors, 0 if not, and a word on either."""
    findings = list(findings)
    counts = {severity: sum(finding.severity is severity for finding in findings) for severity in Severity}
    said = ", ".join(f"{count} {severity}{'s' if count != 1 else ''}" for severity, count in counts.items() if count)
    if said:
        click.echo(said, err=True)
    sys.exit(1 if has_errors(findings) else 0)


def stop(findings: Sequence[Finding]) -> NoReturn:
    """End the program before anything is written, and say so."""
    tell_findings(findings)
    click.echo("Nothing was written.", err=True)
    end(findings)
