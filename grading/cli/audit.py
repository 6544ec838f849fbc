"""The command 'grading audit'."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import click

from grading.asked import Tables
from grading.audit.increments import Increments, audit_verdict
from grading.cli.comparing import comparison_as_data, comparison_told
from grading.cli.increments import increments_told
from grading.cli.options import PATH, in_tables, in_units
from grading.cli.telling import end, say, tell_findings
from grading.findings import Finding, has_errors
from grading.jobs.audit import Compared, audited_chart, audited_job, chart_against, job_against
from grading.jobs.tables import check_job
from grading.jobs.told import in_unit

__all__ = ["command"]


@click.command("audit")
@click.argument("chart", required=False, type=PATH)
@click.option(
    "--against",
    type=PATH,
    help="Another chart, or the folder of another run, a group's or the one above: say what changed. Of your tables "
    "body figures, allowances, finished measures and the block's points are compared.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document, for scripts.")
@in_tables
@in_units
def command(chart: Path | None, against: Path | None, as_json: bool, tables: Tables, unit: str | None) -> None:
    """Print the increments of every measure from size to size, what is odd about them, and a verdict.

    Without CHART it is the run of your tables and block that is audited. CHART may be any size chart in a
    workbook or CSV file, body figures or finished measures, with sizes across or down, titles, notes and ranges as it
    is printed; how it was understood is said. Or it is the folder of a run.

    Figures that a finding points to are marked with !; the little chart beside a row's name shows its steps.
    """
    if against is not None:
        compared = job_against(tables, against) if chart is None else chart_against(chart, tables.groups, against)
        _tell_compared(compared, unit or compared.unit, as_json)
        end(compared.findings)
    audited = audited_job(check_job(*tables)) if chart is None else audited_chart(chart)
    increments, findings, unit = audited.increments, audited.findings, unit or audited.unit
    if as_json:
        data = {
            "groups": [_increments_as_data(one) for one in increments],
            "findings": _findings_as_data(findings),
            "verdict": audit_verdict(findings),
        }
        say(json.dumps(data, indent=1))
    else:
        for one in increments:
            say(increments_told(one, unit) + "\n")
        tell_findings(in_unit(findings, unit))
        say(f"verdict: {'' if increments else 'nothing was audited, '}{audit_verdict(findings)}")
    end(findings)


def _increments_as_data(one: Increments) -> dict[str, object]:
    return {
        "group": one.group,
        "sizes": list(one.sizes),
        "increments": {name: steps.round(3).tolist() for name, steps in zip(one.names, one.steps, strict=True)},
        "flagged": {name: flags.tolist() for name, flags in zip(one.names, one.flagged, strict=True)},
        "suspected": [asdict(suspicion) for suspicion in one.suspected],
    }


def _findings_as_data(findings: Sequence[Finding]) -> list[dict[str, object]]:
    """Findings as JSON can hold them; of a place only what is known."""
    return [
        {
            **asdict(finding),
            "severity": str(finding.severity),
            "place": {name: value for name, value in asdict(finding.place).items() if value},
        }
        for finding in findings
    ]


def _tell_compared(compared: Compared, unit: str, as_json: bool) -> None:
    """Print what changed in each group."""
    if as_json:
        groups = [comparison_as_data(one) for one in compared.comparisons]
        data = {"groups": groups, "not compared": compared.alone, "findings": _findings_as_data(compared.findings)}
        say(json.dumps(data, indent=1))
        return
    for one in compared.comparisons:
        say(comparison_told(one, unit) + "\n")
    if not has_errors(compared.findings):  # or a side that cannot be read would seem to lack them
        for group in compared.alone:
            say(f"{group}: not compared, there is no such group on the other side.")
    tell_findings(compared.findings)
