"""The command 'grading returns'."""

from __future__ import annotations

import math
from pathlib import Path

import click

from grading.cli.options import in_tables, in_units, replacing
from grading.cli.telling import columns, end, say, tell_findings
from grading.findings import Severity, has_errors
from grading.jobs.returns import check_returns, write_returns
from grading.jobs.tables import check_job
from grading.readings.returns import SURE, Judgement, Returned, Sample
from grading.units import MM_PER

__all__ = ["command"]


@click.command("returns")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@in_tables
@in_units
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("output/returns"),
    show_default=True,
    help="The folder to write into.",
)
@click.option(
    "--any-run", is_flag=True, help="Take sheets of other runs too, judged by the figures that stand on them."
)
@replacing
def command(
    files: tuple[Path, ...],
    sizes: Path,
    blocks: tuple[Path, ...],
    groups: tuple[str, ...],
    unit: str,
    out: Path,
    any_run: bool,
    replace: bool,
) -> None:
    """Read check sheets that came back filled in, judge every measure, and write returns.xlsx and returns.pdf.

    Any number of files from different people; each sheet is matched to the run it was handed out with. Says which
    measures fail in which size, whose hand runs short or long, and which tolerances the work cannot hold.
    """
    job = check_job(sizes, blocks, groups)
    if has_errors(job.findings):
        errors = [finding for finding in job.findings if finding.severity is Severity.ERROR]
        tell_findings(errors)
        end(errors)
    returned = check_returns(files, {group.run_id: group.run for group in job.groups}, any_run=any_run)
    findings = [*returned.findings]
    tell_findings(findings)
    if returned.sheets:
        say(_summary(returned, unit))
        published = write_returns(returned, out, unit, replace=replace)
        tell_findings(published.findings)
        findings += published.findings
        say("\n".join(f"wrote {published.folder / name}" for name in published.written) or "nothing was written")
    else:
        say("No check sheet could be counted; nothing was written.", err=True)
    end(findings)


def _summary(returned: Returned, unit: str) -> str:
    """What was returned, how each measure fared, in which sizes it failed, and whose hand leans."""
    judgement = returned.judgement
    counts = {"check sheet": len(returned.sheets), "reading": len(judgement.readings), "failure": judgement.failures}
    if not judgement.to_check < len(judgement.readings):
        del counts["failure"]
    counted = ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for word, count in counts.items())
    if judgement.to_check:
        counted += f", {judgement.to_check} to be checked and not judged"
    headings = ["measure", "read", "short", "long", "check", f"mean ({unit})", "±", "leans", "tolerance"]
    rows = [
        [measure, *_counts(sample), *_mean(sample, unit), sample.leans or "-", str(holding)]
        for measure, (sample, holding) in judgement.measures.items()
    ]
    parts = [counted, columns(headings, rows), *_failing(judgement), *_hands(judgement, unit)]
    return "\n".join(parts)


def _failing(judgement: Judgement) -> list[str]:
    """A table for each group: how many readings of a measure failed in each size."""
    tables = []
    for group in dict.fromkeys(group for group, _, _ in judgement.sizes):
        sizes = list(dict.fromkeys(size for other, size, _ in judgement.sizes if other == group))
        found = {key: sample.short + sample.long for key, sample in judgement.sizes.items()}
        rows = [
            [measure, *(str(found.get((group, size, measure), "-")) for size in sizes)]
            for measure in judgement.measures
        ]
        tables += ["", columns([f"failures, {group}", *sizes], rows)]
    return tables if judgement.failures else []


def _hands(judgement: Judgement, unit: str) -> list[str]:
    rows = [
        [f"{maker}, {measure}", str(sample.count), *_mean(sample, unit), sample.leans]
        for (maker, measure), sample in judgement.makers.items()
        if sample.leans
    ]
    title = f"whose hand leans, {SURE:.0%} sure"
    return ["", columns([title, "read", f"mean ({unit})", "±", "leans"], rows)] if rows else []


def _counts(sample: Sample) -> list[str]:
    counts = (sample.count + sample.to_check, sample.short, sample.long, sample.to_check)
    return [str(count) for count in counts]


def _mean(sample: Sample, unit: str) -> list[str]:
    decimals = 1 if unit == "mm" else 2

    def shown(mm: float, sign: str) -> str:
        return "-" if math.isnan(mm) else f"{mm / float(MM_PER[unit]):{sign}.{decimals}f}"

    return [shown(sample.mean, "+"), shown(sample.within, "")]
