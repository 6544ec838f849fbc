"""Put a run's files into a folder whole or not at all, and never over what somebody has filled in.

All new files are first written beside their places under hidden names. Then one record, the journal, says what
goes where; from there on the files are moved, the record of the run (``run.json``) last. A run that fails puts
back what it moved, and one that was killed is finished, or put back, at the next start.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from grading.findings import Finding, StoppedError, has_errors
from grading.publish.disk import Disk, make_folders
from grading.publish.lock import locked
from grading.publish.moves import carry_out, recover, sweep
from grading.publish.names import any_case, is_inside
from grading.publish.notices import explained
from grading.publish.planning import planned
from grading.publish.record import MADE_FOR, RECORD, Record, occupied, read_record, run_folders, verify
from grading.publish.together import left_over, made_folders, mixed

__all__ = [
    "MADE_FOR",
    "RECORD",
    "Disk",
    "Published",
    "left_over",
    "made_folders",
    "mixed",
    "occupied",
    "publish",
    "read_record",
    "run_folders",
    "verify",
]


@dataclass(frozen=True, slots=True)
class Published:
    """What became of a run's files. Where a finding is an error, the folder is as it was before,
    unless the finding says that files wait under hidden names for the next start.

    Names are relative to ``folder``, with forward slashes. A new file written beside one that somebody had
    altered stands in ``written`` or ``unchanged`` under the name it got.
    """

    folder: Path
    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...]
    findings: tuple[Finding, ...]


def publish(
    folder: Path,
    files: Mapping[str, bytes],
    run: Mapping[str, object],
    *,
    replace: bool = False,
    remove_stale: bool = True,
    disk: Disk | None = None,
) -> Published:
    """Write ``files`` (by name relative to ``folder``, with forward slashes) and the record of the run.

    ``run`` is what the record tells besides the files' SHA-256 sums: run id, version, the inputs' sums, and as
    `MADE_FOR` what the folder is for; one that was made for something else is refused. A file
    that is not as the program last wrote it is left alone and the new one goes beside it, ``spec (new).xlsx``;
    with ``replace`` the altered one is moved to a backup, named by the date of its last change. Files of
    the last run that this one does not write are removed unless altered, or all kept without ``remove_stale``
    (for a run that writes some of its outputs only). Files that are right already are not touched.

    Nothing on the disk raises; it comes back as findings. Raises ValueError for a name that leads out of the
    folder, that some system cannot hold or that is the program's own, and for two names that differ by case
    only.
    """
    _check_names(files)
    disk = disk or Disk()
    findings: list[Finding] = []
    made: list[Path] = []
    try:
        make_folders(folder, disk, made)
        with locked(folder, disk):
            findings += recover(folder, disk)
            sweep(folder, {*files, *(read_record(folder) or Record({}, {})).all}, disk)
            plan = planned(folder, files, run, replace, remove_stale)
            findings += plan.findings
            if has_errors(findings):
                return Published(folder, (), (), (), tuple(findings))
            if plan.moves:
                carry_out(folder, plan.moves, plan.contents, disk, made)
            return Published(folder, plan.written, plan.unchanged, plan.removed, tuple(findings))
    except (OSError, StoppedError) as problem:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                disk.remove_folder(path)
        return Published(folder, (), (), (), (*findings, explained(problem, folder)))


def _check_names(files: Mapping[str, bytes]) -> None:
    if len(set(map(any_case, files))) < len(files):
        raise ValueError("two file names differ by case only")
    for name in files:
        if not is_inside(name) or any_case(name) == RECORD:
            raise ValueError(f"not a name for an output: {name!r}")
