"""The command 'grading run'."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

import click

from grading.cli.options import PrintedBar, for_hands, in_tables, in_units, replacing
from grading.cli.telling import columns, end, say, stop, tell_findings
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Finding, has_errors
from grading.job import GradedGroup, check_job
from grading.outputs.files import KINDS, Choices, Files, folder_names, group_files, made_for_group, record
from grading.outputs.printable import unprintable
from grading.publish import Published, left_over, made_folders, occupied, publish
from grading.readings.measures import measured
from grading.readings.seams import walked_seams
from grading.units import show

__all__ = ["command"]


@click.command("run")
@in_tables
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("output"),
    show_default=True,
    help="The folder to write into, one folder a size group.",
)
@click.option(
    "--paper",
    type=click.Choice(list(PAPERS), case_sensitive=False),
    default="a4",
    show_default=True,
    help="The paper of printed sheets; 'sheet' is one page as large as it needs, for a print shop.",
)
@in_units
@click.option(
    "--only",
    multiple=True,
    type=click.Choice(list(KINDS), case_sensitive=False),
    help="Write this kind of file only; may be given more than once.",
)
@click.option(
    "--marked-on",
    type=click.Choice(["inside", "outside"], case_sensitive=False),
    show_default="as the block says",
    help="The face of the skin that the patterns are laid on and marked out from; it settles which is which hand.",
)
@click.option(
    "--printed-bar",
    type=PrintedBar(),
    default="100",
    metavar="MM[xMM]",
    help="What the 100 mm check bar measures on your own print made without this option, as 98.6: the sheets are laid "
    "out anew to come out right. As 98.6x99.1 if it differs: along the paper's short side first, then its long one.",
)
@for_hands
@replacing
@click.option("--quiet", is_flag=True, help="Print findings only.")
def command(
    sizes: Path,
    blocks: tuple[Path, ...],
    groups: tuple[str, ...],
    out: Path,
    paper: str,
    unit: str,
    only: tuple[str, ...],
    marked_on: str | None,
    printed_bar: tuple[float, float],
    hands: str,
    replace: bool,
    quiet: bool,
) -> None:
    """Grade the base block to every size of the tables, and write what a maker checks, cuts and sews by.

    For each size group: overview.pdf (one sheet, to open first), nest.pdf (all sizes over one another, true to
    scale), patterns/SIZE.pdf (what is cut for one pair), spec.xlsx (measures, increments, cut list, a page for each
    size), spec-cards.pdf (those pages as vectors, two sheets a size), check-sheets/SIZE.xlsx (for what was measured, to
    come back), and run.json (what was made from what). With '--only templates' also templates/SIZE.pdf: pieces without
    seam allowance, to draw round. With '--only svg' and '--only dxf' also cutting/SIZE HAND.svg and .dxf, for whoever
    cuts. If the tables have errors nothing is written.
    """
    findings: list[Finding] = []
    # What was imported stays for good: it need not be walked through for garbage.
    gc.freeze()
    job = check_job(sizes, blocks, groups)
    findings += job.findings
    folders = folder_names(job.named)
    for group in job.groups:
        findings += [*group.findings, *unprintable(group.run.block, group.run.table)]
        findings += occupied(out / folders[group.run.group], made_for_group(group.run.group))
    if has_errors(findings):
        stop(findings, made_folders(out, made_for_group("")))
    findings += left_over(out, [out / name for name in folders.values()], made_for_group(""))
    tell_findings(findings)
    choices = Choices(Printing(PAPERS[paper], *printed_bar), unit, only, marked_on, hands == "both")
    for group in job.groups:
        if not quiet:
            say(_summary(group, unit))
        content = _collected(group_files(group, choices), group.run.group, quiet)
        folder = out / folders[group.run.group]
        published = publish(folder, content, record(group), replace=replace, remove_stale=not choices.only)
        tell_findings(published.findings)
        findings += published.findings
        if not quiet:
            say(_told(published) + "\n")
    end(findings)


def _collected(files: Files, group: str, quiet: bool) -> dict[str, bytes]:
    """The group's files, by name, saying on a terminal that they are under way."""
    with click.progressbar(
        files,
        label=f"Writing {group}",
        show_eta=False,
        show_percent=False,
        show_pos=True,
        hidden=quiet or not sys.stderr.isatty(),
        file=sys.stderr,
    ) as made:
        return dict(made)


def _summary(group: GradedGroup, unit: str) -> str:
    """The group's sizes, its finished measures, and how its seams fit, as a table of plain text."""
    run = group.run
    base = (
        f"base size {run.sizes[run.base]}"
        if run.base is not None
        else "base block drafted for a hand that is none of these"
    )
    figures = measured(run)
    rows = [
        [measure.name, *(show(value, unit) for value in values)]
        for measure, values in zip(figures.measures, figures.values, strict=True)
        if measure.tolerance_plus is not None
    ]
    rows += [
        [f"ease of {walked.seam.name}", *(show(ease, unit) for ease in walked.ease)]
        for walked in walked_seams(run)
        if walked.seam.balance
    ]
    title = f"{run.block.name}, {run.group}: {len(run.sizes)} sizes, {base}, run {group.run_id}"
    return f"{title}\n{columns([f'finished measure ({unit})', *run.sizes], rows)}"


def _told(published: Published) -> str:
    """Which files were written, left as they were, or taken away."""
    lines = [
        f"{word} {published.folder / name}"
        for word, names in (
            ("wrote", published.written),
            ("unchanged", published.unchanged),
            ("removed", published.removed),
        )
        for name in names
    ]
    return "\n".join(lines) or "nothing was written"
