"""The command 'grading hand'."""

from __future__ import annotations

from pathlib import Path

import click

from grading.cli.measured import Words, hands_given, measured_hands
from grading.cli.options import in_tables, replacing
from grading.cli.telling import columns, end, say, stop, tell_findings
from grading.drafting.one_hand import one_pair, stock_group
from grading.drawing.paper import PAPERS, Printing
from grading.findings import has_errors
from grading.job import read_job
from grading.outputs.files import USUAL, Choices, folder_names, group_files, record
from grading.outputs.one_hand import NEAREST, nearest_sheet, nearest_table
from grading.outputs.printable import unprintable
from grading.publish import publish

__all__ = ["command"]

#: A nest of one size says nothing.
_KINDS = tuple(kind for kind in USUAL if kind != "nest")


@click.command("hand")
@measured_hands
@in_tables
@click.option(
    "--name", default="One pair", show_default=True, help="What the pair is called: the customer, or an order."
)
@click.option(
    "--paper",
    type=click.Choice(list(PAPERS), case_sensitive=False),
    default="a4",
    show_default=True,
    help="The paper of printed sheets.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("output"),
    show_default=True,
    help="The folder to write into, one folder a pair or a hand.",
)
@replacing
def command(
    sheet: Path | None,
    left: Words,
    right: Words,
    unit: str,
    sizes: Path,
    blocks: tuple[Path, ...],
    groups: tuple[str, ...],
    name: str,
    paper: str,
    out: Path,
    replace: bool,
) -> None:
    """Make one customer's pair, for a hand that fits no size.

    Give what you measured, on a sheet or figure by figure. What is not given is estimated from it by regression on
    the size table, and said so, with how far it may be off. Where left and right differ each gets its own pattern.

    \b
    grading hand --group Women --measured hands.xlsx --name "Order 12"
    grading hand --group Men --right "fist girth" "24.1 cm" --right "palm length" "11.3 cm"
    """
    hands, findings, inputs = hands_given(sheet, left, right, unit)
    job = read_job(sizes, blocks, groups)
    findings += job.findings
    if has_errors(findings):
        stop(findings)
    stock, found = stock_group(job.groups)
    findings += found
    if stock is None:
        stop(findings)
    pair, found = one_pair(hands, stock, name, inputs)
    findings += found
    for one in pair:
        findings += unprintable(one.graded.run.block, one.graded.run.table)
    if has_errors(findings):
        stop(findings)
    tell_findings(findings)
    choices = Choices(Printing(PAPERS[paper]), unit, _KINDS)
    folders = folder_names([one.graded.run.group for one in pair])
    for one in pair:
        run = one.graded.run
        headings, rows = nearest_table(one, stock, unit)
        say(f"{run.group}: nearest stock size {one.nearest} of {stock.run.group}, run {one.graded.run_id}")
        say(columns(headings, rows) + "\n")
        files = dict(group_files(one.graded, choices))
        files[NEAREST] = nearest_sheet(one, stock, choices.printing, unit)
        published = publish(out / folders[run.group], files, record(one.graded), replace=replace)
        tell_findings(published.findings)
        findings += published.findings
        for word, names in (("wrote", published.written), ("unchanged", published.unchanged)):
            for file in names:
                say(f"{word} {published.folder / file}")
    end(findings)
