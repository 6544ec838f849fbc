"""The command 'grading start'."""

from __future__ import annotations

from pathlib import Path

import click

from grading.cli.options import PATH, SHEETS_OF_PAPER, on_paper
from grading.cli.telling import as_typed, end, say, stop, suggest
from grading.drawing.paper import PAPERS, Printing
from grading.outputs.starter import starter_files
from grading.publish.fresh import may_begin, write_fresh

__all__ = ["command"]


@click.command("start")
@click.argument("folder", metavar="DIR", type=PATH)
@on_paper(papers=SHEETS_OF_PAPER)
def command(folder: Path, paper: str) -> None:
    """Make the folder DIR with tables to fill in, a page on how to measure, and a note of what to type next.

    DIR must be new or empty: nothing is written over or between what you have.
    """
    files = {folder / name: content for name, content in starter_files(Printing(PAPERS[paper])).items()}
    findings = may_begin(folder, files) or write_fresh(files)
    if findings:
        stop(findings)
    say("\n".join(f"wrote {path}" for path in files))
    say("Go into the folder, and see what can be done there ('START HERE.txt' says more):")
    say(f"  {as_typed('cd', str(folder))}")
    suggest()
    end([])
