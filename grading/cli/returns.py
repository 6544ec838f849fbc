"""The command 'grading returns'."""

from __future__ import annotations

import math
from pathlib import Path

import click

from grading.asked import Tables
from grading.cli.options import FOLDER, PATH, SHEETS_OF_PAPER, in_stock_table, in_tables, in_units, on_paper, replacing
from grading.cli.telling import columns, end, files_told, lines_of, parted, say, tell_findings
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Findings, Severity, counted
from grading.jobs.returns import check_returns, pay_table, write_returns
from grading.jobs.tables import check_job
from grading.model.stock import StockTable
from grading.outputs.returns_words import pair_told
from grading.readings.returns import NO_NAME, SURE, Judgement, PairVerdict, Returned, Sample, pairs_by_maker
from grading.units import MM_PER

__all__ = ["command"]


@click.command("returns")
@click.argument("files", nargs=-1, required=True, type=PATH, metavar="FILE...")
@in_tables
@in_units
@on_paper(papers=SHEETS_OF_PAPER)
@click.option("--out", type=FOLDER, default=Path("output/returns"), help="The folder to write into.")
@click.option(
    "--any-run", is_flag=True, help="Take sheets of other runs too, judged by the figures that stand on them."
)
@in_stock_table("The stock table, for what good pairs pay; where there is none, no pay is told.")
@replacing
def command(
    files: tuple[Path, ...],
    tables: Tables,
    unit: str | None,
    paper: str,
    out: Path,
    any_run: bool,
    stock: Path,
    replace: bool,
) -> None:
    """Read check sheets that came back filled in, judge every measure and pair, and write returns.xlsx and .pdf.

    Any number of files from different people; each sheet is matched to the run it was handed out with. Says of
    each pair whether it is good, to mend or not a pair, and why; which measures fail in which size, whose hand runs
    short or long, and which tolerances the work cannot hold.
    """
    job = check_job(*tables).told_in()
    if errors := [finding for finding in job.findings if finding.severity is Severity.ERROR]:
        tell_findings(errors)
        end(errors)
    unit = unit or job.unit
    returned = check_returns(files, {group.run_id: group.run for group in job.groups}, any_run=any_run)
    findings = Findings(returned.findings)
    pay = findings.gather(pay_table(stock)) if stock.exists() else None
    tell_findings(findings)
    if returned.sheets:
        say(_summary(returned, unit, pay))
        published = write_returns(returned, out, Printing(PAPERS[paper]), unit, stock=pay, replace=replace)
        tell_findings(published.findings)
        findings += published.findings
        say(files_told(published, "wrote") or "nothing was written")
    else:
        say("No check sheet could be counted; nothing was written.", err=True)
    end(findings)


def _summary(returned: Returned, unit: str, stock: StockTable | None) -> str:
    """What was returned, what pairs and measures came to, in which sizes they failed, and whose hand leans."""
    judgement = returned.judgement
    counts = {"check sheet": len(returned.sheets), "reading": len(judgement.readings)}
    if judgement.to_check < len(judgement.readings):
        counts["failure"] = judgement.failures
    told = ", ".join(counted(count, word) for word, count in counts.items())
    if judgement.to_check:
        told += f", {judgement.to_check} to be checked and not judged"
    checked = ["check"] if judgement.to_check else []
    headings = ["measure", "read", "short", "long", *checked, f"mean, {unit}", "leans", "tolerance"]
    rows = [
        [measure, *_counts(sample)[: 3 + len(checked)], _mean(sample, unit), sample.leans or "-", str(holding)]
        for measure, (sample, holding) in judgement.measures.items()
    ]
    before, after = _pairs(judgement, unit, stock), [*_failing(judgement), *_hands(judgement, unit)]
    return "\n".join([told, *before, "", columns(headings, rows), *after])


def _pairs(judgement: Judgement, unit: str, stock: StockTable | None) -> list[str]:
    """How many of each maker's pairs came to what and pay what, and why of each that is not good."""
    headings = ["pairs of", *map(str, PairVerdict), *([f"pay ({stock.terms.currency})"] if stock else [])]
    makers = pairs_by_maker(judgement, stock)
    rows = [[one.name, *map(str, one.counts.values()), *([_money(one.pay)] if stock else [])] for one in makers]
    told = [
        f"{pair.sheet.name or NO_NAME}, {pair.sheet.size}, pair {pair.pair}, {pair.verdict}: {pair_told(pair, unit)}."
        for pair in judgement.pairs
        if pair.verdict is not PairVerdict.GOOD
    ]
    lines = [line for text in told for line in lines_of(text, indent="  ")]
    return ["", columns(headings, rows), *([""] if lines else []), *lines]


def _money(pay: float | None) -> str:
    return "-" if pay is None else f"{pay:.2f}"


def _failing(judgement: Judgement) -> list[str]:
    """A table for each group: how many readings of a measure failed in each size; none where none did."""
    if not judgement.failures:
        return []
    tables = []
    for group in dict.fromkeys(group for group, _, _ in judgement.sizes):
        sizes = list(dict.fromkeys(size for other, size, _ in judgement.sizes if other == group))
        failed = {key: sample.short + sample.long for key, sample in judgement.sizes.items()}
        rows = [
            [measure, *(str(failed.get((group, size, measure), "-")) for size in sizes)]
            for measure in judgement.measures
        ]
        tables += ["", parted([f"failures, {group}", *sizes], rows)]
    return tables


def _hands(judgement: Judgement, unit: str) -> list[str]:
    rows = [
        [f"{maker}, {measure}", str(sample.count), _mean(sample, unit), sample.leans]
        for (maker, measure), sample in judgement.makers.items()
        if sample.leans
    ]
    title = f"whose hand leans, {SURE:.0%} sure"
    return ["", columns([title, "read", f"mean, {unit}", "leans"], rows)] if rows else []


def _counts(sample: Sample) -> list[str]:
    counts = (sample.count + sample.to_check, sample.short, sample.long, sample.to_check)
    return [str(count) for count in counts]


def _mean(sample: Sample, unit: str) -> str:
    """The mean deviation and how far it may be off, as +0.6 ±1.7."""
    decimals = 1 if unit == "mm" else 2

    def shown(mm: float, sign: str) -> str:
        # A nought has no sign: rounded, and the minus of a float's nought taken off.
        return "-" if math.isnan(mm) else f"{round(mm / float(MM_PER[unit]), decimals) + 0.0:{sign}.{decimals}f}"

    return f"{shown(sample.mean, '+')} ±{shown(sample.within, '')}"
