"""Moves files into their places all or none, and finishes or undoes what an interrupted run left.

Each move looks at what is on the disk, so that it can be done twice, or undone, whatever was done of it before.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from grading.findings import Finding
from grading.publish.disk import Disk, make_folders, plain_bytes, put, sum_on_disk
from grading.publish.names import has_link, is_inside
from grading.publish.notices import StoppedError, notice

__all__ = ["JOURNAL", "Step", "carry_out", "recover", "sweep"]

JOURNAL = ".grading-journal.json"
_NEW, _OLD = ".grading-new", ".grading-old"
#: No journal is longer, bytes.
_LONGEST = 20_000_000


@dataclass(frozen=True, slots=True)
class Step:
    """One file's way into place: ``new`` and ``old`` are SHA-256 sums, ``None`` where there is no such file."""

    name: str
    new: str | None
    old: str | None
    backup: str | None = None


def carry_out(
    folder: Path, steps: tuple[Step, ...], contents: Mapping[str, bytes], disk: Disk, made: list[Path]
) -> None:
    """Do all the steps, or put everything back and raise; folders that had to be made are added to ``made``."""
    try:
        _stay_inside(folder, steps)
        for step in steps:
            if step.new is None:
                continue
            place = folder / step.name
            make_folders(place.parent, disk, made)
            put(_beside(place, _NEW), contents[step.name], disk)
        for parent in sorted({(folder / step.name).parent for step in steps}):
            disk.sync(parent)
        journal = folder / JOURNAL
        put(_beside(journal, _NEW), json.dumps([asdict(step) for step in steps], indent=1).encode(), disk)
        disk.rename(_beside(journal, _NEW), journal)
        disk.sync(folder)
        _forward(folder, steps, disk)
    except BaseException:
        _back(folder, steps, disk)
        raise
    _tidy(folder, steps, disk)


def recover(folder: Path, disk: Disk) -> list[Finding]:
    """Finish what an interrupted run left, or put it back. Raises StoppedError where its journal is damaged."""
    if not (folder / JOURNAL).exists():
        return []
    steps = _read_journal(folder)
    _stay_inside(folder, steps)
    try:
        _forward(folder, steps, disk)
    except (OSError, StoppedError):
        _back(folder, steps, disk)
    else:
        _tidy(folder, steps, disk)
    return [notice("run-finished-later", folder)]


def sweep(folder: Path, names: Iterable[str], disk: Disk) -> None:
    """Remove what no journal speaks of any more, from the folder and those of the files named."""
    for parent in {folder, *((folder / name).parent for name in names if not has_link(folder, name))}:
        for left in sorted((*parent.glob(f".*{_NEW}"), *parent.glob(f".*{_OLD}"))):
            disk.unlink(left)


def _stay_inside(folder: Path, steps: Iterable[Step]) -> None:
    """Raises StoppedError where a link on the way to a file would have it written, moved or removed elsewhere."""
    for name in (name for step in steps for name in (step.name, step.backup) if name is not None):
        if has_link(folder, name):
            raise StoppedError(notice("output-outside", folder / name))


def _read_journal(folder: Path) -> tuple[Step, ...]:
    journal = folder / JOURNAL
    with contextlib.suppress(ValueError, TypeError, RecursionError):
        steps = tuple(Step(**step) for step in json.loads(plain_bytes(journal, _LONGEST).decode()))
        names = [name for step in steps for name in (step.name, step.backup) if name is not None]
        if all(isinstance(name, str) and is_inside(name) for name in names):
            return steps
    raise StoppedError(notice("journal-unreadable", journal))


def _forward(folder: Path, steps: tuple[Step, ...], disk: Disk) -> None:
    """Move every file to its place."""
    for step in steps:
        place = folder / step.name
        new, old = _beside(place, _NEW), _old_place(folder, step)
        if step.new is not None and not new.exists():
            continue  # already in place
        there = sum_on_disk(place)
        if there is not None:
            if there != step.old or os.path.lexists(old):
                raise StoppedError(notice("output-changed-meanwhile", place))
            disk.rename(place, old)
        if step.new is not None:
            disk.rename(new, place)
    for parent in sorted({(folder / step.name).parent for step in steps}):
        if parent.exists():
            disk.sync(parent)


def _back(folder: Path, steps: tuple[Step, ...], disk: Disk) -> None:
    """Put every file back where it was, whatever of the forward way was done, and forget the journal."""
    journal = folder / JOURNAL
    if journal.exists():  # before that nothing was moved
        try:
            for step in reversed(steps):
                _step_back(folder, step, disk)
            disk.unlink(journal)
            disk.sync(folder)
        except OSError as problem:
            raise StoppedError(notice("run-stuck", folder, problem.strerror or str(problem))) from problem
    for path in (journal, *(folder / step.name for step in steps)):
        with contextlib.suppress(OSError):  # it is swept away at the next start
            disk.unlink(_beside(path, _NEW))


def _step_back(folder: Path, step: Step, disk: Disk) -> None:
    place = folder / step.name
    new, old = _beside(place, _NEW), _old_place(folder, step)
    there = sum_on_disk(place)
    if step.new is not None and not new.exists() and there is not None:
        if there != step.new:
            raise StoppedError(notice("output-changed-meanwhile", place))
        disk.rename(place, new)
    if os.path.lexists(old):
        if os.path.lexists(place):
            raise StoppedError(notice("output-changed-meanwhile", place))
        disk.rename(old, place)


def _tidy(folder: Path, steps: tuple[Step, ...], disk: Disk) -> None:
    """Let go of the journal, then of what was replaced; never the other way, or `_back` would lack it.

    If it fails, all files are in place still and the next start does it again.
    """
    with contextlib.suppress(OSError):
        disk.unlink(folder / JOURNAL)
        disk.sync(folder)
        for step in steps:
            if step.backup is None and os.path.lexists(_old_place(folder, step)):
                disk.unlink(_old_place(folder, step))


def _beside(place: Path, ending: str) -> Path:
    return place.with_name(f".{place.name}{ending}")


def _old_place(folder: Path, step: Step) -> Path:
    return folder / step.backup if step.backup else _beside(folder / step.name, _OLD)
