"""The command 'grading run'."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path

import click

from grading.asked import asked
from grading.cli.options import PrintedBar, for_hands, in_tables, in_units, replacing
from grading.cli.telling import end, say, tell_findings
from grading.cli.watching import watch
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Finding
from grading.outputs.files import KINDS, Choices, made_for_group
from grading.publish import left_over
from grading.publish.standing import standing

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
@click.option(
    "--watch",
    "watched",
    is_flag=True,
    help="Go on until Ctrl+C: make again what a workbook changes, as soon as it is saved.",
)
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
    choices = Choices(Printing(PAPERS[paper], *printed_bar), unit, only, marked_on, hands == "both")
    once = partial(_run, sizes, blocks, groups, out, choices, replace=replace, quiet=quiet)
    if not watched:
        end(once())

    def again() -> None:
        with suppress(SystemExit):  # errors in the tables end a run, and wait here to be mended
            end(once())

    watch(again, sizes, blocks)


def _run(
    sizes: Path,
    blocks: Sequence[Path],
    groups: Sequence[str],
    out: Path,
    choices: Choices,
    *,
    replace: bool,
    quiet: bool,
) -> list[Finding]:
    """Tell what an equal run found, if all stands as it left it, else make what is to be made."""
    stands = standing(out, asked(sizes, blocks, groups, choices))
    if stands is None:
        from grading.cli.making import make  # with all that grading and drawing import

        return make(sizes, blocks, groups, out, choices, replace=replace, quiet=quiet)
    findings = [*stands.findings, *left_over(out, stands.named, made_for_group(""))]
    tell_findings(findings)
    if not quiet:
        for folder, run in stands.runs.items():
            say(f"unchanged {folder}, run {run}")
        say("Neither the tables nor the options have changed since the last run, and every file is as it was written.")
    return findings
