"""Take away what runs wrote, and nothing else: 'python -m grading.publish.cleaning FOLDER', with Python alone.

A file is removed if its bytes are those that the record of its run says were written. Files that somebody filled in,
changed or put there stay, and are named.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from grading.findings import StoppedError, harmless
from grading.publish.disk import Disk, sum_on_disk
from grading.publish.lock import locked
from grading.publish.moves import JOURNAL
from grading.publish.names import has_link
from grading.publish.record import RECORD, read_record

__all__ = ["clean"]


def clean(folder: Path) -> list[Path]:
    """Remove what runs wrote into the folder or any below it; returns the files that stay, without hidden ones.

    A record is removed with the last of its files. Links are not followed, and a folder in which a run was
    interrupted, or is going on, stays as it is.
    """
    records = [path for path in (folder / RECORD, *_below(folder)) if path.name == RECORD and path.is_file()]
    for recorded in dict.fromkeys(path.parent for path in records):
        try:
            with locked(recorded, Disk()):
                _clean_one(recorded)
        except (OSError, StoppedError) as problem:
            print(harmless(f"{recorded} is left as it is: {problem}"), file=sys.stderr)
            continue
        if recorded != folder and not any(recorded.iterdir()):
            recorded.rmdir()
    return [path for path in _below(folder) if not path.is_dir() and not path.name.startswith(".")]


def _clean_one(folder: Path) -> None:
    record = read_record(folder)
    if record is None or (folder / JOURNAL).exists():
        return
    left = False
    for name, wrote in record.all.items():
        place = folder / name
        if has_link(folder, name) or place.is_symlink() or place.is_dir():
            left = True
        elif (now := sum_on_disk(place)) == wrote:
            place.unlink()
            for above in list(place.relative_to(folder).parents)[:-1]:
                if not any((folder / above).iterdir()):
                    (folder / above).rmdir()
        else:
            left |= now is not None
    if not left:
        (folder / RECORD).unlink()


def _below(folder: Path) -> Iterator[Path]:
    """All files and folders in the folder and below it; links are not followed."""
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        yield path
        if path.is_dir() and not path.is_symlink():
            yield from _below(path)


if __name__ == "__main__":
    for stays in clean(Path(sys.argv[1])):
        if stays.name not in (RECORD, "README.txt"):
            print(harmless(f"left: {stays} (somebody changed it, or put it there)"))
