"""The command 'grading hand'."""

from __future__ import annotations

from dataclasses import replace as replaced
from pathlib import Path

import click

from grading.cli.measured import Words, hands_given, measured_hands
from grading.cli.options import for_hands, in_tables, replacing
from grading.cli.telling import columns, end, say, stop, tell_findings
from grading.drafting.one_hand import OneHand, one_pair, stock_group
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Finding, Place, Severity, has_errors
from grading.job import check_job
from grading.model.hands import LEFT, RIGHT
from grading.outputs.files import USUAL, Choices, folder_names, group_files, record
from grading.outputs.one_hand import NEAREST, nearest_sheet, nearest_table
from grading.outputs.printable import unprintable
from grading.publish import MADE_FOR, occupied, publish, read_record

__all__ = ["command"]

#: A nest of one size says nothing.
_KINDS = tuple(kind for kind in USUAL if kind != "nest")
#: What a pair is called that nobody named.
_UNNAMED = "One pair"


@click.command("hand")
@measured_hands
@in_tables
@click.option(
    "--name", help=f"What the pair is called: the customer, or an order; without it the first one is '{_UNNAMED}'."
)
@click.option(
    "--paper",
    type=click.Choice(list(PAPERS), case_sensitive=False),
    default="a4",
    show_default=True,
    help="The paper of printed sheets.",
)
@for_hands
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
    name: str | None,
    paper: str,
    hands: str,
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
    if name is not None and not name.strip():
        raise click.BadParameter("Give a name, as --name 'Order 12'.", param_hint="--name")
    measured, findings, inputs = hands_given(sheet, left, right, unit)
    job = check_job(sizes, blocks, groups)
    findings += job.findings
    if has_errors(findings):
        stop(findings)
    stock, found = stock_group(job.groups)
    findings += found
    if stock is None:
        stop(findings)
    pair, found = one_pair(measured, stock, _UNNAMED if name is None else name, inputs)
    findings += found
    for one in pair:
        findings += unprintable(one.graded.run.block, one.graded.run.table)
    folders = folder_names([one.graded.run.group for one in pair])
    for one in pair:
        findings += occupied(out / folders[one.graded.run.group], _made_for(one))
    if name is None:
        findings += _another_unnamed(out, {one.graded.run_id for one in pair})
    if has_errors(findings):
        stop(findings)
    tell_findings(findings)
    choices = Choices(Printing(PAPERS[paper]), unit, _KINDS, each_hand=hands == "both")
    of_tables = [one for one in findings if not any(one in made.graded.findings for made in pair)]
    pair = tuple(replaced(one, graded=replaced(one.graded, of_tables=tuple(of_tables))) for one in pair)
    for one in pair:
        run = one.graded.run
        headings, rows = nearest_table(one, stock, unit)
        say(f"{run.group}: nearest stock size {one.nearest} of {stock.run.group}, run {one.graded.run_id}")
        say(columns(headings, rows) + "\n")
        files = dict(group_files(one.graded, choices))
        files[NEAREST] = nearest_sheet(one, stock, choices.printing, unit)
        told = record(one.graded) | {MADE_FOR: _made_for(one)}
        published = publish(out / folders[run.group], files, told, replace=replace)
        tell_findings(published.findings)
        findings += published.findings
        for word, names in (("wrote", published.written), ("unchanged", published.unchanged)):
            for file in names:
                say(f"{word} {published.folder / file}")
    end(findings)


def _made_for(one: OneHand) -> str:
    return f"customer's pair {one.graded.run.group}"


def _another_unnamed(out: Path, runs: set[str]) -> list[Finding]:
    """A finding if a pair without a name of its own is there already, and is none of these runs'."""
    for folder in (out / _UNNAMED, *(out / f"{_UNNAMED}, {hand} hand" for hand in (LEFT, RIGHT))):
        record = read_record(folder)
        if record is not None and record.outputs and record.run not in runs:
            found = f"There is a pair in {folder} already, which had no name of its own."
            expected = "A name for each pair: the next one would take the place of the first."
            action = "Say whose it is, as --name 'Order 12'."
            return [Finding("name-needed", Severity.ERROR, Place(), found, expected, action)]
    return []
