"""What 'grading run' does where there is something to make: grade, write what is not as it should be, tell of it."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from grading.asked import asked
from grading.cli.telling import columns, say, stop, tell_findings
from grading.findings import Finding, has_errors
from grading.job import GradedGroup, check_job
from grading.outputs.files import Choices, Files, folder_names, group_files, made_for_group, made_from, record
from grading.outputs.printable import unprintable
from grading.publish import Published, left_over, made_folders, occupied, publish
from grading.publish.standing import MADE_FROM, as_left, whole_run
from grading.readings.measures import measured
from grading.readings.seams import walked_seams
from grading.units import show

__all__ = ["make"]


def make(
    sizes: Path,
    blocks: Sequence[Path],
    groups: Sequence[str],
    out: Path,
    choices: Choices,
    *,
    replace: bool = False,
    quiet: bool = False,
) -> list[Finding]:
    """Grade the groups and write those whose files are not what they should be; returns all that was found.

    Nothing is written where the tables have errors: the program ends.
    """
    # What was imported stays for good: it need not be walked through for garbage.
    gc.freeze()
    before = asked(sizes, blocks, groups, choices)
    job = check_job(sizes, blocks, groups)
    findings = [*job.findings]
    folders = folder_names(job.named)
    for group in job.groups:
        findings += [*group.findings, *unprintable(group.run.block, group.run.table)]
    occupants = [
        one for group in job.groups for one in occupied(out / folders[group.run.group], made_for_group(group.run.group))
    ]
    if has_errors((*findings, *occupants)):
        stop((*findings, *occupants), made_folders(out, made_for_group("")))
    # Tables that were saved while they were read are not what this run was made from.
    same = before if asked(sizes, blocks, groups, choices) == before else ""
    whole = whole_run(same, [folders[group.run.group] for group in job.groups], folders.values(), findings)
    findings += left_over(out, [out / name for name in folders.values()], made_for_group(""))
    tell_findings(findings)
    for group in job.groups:
        findings += _written(group, out / folders[group.run.group], choices, whole, replace=replace, quiet=quiet)
    return findings


def _written(
    group: GradedGroup, folder: Path, choices: Choices, whole: dict[str, object], *, replace: bool, quiet: bool
) -> tuple[Finding, ...]:
    """Have the group's files in its folder: made anew, unless those that stand there were made from the same."""
    told = record(group) | {MADE_FROM: made_from(group, choices)} | whole
    left = as_left(folder)
    stands = left.get(MADE_FROM) == told[MADE_FROM]
    if stands:
        content = {name: (folder / name).read_bytes() for name in left["outputs"]}
        say_made = f"unchanged {folder}, run {group.run_id}"
    else:
        if not quiet:
            say(_summary(group, choices.unit))
        content = _collected(group_files(group, choices), group.run.group, quiet)
    published = publish(folder, content, told, replace=replace, remove_stale=not choices.only)
    tell_findings(published.findings)
    if not quiet:
        say(say_made if stands else _told(published) + "\n")
    return published.findings


def _collected(files: Files, group: str, quiet: bool) -> dict[str, bytes]:
    """The group's files, by name, saying on a terminal that they are under way."""
    with click.progressbar(
        files,
        label=f"Writing {group}",
        show_eta=False,
        show_percent=False,
        show_pos=True,
        hidden=quiet or not sys.stderr.isatty(),
        file=sys.stderr,
    ) as made:
        return dict(made)


def _summary(group: GradedGroup, unit: str) -> str:
    """The group's sizes, its finished measures, and how its seams fit, as a table of plain text."""
    run = group.run
    base = (
        f"base size {run.sizes[run.base]}"
        if run.base is not None
        else "base block drafted for a hand that is none of these"
    )
    figures = measured(run)
    rows = [
        [measure.name, *(show(value, unit) for value in values)]
        for measure, values in zip(figures.measures, figures.values, strict=True)
        if measure.tolerance_plus is not None
    ]
    rows += [
        [f"ease of {walked.seam.name}", *(show(ease, unit) for ease in walked.ease)]
        for walked in walked_seams(run)
        if walked.seam.balance
    ]
    title = f"{run.block.name}, {run.group}: {len(run.sizes)} sizes, {base}, run {group.run_id}"
    return f"{title}\n{columns([f'finished measure ({unit})', *run.sizes], rows)}"


def _told(published: Published) -> str:
    """Which files were written, left as they were, or taken away."""
    lines = [
        f"{word} {published.folder / name}"
        for word, names in (
            ("wrote", published.written),
            ("unchanged", published.unchanged),
            ("removed", published.removed),
        )
        for name in names
    ]
    return "\n".join(lines) or "nothing was written"
