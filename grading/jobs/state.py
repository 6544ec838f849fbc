"""The state of each group's folder: not graded yet, graded from the tables as they are now, or from earlier ones."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from grading.engine.graded import GradedGroup
from grading.findings import has_errors
from grading.jobs.tables import Job
from grading.outputs.files import folder_names, made_for_group
from grading.publish import occupied, read_record, verify

__all__ = ["State", "folders_of", "state"]


class State(StrEnum):
    """The states of a folder, in words; {folder} stands for its name."""

    GRADED = "graded, nothing changed since"
    CHANGED = "tables or block changed since it was graded"
    NONE = "not graded yet"
    OCCUPIED = "not graded: {folder} holds another job"
    UNKNOWN = "not known: the record in {folder} cannot be read"
    DAMAGED = "graded, but files in {folder} are missing or altered"


def folders_of(job: Job, out: Path) -> dict[str, Path]:
    """Each group's folder in ``out``."""
    return {group: out / name for group, name in folder_names(job.named).items()}


def state(group: GradedGroup, folder: Path) -> State:
    """The state of a group's folder."""
    try:
        record = read_record(folder)
    except OSError:
        return State.UNKNOWN
    if occupied(folder, made_for_group(group.run.group)):
        return State.OCCUPIED
    if record is None:
        return State.UNKNOWN
    if not record.run:
        return State.NONE
    if record.run != group.run_id:
        return State.CHANGED
    return State.DAMAGED if has_errors(verify(folder)) else State.GRADED
