"""The command 'grading hand'."""

from __future__ import annotations

from pathlib import Path

import click

from grading.asked import Tables
from grading.cli.measured import measured_hands
from grading.cli.options import FOLDER, for_hands, in_tables, on_paper, replacing
from grading.cli.telling import columns, end, files_told, say, stop, tell_findings
from grading.drawing.paper import PAPERS, Printing
from grading.jobs.hand import UNNAMED, prepared_pair
from grading.jobs.measured import Words, hands_given
from grading.outputs.files import Choices
from grading.outputs.one_hand import ESTIMATED, nearest_of, nearest_table

__all__ = ["command"]


@click.command("hand")
@measured_hands
@in_tables
@click.option(
    "--name", help=f"What the pair is called: the customer, or an order; without it the first one is '{UNNAMED}'."
)
@on_paper()
@for_hands
@click.option(
    "--same-length", is_flag=True, help="Make both mittens alike in length: as long as the longer hand needs."
)
@click.option("--out", type=FOLDER, default=Path("output"), help="The folder to write into, one folder a pair.")
@replacing
def command(
    sheet: Path | None,
    left: Words,
    right: Words,
    unit: str | None,
    tables: Tables,
    name: str | None,
    paper: str,
    hands: str,
    same_length: bool,
    out: Path,
    replace: bool,
) -> None:
    """Make one customer's pair, for a hand that fits no size.

    Give what you measured, on a sheet or figure by figure. What is not given is estimated from it by regression on
    the size table, and said so, with how far it may be off. Where left and right differ each gets its own pattern,
    and one card shows both side by side.

    \b
    grading hand --group Women --measured hands.xlsx --name "Order 12"
    grading hand --group Men --right "fist girth" "24.1 cm"
    """
    if name is not None and not name.strip():
        raise click.BadParameter("Give a name, as --name 'Order 12'.", param_hint="--name")
    measured, of_hands, inputs = hands_given(sheet, left, right, unit or "mm")
    prepared, findings = prepared_pair(
        measured, tables, out, name=name, inputs=inputs, earlier=of_hands, unit=unit, same_length=same_length
    )
    if prepared is None:
        stop(findings)
    tell_findings(findings)
    choices = Choices(Printing(PAPERS[paper]), prepared.unit, each_hand=hands == "both")
    headings, rows = nearest_table(prepared.hands, prepared.stock, prepared.unit)
    nearest = nearest_of(prepared.hands).nearest
    group = prepared.stock.run.group
    say(f"{prepared.name}: nearest stock size {nearest} of {group}, run {prepared.whole.run_id}")
    say(columns(headings, rows))
    estimated = any(one.estimates for one in prepared.hands)
    say(f"{ESTIMATED}.\n" if estimated else "")
    published = prepared.publish(choices, replace=replace)
    tell_findings(published.findings)
    findings += published.findings
    say(files_told(published, "wrote", "unchanged") or "nothing was written")
    end(findings)
