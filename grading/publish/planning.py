"""What a run has to write, leave, move aside or remove in a folder, found before anything is touched."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding
from grading.publish.beside import open_elsewhere
from grading.publish.disk import checksum, sum_on_disk
from grading.publish.moves import FileMove
from grading.publish.names import backup_name, is_twin, name_beside
from grading.publish.notices import notice
from grading.publish.record import MADE_FOR, RECORD, Record, occupied, read_record, record_text

__all__ = ["Planned", "planned"]


@dataclass(frozen=True, slots=True)
class Planned:
    """The moves to make, what to write by name, the files that are right already, and findings."""

    moves: tuple[FileMove, ...]
    contents: Mapping[str, bytes]
    unchanged: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def written(self) -> tuple[str, ...]:
        return tuple(move.name for move in self.moves if move.new is not None)

    @property
    def removed(self) -> tuple[str, ...]:
        return tuple(move.name for move in self.moves if move.new is None)


def planned(
    folder: Path, files: Mapping[str, bytes], run: Mapping[str, object], replace: bool, remove_stale: bool
) -> Planned:
    """How the folder gets to hold ``files`` and the record of ``run``, as `publish` says."""
    findings: list[Finding] = []
    read = read_record(folder)
    record = read or Record({}, {})
    if made_for := run.get(MADE_FOR):
        findings += occupied(folder, str(made_for))
    ours = set(record.all.values())  # losing any bytes that the program wrote loses nobody's work
    moves: list[FileMove] = []
    contents: dict[str, bytes] = {}
    kept: dict[str, str] = {}
    for wanted in sorted(files):
        name, new = wanted, checksum(files[wanted])
        old = sum_on_disk(folder / name)
        backup = None
        if old not in (None, new) and old not in ours:
            if replace:
                backup = backup_name(folder, name)
                findings.append(notice(Code.OUTPUT_BACKED_UP, folder / name, backup))
            else:
                if wanted in record.all:
                    kept[wanted] = record.all[wanted]
                name = _free_beside(folder, name, {new, *ours}, {*files, *contents})
                findings.append(notice(Code.OUTPUT_ALTERED, folder / wanted, name))
                old = sum_on_disk(folder / name)
        contents[name] = files[wanted]
        if old != new:
            moves.append(FileMove(name, new, old, backup))
    unchanged = sorted(set(contents) - {move.name for move in moves})
    for name, wrote in sorted(record.all.items()):
        if name in contents or name in kept or is_twin(folder, name, contents):
            continue
        old = sum_on_disk(folder / name)
        if old == wrote and remove_stale:
            moves.append(FileMove(name, None, old))
        elif old is not None:
            kept[name] = wrote
            if old != wrote and name not in record.kept:
                findings.append(notice(Code.OUTPUT_KEPT, folder / name))
    outputs = {name: checksum(content) for name, content in contents.items()}
    contents[RECORD] = record_text(run, Record(outputs, kept))
    new, old = checksum(contents[RECORD]), sum_on_disk(folder / RECORD)
    if old != new:
        aside = None
        if read is None:  # it may be another program's
            aside = backup_name(folder, RECORD)
            findings.append(notice(Code.RECORD_UNREADABLE, folder / RECORD, aside))
        moves.append(FileMove(RECORD, new, old, aside))
    findings += [
        notice(Code.OUTPUT_OPEN, folder / move.name, mark)
        for move in moves
        if move.old is not None and (mark := open_elsewhere(folder / move.name))
    ]
    return Planned(tuple(moves), contents, tuple(unchanged), tuple(findings))


def _free_beside(folder: Path, name: str, replaceable: set[str], taken: set[str]) -> str:
    """A name beside an altered file that is free, or that of a file that may be replaced."""
    return name_beside(name, lambda new: new not in taken and sum_on_disk(folder / new) in {None, *replaceable})
