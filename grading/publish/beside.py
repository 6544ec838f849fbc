"""What other programs lay beside a file: marks that it is open, copies of it, parts of it still on their way."""

from __future__ import annotations

from pathlib import Path

__all__ = ["beside", "conflict_copies", "is_conflict_copy", "later_save", "on_its_way", "open_elsewhere"]

#: The endings by which the same workbook may have been saved twice.
_SAVED_AS = (".xlsx", ".xlsm", ".ods")


def beside(path: Path) -> tuple[str, ...]:
    """The names of what lies beside a file and is told as a finding where it is read."""
    return (open_elsewhere(path), *conflict_copies(path), later_save(path))


def open_elsewhere(path: Path) -> str:
    """The name of the mark that spreadsheet programs lay beside a file that they have open; blank if there is none."""
    return next((mark.name for mark in _open_marks(path) if mark.exists()), "")


def conflict_copies(path: Path) -> list[str]:
    """The names of copies that were made of a file when it was saved in two places at once."""
    alike = (other for other in path.parent.glob("*") if other.suffix == path.suffix)
    return sorted(other.name for other in alike if _is_copy_of(other, path))


def is_conflict_copy(path: Path) -> bool:
    """Whether a file's name is one that programs give which keep folders alike, where it was saved in two places.

    >>> is_conflict_copy(Path("block (conflicted copy 2026-11-20).xlsx")), is_conflict_copy(Path("block-men.xlsx"))
    (True, False)
    """
    return "conflict" in path.stem.casefold()


def later_save(path: Path) -> str:
    """The name of the same workbook if it was saved later with another ending, as .ods beside .xlsx; else blank."""
    if path.suffix.lower() not in _SAVED_AS or not path.exists():
        return ""
    others = (path.with_suffix(ending) for ending in _SAVED_AS if ending != path.suffix.lower())
    saved = path.stat().st_mtime_ns
    return next((other.name for other in others if other.exists() and other.stat().st_mtime_ns > saved), "")


def on_its_way(path: Path) -> str:
    """The name under which a missing file seems to be fetched or copied just now; blank if there is none."""
    others = {other.name for other in path.parent.glob("*") if path.name in other.name}
    return min(others - {path.name, *(mark.name for mark in _open_marks(path))}, default="")


def _is_copy_of(other: Path, path: Path) -> bool:
    own, rest = path.stem.casefold(), other.stem.casefold()
    return other != path and rest.startswith(own) and is_conflict_copy(Path(rest[len(own) :]))


def _open_marks(path: Path) -> tuple[Path, ...]:
    # Not by with_name, which raises for a path without a name: one may have been typed.
    return path.parent / f".~lock.{path.name}#", path.parent / f"~${path.name}"
