"""The command 'grading audit'."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import click

from grading.audit import audit_chart
from grading.audit.increments import Increments, increments_of_run, increments_of_table, verdict
from grading.cli.increments import increments_told
from grading.cli.options import in_tables, in_units
from grading.cli.telling import end, say, tell_findings
from grading.findings import Finding
from grading.job import check_job
from grading.sheets.charts import read_chart, read_figures

__all__ = ["command"]


@click.command("audit")
@click.argument("chart", required=False, type=click.Path(path_type=Path))
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    help="Another chart, or the folder of another run, a group's or the one above: say what changed. Of your tables "
    "body figures, allowances, finished measures and the block's points are compared.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document, for scripts.")
@in_tables
@in_units
def command(
    chart: Path | None,
    against: Path | None,
    as_json: bool,
    sizes: Path,
    blocks: tuple[Path, ...],
    groups: tuple[str, ...],
    unit: str,
) -> None:
    """Print the increments of every measure from size to size, what is odd about them, and a verdict.

    Without CHART it is the run of your tables and block that is audited. CHART may be any size chart in a
    workbook or CSV file (headings Measurement, Unit, then the sizes), body figures or finished measures, or the
    folder of a run. Figures that a finding points to are marked with !; the little chart beside a row's name shows
    its steps.
    """
    if against is not None:
        _compare(chart, against, sizes, blocks, groups, unit, as_json)
    found: list[Finding]
    increments: list[Increments]
    if chart is None:
        job = check_job(sizes, blocks, groups)
        found = [*job.findings, *(finding for group in job.groups for finding in group.findings)]
        increments = [increments_of_run(group.run, group.findings) for group in job.groups]
    else:
        tables, found = read_chart(chart)
        audited = [(table, list(audit_chart(table))) for table in tables]
        found += [finding for _, findings in audited for finding in findings]
        increments = [increments_of_table(table, findings) for table, findings in audited]
    if as_json:
        data = {"groups": [_as_data(one) for one in increments], "findings": _plain(found), "verdict": verdict(found)}
        say(json.dumps(data, indent=1))
    else:
        for one in increments:
            say(increments_told(one, unit) + "\n")
        tell_findings(found)
        say(f"verdict: {'' if increments else 'nothing was audited, '}{verdict(found)}")
    end(found)


def _as_data(one: Increments) -> dict[str, object]:
    return {
        "group": one.group,
        "sizes": list(one.sizes),
        "increments": {name: steps.round(3).tolist() for name, steps in zip(one.names, one.steps, strict=True)},
        "flagged": {name: flags.tolist() for name, flags in zip(one.names, one.flagged, strict=True)},
        "suspected": [asdict(suspicion) for suspicion in one.suspected],
    }


def _plain(findings: Sequence[Finding]) -> list[dict[str, object]]:
    """Findings as JSON can hold them; of a place only what is known."""
    return [
        {
            **asdict(finding),
            "severity": str(finding.severity),
            "place": {name: value for name, value in asdict(finding.place).items() if value},
        }
        for finding in findings
    ]


def _compare(
    chart: Path | None,
    against: Path,
    sizes: Path,
    blocks: tuple[Path, ...],
    groups: tuple[str, ...],
    unit: str,
    as_json: bool,
) -> None:
    """Print what changed in each group asked for; ends the program."""
    from grading.cli.comparing import as_data, side_by_side, told
    from grading.readings.comparison import figures_of_run

    if chart is None:
        job = check_job(sizes, blocks, groups)
        new, found = tuple(figures_of_run(group.run) for group in job.groups), [*job.findings]
        if not new:  # of tables with errors the figures that can be read
            new = read_figures(sizes)[0]
    else:
        new, found = read_figures(chart)
    old, more = read_figures(against)
    comparisons, lonely = side_by_side(new, old, groups)
    found += more
    if as_json:
        data = {"groups": [as_data(one) for one in comparisons], "not compared": lonely, "findings": _plain(found)}
        say(json.dumps(data, indent=1))
    else:
        for one in comparisons:
            say(told(one, unit) + "\n")
        for group in lonely:
            say(f"{group}: not compared, there is no such group on the other side.")
        tell_findings(found)
    end(found)
