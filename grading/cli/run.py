"""The command 'grading run'."""

from __future__ import annotations

import gc
import sys
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from grading.asked import Tables
from grading.cli.options import FOLDER, for_hands, in_tables, in_units, on_a_printer, on_paper, one_of, replacing
from grading.cli.telling import end, files_told, lines_of, parted, say, stop, tell_findings
from grading.cli.watching import watch
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Finding, has_errors
from grading.jobs.unchanged import Asked, unchanged_run
from grading.outputs.files import KINDS, Choices, group_files
from grading.units import show_row

if TYPE_CHECKING:
    from grading.engine.graded import GradedGroup
    from grading.jobs.run import PreparedGroup

__all__ = ["command"]


@click.command("run")
@in_tables
@click.option("--out", type=FOLDER, default=Path("output"), help="The folder to write into, one folder a size group.")
@on_paper("The paper of printed sheets; 'sheet' is one page as large as it needs, for a print shop.")
@in_units
@click.option(
    "--only", multiple=True, type=one_of(*KINDS), help="Write this kind of file only; may be given more than once."
)
@click.option(
    "--marked-on",
    type=one_of("inside", "outside"),
    show_default="as the block says",
    help="The face of the skin that the patterns are laid on and marked out from; it settles which is which hand.",
)
@on_a_printer
@for_hands
@replacing
@click.option(
    "--watch",
    "watched",
    is_flag=True,
    help="Go on until Ctrl+C: make again what a workbook changes, as soon as it is saved.",
)
@click.option("--quiet", is_flag=True, help="Print findings only.")
def command(
    tables: Tables,
    out: Path,
    paper: str,
    unit: str | None,
    only: tuple[str, ...],
    marked_on: str | None,
    printed_bar: tuple[float, float],
    hands: str,
    replace: bool,
    watched: bool,
    quiet: bool,
) -> None:
    """Grade the base block to every size of the tables, and write what a maker checks, cuts and sews by.

    For each size group: overview.pdf (one sheet, to open first), nest.pdf (all sizes over one another, true to
    scale), patterns/SIZE.pdf (what is cut for one pair), spec.xlsx (measures, increments, cut list, a page for each
    size), spec-cards.pdf (those pages as vectors, two sheets a size), check-sheets/SIZE.xlsx (for what was measured, to
    come back), and run.json (what was made from what). With '--only templates' also templates/SIZE.pdf: pieces without
    seam allowance, to draw round. With '--only svg' and '--only dxf' also cutting/SIZE HAND.svg and .dxf, for whoever
    cuts. If the tables have errors nothing is written.

    Where neither tables nor options nor the program have changed since the last run, and every file is as it was
    written, nothing is made again, and what was found then is told again.
    """
    choices = Choices(Printing(PAPERS[paper], *printed_bar), unit or "", only, marked_on, hands == "both")
    asked = Asked(tables, out, choices)
    once = partial(_run, asked, replace=replace, quiet=quiet)
    if not watched:
        end(once())

    def again() -> None:
        with suppress(SystemExit):  # errors in the tables end a run, and wait here to be mended
            end(once())

    watch(again, partial(_make_ready, asked), tables)


def _make_ready(asked: Asked) -> None:
    """Make unchanged files once more and drop them, so that the first change need not wait for imports and caches."""
    from grading.jobs.run import prepared_run

    for group in prepared_run(asked).groups:
        if group.stands:
            for _ in group_files(group.graded, group.choices):
                pass


def _run(asked: Asked, *, replace: bool, quiet: bool) -> list[Finding]:
    """Tell again what the same run found, if its files are as it left them; else make what is to be made."""
    stands = unchanged_run(asked)
    if stands is None:
        return _made(asked, replace=replace, quiet=quiet)
    tell_findings(stands.findings)
    if not quiet:
        for folder, run in stands.runs.items():
            say(f"unchanged {folder}, run {run}")
        say("Neither the tables nor the options have changed since the last run,")
        say("and every file is as it was written.")
    return [*stands.findings]


def _made(asked: Asked, *, replace: bool, quiet: bool) -> list[Finding]:
    """Grade, write and tell; where the tables have errors nothing is written, and the program ends."""
    from grading.jobs.run import prepared_run  # with all that grading and drawing import

    # What was imported stays for good: it need not be walked through for garbage.
    gc.freeze()
    run = prepared_run(asked)
    if has_errors(run.findings):
        stop(run.findings, run.earlier)
    tell_findings(run.findings)
    findings = [*run.findings]
    for group in run.groups:
        if not quiet and not group.stands:
            say(_summary(group.graded, group.choices.unit))
        published = group.publish(_collected(group, quiet), replace=replace)
        tell_findings(published.findings)
        findings += published.findings
        if not quiet:
            told = files_told(published, "wrote", "unchanged", "removed") or "nothing was written"
            say(f"unchanged {group.folder}, run {group.graded.run_id}" if group.stands else told + "\n")
    return findings


def _collected(group: PreparedGroup, quiet: bool) -> dict[str, bytes]:
    """The group's files, by name, saying on a terminal that they are under way."""
    with click.progressbar(
        group.files(),
        label=f"Writing {group.graded.run.group}",
        show_eta=False,
        show_percent=False,
        show_pos=True,
        hidden=quiet or group.stands or not sys.stderr.isatty(),
        file=sys.stderr,
    ) as made:
        return dict(made)


def _summary(group: GradedGroup, unit: str) -> str:
    """The group's sizes, its finished measures, and how its seams fit, as a table of plain text."""
    from grading.readings.measures import measured
    from grading.readings.seams import walked_seams

    run = group.run
    base = "base block drafted for a hand that is none of these"
    if run.base is not None:
        base = f"base size {run.sizes[run.base]}"
    figures = measured(run)
    rows = [
        [measure.name, *show_row(values, unit)]
        for measure, values in zip(figures.measures, figures.values, strict=True)
        if measure.tolerance_plus is not None
    ]
    rows += [
        [f"ease of {walked.seam.name}", *show_row(walked.ease, unit)]
        for walked in walked_seams(run)
        if walked.seam.balance
    ]
    title = f"{run.block.name}, {run.group}: {len(run.sizes)} sizes, {base}, run {group.run_id}"
    title = "\n".join(lines_of(title, indent="  "))
    return f"{title}\n{parted([f'finished measure ({unit})', *run.sizes], rows)}"
