"""The job of 'grading run': grade the groups, and write those whose files are not there as they should be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from grading.engine.graded import GradedGroup
from grading.findings import Finding, has_errors
from grading.jobs.state import folders_of
from grading.jobs.tables import check_job
from grading.jobs.unchanged import Asked
from grading.outputs.files import Choices, Files, group_files, made_for_group, made_from, record
from grading.outputs.printable import unprintable
from grading.publish import Published, left_over, made_folders, occupied, publish
from grading.publish.standing import MADE_FROM, as_left, whole_run

__all__ = ["PreparedGroup", "PreparedRun", "prepared_run"]


@dataclass(frozen=True, eq=False)
class PreparedGroup:
    """A graded group that is to be written into its folder, with what the folder's record is to tell.

    ``standing`` are the names of the files that lie there, if they were made from the same.
    """

    graded: GradedGroup
    choices: Choices
    folder: Path
    told: Mapping[str, object]
    standing: tuple[str, ...] | None

    @property
    def stands(self) -> bool:
        """Whether its files are there already, made from the same."""
        return self.standing is not None

    def files(self) -> Files:
        """The group's files, one after the other as each is made, or as they stand."""
        if self.standing is None:
            return group_files(self.graded, self.choices)
        return ((name, (self.folder / name).read_bytes()) for name in self.standing)

    def publish(self, files: Mapping[str, bytes], *, replace: bool = False) -> Published:
        """Put the files into the folder; ``replace`` those that somebody has changed."""
        return publish(self.folder, files, self.told, replace=replace, remove_stale=not self.choices.only)


@dataclass(frozen=True, eq=False)
class PreparedRun:
    """The groups that a run is to write, none where an error stands in the way; and all that was found.

    ``earlier`` are the folders in which files of earlier runs lie, if there is an error.
    """

    groups: tuple[PreparedGroup, ...]
    findings: tuple[Finding, ...]
    earlier: tuple[Path, ...] = ()


def prepared_run(wanted: Asked) -> PreparedRun:
    """Read and grade everything. Nothing is written yet."""
    before = wanted.sum
    job = check_job(*wanted.tables)
    choices = replace(wanted.choices, unit=wanted.choices.unit or job.unit)
    job = job.told_in(choices.unit)
    findings = [*job.all_findings]
    folders = folders_of(job, wanted.out)
    for group in job.groups:
        findings += unprintable(group.run.block, group.run.table)
        findings += occupied(folders[group.run.group], made_for_group(group.run.group))
    if has_errors(findings):
        return PreparedRun((), tuple(findings), tuple(made_folders(wanted.out, made_for_group(""))))
    # Tables that were saved while they were read are not what this run was made from.
    same = before if wanted.sum == before else ""
    mine = [folders[group.run.group].name for group in job.groups]
    whole = whole_run(same, mine, [folder.name for folder in folders.values()], findings)
    findings += left_over(wanted.out, [*folders.values()], made_for_group(""))
    prepared = tuple(_prepared(group, folders[group.run.group], choices, whole) for group in job.groups)
    return PreparedRun(prepared, tuple(findings))


def _prepared(graded: GradedGroup, folder: Path, choices: Choices, whole: dict[str, object]) -> PreparedGroup:
    told = record(graded) | {MADE_FROM: made_from(graded, choices)} | whole
    left = as_left(folder)
    stands = left.get(MADE_FROM) == told[MADE_FROM]
    return PreparedGroup(graded, choices, folder, told, tuple(left["outputs"]) if stands else None)
