"""The command 'grading stock'."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from grading.asked import Tables
from grading.cli.options import (
    FOLDER,
    PATH,
    SHEETS_OF_PAPER,
    count,
    in_stock_table,
    in_tables,
    in_units,
    money,
    on_a_printer,
    on_paper,
    replacing,
)
from grading.cli.telling import columns, end, files_told, lines_of, say, stop, tell_findings
from grading.drawing.paper import PAPERS, Printing
from grading.findings import StoppedError, amount, has_errors
from grading.jobs.stock import planned, prepared_batch
from grading.stock.coverage import OFF
from grading.stock.plan import MOST_PAIRS, Plan, Progress

__all__ = ["command"]

#: How wide a screen is, in characters.
_WIDE = 80


@click.command("stock")
@in_tables
@in_stock_table("The workbook of customers, skins, work and prices.")
@click.option(
    "--out",
    type=FOLDER,
    default=Path("output"),
    help="The folder to write into; the batch gets a folder 'stock' in it.",
)
@click.option("--pairs", type=count(1, MOST_PAIRS), help="Make so many pairs; without it, what the table says.")
@click.option("--skins", is_flag=True, help="Make as many pairs as the skins on hand allow.")
@click.option("--budget", type=money, metavar="SUM", help="Make as many pairs as this sum pays for, skins and work.")
@click.option("--at-least", type=count(0), help="Make so many of every size at least.")
@click.option(
    "--fair",
    "fairs",
    multiple=True,
    type=PATH,
    help="A fair.xlsx that was filled in with what was sold and asked for: its sizes follow it. May be given more than "
    "once.",
)
@click.option(
    "--mock-up",
    metavar="SIZE",
    help="Lay the pieces of one trial hand of this size first, on parts of the skins that are too poor for stock.",
)
@on_paper(papers=SHEETS_OF_PAPER)
@on_a_printer
@in_units
@replacing
@click.option("--quiet", is_flag=True, help="Print findings only.")
def command(
    tables: Tables,
    stock: Path,
    out: Path,
    pairs: int | None,
    skins: bool,
    budget: float | None,
    at_least: int | None,
    fairs: tuple[Path, ...],
    mock_up: str | None,
    paper: str,
    printed_bar: tuple[float, float],
    unit: str | None,
    replace: bool,
    quiet: bool,
) -> None:
    """Plan a batch: how many of each size, what to cut from which skin, what to buy, who sews it, what it costs.

    Writes stock.xlsx (pairs, customers, skins, costs, bundles, pay, with formulas that follow what you change),
    lay-plan.pdf (how each skin is cut), tickets.pdf (a ticket for each bundle), slips.pdf (what each outworker has,
    to sign), stall.pdf (a size finder to cut out, a price list, a tally, a label for each pair) and fair.xlsx (to
    fill in with what was sold, for --fair). Say how large the batch is by one of --pairs, --skins and --budget.
    Whatever the stock table leaves open, and is used, has a default that is told.
    """
    sized = (pairs is not None) + skins + (budget is not None)
    if sized > 1:
        raise click.UsageError("Give one of --pairs, --skins and --budget.")
    printing = Printing(PAPERS[paper], *printed_bar)
    ready = prepared_batch(
        tables,
        stock,
        out,
        at_least=at_least,
        sized=sized > 0,
        fairs=fairs,
        mock_up=mock_up,
        printing=printing,
        unit=unit or "",
    )
    findings = [*ready.findings]
    if ready.batch is None:
        stop(findings, ready.earlier)
    try:
        with _progress(quiet) as told:
            plan = planned(ready.batch, told, pairs=pairs, skins=skins, budget=budget)
    except StoppedError as stopped:
        stop([*findings, stopped.finding], ready.earlier)
    findings += ready.findings_of(plan)
    tell_findings(findings)
    published = ready.publish(plan, replace=replace)
    tell_findings(published.findings)
    if not quiet:
        most = "the skins on hand allow" if skins else ""
        if budget is not None:
            most = f"{amount(budget)} {ready.batch.table.terms.currency} pays for"
        say(_summary(plan, most))
        nothing = "nothing was written" if has_errors(published.findings) else "all unchanged"
        say(files_told(published, "wrote") or nothing)
    end([*findings, *published.findings])


@contextlib.contextmanager
def _progress(quiet: bool) -> Iterator[Progress]:
    """On a terminal, one line that says how far laying out has come, while it does."""
    said = ""

    def told(pairs: int, laid: int, skins: int, part: float) -> None:
        nonlocal said
        keep = "; Ctrl+C keeps it" if laid == pairs else ""
        line = f"{laid} of {pairs} pairs laid out on {skins} skins, {part:.0%} searched{keep}"
        if line != said:
            _show(f"\r{line:<{len(said)}}")
            said = line

    if quiet or not sys.stderr.isatty():
        yield lambda pairs, laid, skins, part: None
        return
    try:
        yield told
    finally:
        if said:
            _show("\n")


def _show(text: str) -> None:
    with contextlib.suppress(OSError):
        click.echo(text, err=True, nl=False)


def _summary(plan: Plan, most: str) -> str:
    """Pairs and costs by size, whom the sizes fit, what the batch takes and costs; ``most`` says what limits it."""
    money = plan.batch.table.terms.currency
    fitted = [
        f"{market.group}: fits {fit.fitted:.0%} of hands; {_percent(fit.too_small)} too small, "
        f"{_percent(fit.too_large)} too large, {_percent(fit.too_short)} too short, {_percent(fit.too_long)} too "
        f"long; one more size would add {_percent(fit.one_smaller)} (smaller), {_percent(fit.one_larger)} (larger)"
        for market in plan.batch.markets
        for fit in [market.coverage]
        if fit
    ]
    if fitted:
        fitted.append(
            "That rests on the means and spreads of hands in the stock table; on real people such figures were off by "
            f"up to {100 * OFF:.0f} points."
        )
    fitted += [f"{market.group}: sizes by {market.shared_by}" for market in plan.batch.markets if market.fairs]
    trial = plan.batch.mock_up
    if trial:
        fitted.append(f"MOCK-UP of {trial.pair.group} {trial.pair.size}, one hand, on {trial.skin.name}: no stock")
    to_buy = sum(lay.skin.to_buy for lay in plan.lays)
    weeks = max(bundle.week for bundle in plan.bundles)
    said = [
        f"{plan.pairs} pairs from {len(plan.lays)} skins, {to_buy} of them to buy; {plan.share_used:.0%} of the usable "
        f"area used, the last skin aside; the pieces' area alone would fill {plan.least_skins}",
        *([f"{plan.pairs} pairs are the most that {most}, as far as was found"] if most else []),
        *(["the search was stopped: these are the fewest skins that were found until then"] if plan.stopped else []),
        f"{len(plan.bundles)} bundles in {weeks} {'week' if weeks == 1 else 'weeks'}",
        f"cost {plan.cost:.2f} {money}, takings {plan.takings:.2f}, margin {plan.takings - plan.cost:.2f}",
    ]
    lines = [line for text in [*fitted, *said] for line in lines_of(text, _WIDE, indent="  ")]
    return "\n".join([_sizes(plan), "", *lines, ""])


def _sizes(plan: Plan) -> str:
    """A row for each size; where rows would be wider than a screen, each group's name stands on a line of its own."""
    headings = ["size", "pairs", "out by", "skin", "work", "cost", "price", "margin"]
    rows = [
        [
            f"{row.group} {row.size}",
            str(row.pairs),
            f"{wanted.out_by:+.2f}".replace("-", "−"),
            *(f"{sum_:.2f}" for sum_ in (row.used + row.lost, row.work, row.cost, row.price, row.margin)),
        ]
        for wanted, row in zip(plan.wanted, plan.sizes, strict=True)
    ]
    table = columns(headings, rows)
    if max(map(len, table.split("\n"))) <= _WIDE:
        return table
    short = [[row.size, *cells[1:]] for row, cells in zip(plan.sizes, rows, strict=True)]
    heading, *lines = columns(headings, short).split("\n")
    told = [heading]
    for number, (row, line) in enumerate(zip(plan.sizes, lines, strict=True)):
        if number == 0 or plan.sizes[number - 1].group != row.group:
            told += lines_of(row.group, _WIDE)
        told.append(line)
    return "\n".join(told)


def _percent(part: float) -> str:
    """A share in whole percent, since nobody knows it better.

    >>> _percent(0.004), _percent(0.0), _percent(0.018)
    ('under 1%', 'none', '2%')
    """
    if part < 0.005:
        return "under 1%" if part > 1e-6 else "none"
    return f"{part:.0%}"
