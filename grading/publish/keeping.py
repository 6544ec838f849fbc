"""Put files in the place of others, each of which is kept beside it under a name with its date."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
from collections.abc import Collection, Mapping
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding, has_errors
from grading.publish.beside import open_elsewhere
from grading.publish.disk import Disk, checksum, hidden, put, sum_on_disk
from grading.publish.fresh import write_fresh
from grading.publish.notices import explained, notice

__all__ = ["put_in_place"]


def put_in_place(files: Mapping[Path, bytes], gone: Collection[Path] = ()) -> tuple[dict[Path, Path], list[Finding]]:
    """Write each file at its path, and take those away that are to be ``gone``; returns what each was kept as.

    The old one is copied to 'old NAME DATE' first, by the date of its last change, and only then replaced in one
    step: wherever the program is ended, it stands there under one name or both. A file that holds those very bytes
    already stays as it is. Where a finding is an error nothing was replaced.
    """
    try:
        old = {path: path.read_bytes() for path in (*files, *gone) if os.path.lexists(path)}
        replaced = {path: content for path, content in old.items() if files.get(path) != content}
        findings = [notice(Code.OUTPUT_OPEN, path, mark) for path in replaced if (mark := open_elsewhere(path))]
        if has_errors(findings):
            return {}, findings
        kept = {path: _kept_as(path, content) for path, content in replaced.items()}
        findings = write_fresh({kept[path]: content for path, content in replaced.items()})
        if has_errors(findings):
            return {}, findings
        new = {path: content for path, content in files.items() if old.get(path) != content}
        for path, content in new.items():
            put(hidden(path), content, Disk())
        changed = [path for path, content in replaced.items() if sum_on_disk(path) != checksum(content)]
        if changed:
            return {}, [notice(Code.OUTPUT_CHANGED_MEANWHILE, path) for path in changed]
        for path in new:
            hidden(path).replace(path)
        for path in gone:
            path.unlink(missing_ok=True)
    except OSError as problem:
        return {}, [explained(problem, next(iter(files)))]
    finally:
        for path in files:
            with contextlib.suppress(OSError):
                hidden(path).unlink()
    return kept, []


def _kept_as(path: Path, content: bytes) -> Path:
    """A name with the file's date that is free, or is that of a file with the same content."""
    day, number = dt.date.fromtimestamp(path.stat().st_mtime), 1
    while True:
        counted = f"{day}" if number == 1 else f"{day} ({number})"
        kept = path.with_name(f"old {path.stem} {counted}{path.suffix}")
        if not os.path.lexists(kept) or (kept.is_file() and kept.read_bytes() == content):
            return kept
        number += 1
