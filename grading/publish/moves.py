"""Moves files into their places all or none, and finishes or undoes what an interrupted run left.

Each move looks at the disk first, so that it can be done twice, or undone, however far it had come.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding, StoppedError
from grading.publish.disk import Disk, hidden, make_folders, plain_bytes, put, sum_on_disk
from grading.publish.names import has_link, is_inside
from grading.publish.notices import notice

__all__ = ["JOURNAL", "FileMove", "carry_out", "recover", "sweep"]

JOURNAL = ".grading-journal.json"
#: No journal is longer, bytes.
_LONGEST = 20_000_000


@dataclass(frozen=True, slots=True)
class FileMove:
    """One file's way into place: ``new`` and ``old`` are SHA-256 sums, ``None`` where there is no such file."""

    name: str
    new: str | None
    old: str | None
    backup: str | None = None


def carry_out(
    folder: Path, moves: tuple[FileMove, ...], contents: Mapping[str, bytes], disk: Disk, made: list[Path]
) -> None:
    """Do all the moves, or put everything back and raise; folders that had to be made are added to ``made``."""
    try:
        _stay_inside(folder, moves)
        for move in moves:
            if move.new is None:
                continue
            place = folder / move.name
            make_folders(place.parent, disk, made)
            put(hidden(place), contents[move.name], disk)
        for parent in sorted({(folder / move.name).parent for move in moves}):
            disk.sync(parent)
        journal = folder / JOURNAL
        put(hidden(journal), json.dumps([asdict(move) for move in moves], indent=1).encode(), disk)
        disk.rename(hidden(journal), journal)
        disk.sync(folder)
        _forward(folder, moves, disk)
    except BaseException:
        _back(folder, moves, disk)
        raise
    _tidy(folder, moves, disk)


def recover(folder: Path, disk: Disk) -> list[Finding]:
    """Finish what an interrupted run left, or put it back. Raises StoppedError where its journal is damaged."""
    if not (folder / JOURNAL).exists():
        return []
    moves = _read_journal(folder)
    _stay_inside(folder, moves)
    try:
        _forward(folder, moves, disk)
    except (OSError, StoppedError):
        _back(folder, moves, disk)
    else:
        _tidy(folder, moves, disk)
    return [notice(Code.RUN_FINISHED_LATER, folder)]


def sweep(folder: Path, names: Iterable[str], disk: Disk) -> None:
    """Remove hidden files that earlier runs left, from the folder and those of the files named."""
    for parent in {folder, *((folder / name).parent for name in names if not has_link(folder, name))}:
        for left in sorted((*parent.glob(".*.grading-new"), *parent.glob(".*.grading-old"))):
            disk.unlink(left)


def _stay_inside(folder: Path, moves: Iterable[FileMove]) -> None:
    """Raises StoppedError where a link on the way to a file would have it written, moved or removed elsewhere."""
    for name in (name for move in moves for name in (move.name, move.backup) if name is not None):
        if has_link(folder, name):
            raise StoppedError(notice(Code.OUTPUT_OUTSIDE, folder / name))


def _read_journal(folder: Path) -> tuple[FileMove, ...]:
    journal = folder / JOURNAL
    with contextlib.suppress(ValueError, TypeError, RecursionError):
        moves = tuple(FileMove(**move) for move in json.loads(plain_bytes(journal, _LONGEST).decode()))
        names = [name for move in moves for name in (move.name, move.backup) if name is not None]
        if all(isinstance(name, str) and is_inside(name) for name in names):
            return moves
    raise StoppedError(notice(Code.JOURNAL_UNREADABLE, journal))


def _forward(folder: Path, moves: tuple[FileMove, ...], disk: Disk) -> None:
    """Move every file to its place."""
    for move in moves:
        place = folder / move.name
        new, old = hidden(place), _old_place(folder, move)
        if move.new is not None and not new.exists():
            continue  # already in place
        there = sum_on_disk(place)
        if there is not None:
            if there != move.old or os.path.lexists(old):
                raise StoppedError(notice(Code.OUTPUT_CHANGED_MEANWHILE, place))
            disk.rename(place, old)
        if move.new is not None:
            disk.rename(new, place)
    for parent in sorted({(folder / move.name).parent for move in moves}):
        if parent.exists():
            disk.sync(parent)


def _back(folder: Path, moves: tuple[FileMove, ...], disk: Disk) -> None:
    """Put every file back where it was, however far the moves had come, and remove the journal."""
    journal = folder / JOURNAL
    if journal.exists():  # before that nothing was moved
        try:
            for move in reversed(moves):
                _move_back(folder, move, disk)
            disk.unlink(journal)
            disk.sync(folder)
        except OSError as problem:
            raise StoppedError(notice(Code.RUN_STUCK, folder, problem.strerror or str(problem))) from problem
    for path in (journal, *(folder / move.name for move in moves)):
        with contextlib.suppress(OSError):  # it is swept away at the next start
            disk.unlink(hidden(path))


def _move_back(folder: Path, move: FileMove, disk: Disk) -> None:
    place = folder / move.name
    new, old = hidden(place), _old_place(folder, move)
    there = sum_on_disk(place)
    if move.new is not None and not new.exists() and there is not None:
        if there != move.new:
            raise StoppedError(notice(Code.OUTPUT_CHANGED_MEANWHILE, place))
        disk.rename(place, new)
    if os.path.lexists(old):
        if os.path.lexists(place):
            raise StoppedError(notice(Code.OUTPUT_CHANGED_MEANWHILE, place))
        disk.rename(old, place)


def _tidy(folder: Path, moves: tuple[FileMove, ...], disk: Disk) -> None:
    """Remove the journal, then the files that were replaced; in this order, since `_back` needs those.

    If it fails, all files are in place already, and the next start does it again.
    """
    with contextlib.suppress(OSError):
        disk.unlink(folder / JOURNAL)
        disk.sync(folder)
        for move in moves:
            if move.backup is None and os.path.lexists(_old_place(folder, move)):
                disk.unlink(_old_place(folder, move))


def _old_place(folder: Path, move: FileMove) -> Path:
    return folder / move.backup if move.backup else hidden(folder / move.name, "old")
