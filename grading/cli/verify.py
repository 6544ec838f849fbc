"""The command 'grading verify'."""

from __future__ import annotations

from pathlib import Path

import click

from grading.cli.options import PATH
from grading.cli.telling import end, say, tell_findings
from grading.findings import Finding, counted
from grading.jobs.verify import verified

__all__ = ["command"]


@click.command("verify")
@click.argument("folder", type=PATH, default=Path("output"))
def command(folder: Path) -> None:
    """Say which files of a run are missing, half done, or altered since they were written. Nothing is changed.

    FOLDER is that of one group, or one that holds such folders; without it, output. Every file is compared with
    the checksum that the run left in run.json. The exit status is 1 if anything is missing, half done or damaged;
    a workbook that somebody filled in is told of, and is no error, and so is a folder that was made from other
    tables than those beside it.
    """
    findings: list[Finding] = []
    for group, own in verified(folder).items():
        say(f"{group}: {counted(len(own), 'finding') if own else 'every file is as it was written'}")
        findings += own
    tell_findings(findings)
    end(findings)
