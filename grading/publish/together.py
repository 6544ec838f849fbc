"""Whether the folders beside one another were made from the same tables, and which are left over from earlier ones."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding
from grading.publish.names import any_case
from grading.publish.notices import notice
from grading.publish.record import RECORD, Record, read_record, run_folders

__all__ = ["left_over", "made_folders", "mixed"]


def made_folders(out: Path, made_for: str) -> tuple[Path, ...]:
    """The folders in ``out`` that earlier runs made for something that begins with ``made_for``."""
    return tuple(folder for folder, record in _records(run_folders(out)) if record.made_for.startswith(made_for))


def left_over(out: Path, current: Collection[Path], made_for: str) -> Iterator[Finding]:
    """A warning for each folder in ``out`` made for a group that is none of ``current``, the groups' folders now.

    ``made_for`` is what the records of groups' folders begin with.
    """
    kept = {any_case(folder.name) for folder in current}
    for folder, record in _records(run_folders(out)):
        if folder != out and record.made_for.startswith(made_for) and any_case(folder.name) not in kept:
            yield notice(Code.FOLDER_LEFT_OVER, folder, record.made_for)


def mixed(folders: Sequence[Path], made_for: str) -> Iterator[Finding]:
    """A warning for each folder of a group that was made from other tables of the same name than most are.

    Where as many were made from one as from another, those of the first folder are taken for the right ones.
    """
    records = [(folder, record) for folder, record in _records(folders) if record.made_for.startswith(made_for)]
    sums: dict[str, list[str]] = {}
    for _, record in records:
        for name, digest in record.inputs.items():
            sums.setdefault(name, []).append(digest)
    usual = {name: max(those, key=those.count) for name, those in sums.items()}
    for folder, record in records:
        others = [name for name, digest in record.inputs.items() if digest != usual[name]]
        if others:
            yield notice(Code.FOLDERS_MIXED, folder, ", ".join(others))


def _records(folders: Iterable[Path]) -> Iterator[tuple[Path, Record]]:
    """The folders whose record can be read, each with it; `verify` tells of the others."""
    for folder in folders:
        with suppress(OSError):
            if (folder / RECORD).exists() and (record := read_record(folder)):
                yield folder, record
