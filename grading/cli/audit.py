"""The command 'grading audit'."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import click

from grading.audit import audit_table
from grading.audit.increments import Increments, increments_of_run, increments_of_table
from grading.cli.options import in_tables, in_units
from grading.cli.telling import columns, end, say, tell_findings
from grading.findings import Finding
from grading.inputs.charts import read_chart
from grading.job import read_job
from grading.units import show

__all__ = ["command"]


@click.command("audit")
@click.argument("chart", required=False, type=click.Path(path_type=Path))
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    help="Another chart, or the folder of another run: say what changed, measure by measure.",
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
    """Print the increments of every measure from size to size, then what is odd about them.

    Without CHART it is the run of your tables and block that is audited. CHART may be any size chart in a
    workbook or CSV file (headings Measurement, Unit, then the sizes), or the folder of a run. Increments that a
    finding points to are marked with !.
    """
    if against is not None:
        _compare(chart or sizes, against, unit, as_json)
    found: list[Finding]
    increments: list[Increments]
    if chart is None:
        job = read_job(sizes, blocks, groups)
        found = [*job.findings, *(finding for group in job.groups for finding in group.findings)]
        increments = [increments_of_run(group.run, group.findings) for group in job.groups]
    else:
        tables, found = read_chart(chart)
        audited = [(table, list(audit_table(table))) for table in tables]
        found += [finding for _, findings in audited for finding in findings]
        increments = [increments_of_table(table, findings) for table, findings in audited]
    if as_json:
        say(json.dumps({"groups": [_as_data(one) for one in increments], "findings": _plain(found)}, indent=1))
    else:
        for one in increments:
            say(_told(one, unit) + "\n")
        tell_findings(found)
    end(found)


def _told(one: Increments, unit: str) -> str:
    headings = [
        f"{one.group}: increment ({unit})",
        *(f"{a} to {b}" for a, b in zip(one.sizes, one.sizes[1:], strict=False)),
    ]
    rows = [
        [name, *(show(step, unit) + ("!" if flag else " ") for step, flag in zip(steps, flags, strict=True))]
        for name, steps, flags in zip(one.names, one.steps, one.flagged, strict=True)
    ]
    return columns(headings, rows)


def _as_data(one: Increments) -> dict[str, object]:
    return {
        "group": one.group,
        "sizes": list(one.sizes),
        "increments": {name: steps.round(3).tolist() for name, steps in zip(one.names, one.steps, strict=True)},
        "flagged": {name: flags.tolist() for name, flags in zip(one.names, one.flagged, strict=True)},
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


def _compare(this: Path, that: Path, unit: str, as_json: bool) -> None:
    """Print what changed in each group that both have; ends the program."""
    from grading.readings.comparison import compared

    new, found = read_chart(this)
    old, more = read_chart(that)
    found += more
    by_group = {table.group.casefold(): table for table in old}
    pairs = [(table, by_group.get(table.group.casefold())) for table in new]
    if len(new) == len(old) == 1:
        pairs = [(new[0], old[0])]
    comparisons = [compared(table, other) for table, other in pairs if other is not None]
    if as_json:
        data = [
            {
                "group": one.group,
                "change": {str(name): row.to_dict() for name, row in one.changed.round(3).iterrows()},
                "rows added": one.rows_added,
                "rows gone": one.rows_gone,
                "sizes added": one.sizes_added,
                "sizes gone": one.sizes_gone,
            }
            for one in comparisons
        ]
        say(json.dumps({"groups": data, "findings": _plain(found)}, indent=1))
    else:
        for one in comparisons:
            rows = [[str(name), *(show(value, unit) for value in row)] for name, row in one.changed.iterrows()]
            headings = [f"{one.group}: change ({unit})", *map(str, one.change.columns)]
            say(columns(headings, rows) if rows else f"{one.group}: no figure changed.")
            for words, names in (
                ("only here", one.rows_added),
                ("only there", one.rows_gone),
                ("sizes only here", one.sizes_added),
                ("sizes only there", one.sizes_gone),
            ):
                if names:
                    say(f"  {words}: {', '.join(names)}")
            say("")
        for table, other in pairs:
            if other is None:
                say(f"{table.group}: {that.name} has no such group.")
        tell_findings(found)
    end(found)
