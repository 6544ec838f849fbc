"""The command 'grading check'."""

from __future__ import annotations

import click

from grading.asked import Tables
from grading.cli.options import in_tables
from grading.cli.telling import end, say, tell_findings
from grading.jobs.tables import check_job
from grading.outputs.printable import unprintable

__all__ = ["command"]


@click.command("check")
@in_tables
def command(tables: Tables) -> None:
    """Read the tables and say what is wrong with them. Nothing is written.

    Every finding names the workbook, the sheet and the cell, or the piece and the size; what is there, what
    should be there, and what to do. The exit status is 1 if there is an error, 0 if not.
    """
    job = check_job(*tables).told_in()
    findings = [*job.all_findings]
    for group in job.groups:
        findings += unprintable(group.run.block, group.run.table)
    tell_findings(findings)
    for group in job.groups:
        run = group.run
        say(f"{run.group}: {len(run.sizes)} sizes, {run.sizes[0]} to {run.sizes[-1]}, run {group.run_id}")
    if not findings:
        say("No findings.")
    end(findings)
