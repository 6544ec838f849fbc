"""The sum of all that a run's files depend on: where it is the same, so are the files, and none is made again.

Nothing heavy is imported here: these sums are all that an unchanged run works out.
"""

from __future__ import annotations

import hashlib
import os
import sys
from functools import cache
from pathlib import Path
from typing import NamedTuple

from grading.publish.beside import beside, is_conflict_copy
from grading.publish.disk import sum_on_disk

__all__ = ["LIBRARIES", "Tables", "asked", "blocks_beside", "blocks_in", "program", "releases", "saved_as", "sum_of"]

#: What the program's own work is done with; another version may draw or write otherwise.
LIBRARIES = (
    "click",
    "defusedxml",
    "ezdxf",
    "numpy",
    "pandas",
    "pillow",
    "reportlab",
    "shapely",
    "svgelements",
    "XlsxWriter",
)


class Tables(NamedTuple):
    """The workbooks to read, and the groups to take from them: all where none is named."""

    sizes: Path
    blocks: tuple[Path, ...] = ()
    groups: tuple[str, ...] = ()

    @property
    def files(self) -> tuple[Path, ...]:
        """The size tables and the blocks, those that stand beside them where none is named."""
        return (self.sizes, *(self.blocks or blocks_beside(self.sizes)))


def saved_as(path: Path) -> Path:
    """The path of a workbook; with the ending .ods if there is only a file of that name."""
    other = path.with_suffix(".ods")
    return other if other.exists() and not path.exists() else path


def blocks_beside(sizes: Path) -> tuple[Path, ...]:
    """The blocks in the folder of the size tables; if it has none, those in the folder 'tables'."""
    tables = Path("tables")
    return blocks_in(sizes.parent) or blocks_in(tables) or (tables / "block.xlsx",)


def blocks_in(folder: Path) -> tuple[Path, ...]:
    """The blocks of a folder: 'block*.xlsx', and 'block*.ods' where there is no .xlsx of that name.

    Copies that a program made when a block was saved in two places at once do not count.
    """
    by_name = {path.stem: path for ending in (".ods", ".xlsx") for path in folder.glob(f"block*{ending}")}
    return tuple(sorted(path for path in by_name.values() if not is_conflict_copy(path)))


def asked(tables: Tables, choices: object) -> str:
    """The sum of the tables, the groups and the options (by their ``repr``) that a run was given, and of the program.

    Blank where a table cannot be read. The sum also depends on what lies beside a table and is told as a finding, such
    as the mark that it is open in another program.
    """
    try:
        files = [(path.name, sum_on_disk(path), beside(path)) for path in tables.files]
    except OSError:
        return ""
    if any(digest is None for _, digest, _ in files):
        return ""
    return sum_of(files, bool(tables.blocks), tables.groups, choices, program())


def program() -> str:
    """The sum of the program: what lies in its folder, its libraries, Python, and the date that is asked for."""
    return sum_of(_installed(), os.environ.get("SOURCE_DATE_EPOCH"))


@cache
def _installed() -> str:
    """The sum of the program as it is installed; worked out once, since what runs does not change."""
    home = Path(__file__).parent
    files = sorted(path for ending in ("*.py", "*.ttf") for path in home.rglob(ending))
    sources = [(path.relative_to(home).as_posix(), hashlib.sha256(path.read_bytes()).hexdigest()) for path in files]
    return sum_of(sources, releases(), sys.version)


def releases() -> list[str]:
    """The names of the folders that say which version of each library is installed: 'numpy-2.4.0.dist-info'."""
    # By their names alone: to import importlib.metadata takes as long as all the rest of an unchanged run.
    ours = tuple(f"{name.lower()}-" for name in LIBRARIES)
    names = {entry.name for folder in map(Path, sys.path) if folder.is_dir() for entry in folder.iterdir()}
    return sorted(name for name in names if name.lower().startswith(ours) and name.endswith(("-info", ".egg")))


def sum_of(*things: object) -> str:
    """The SHA-256 of what things are, by their ``repr``."""
    return hashlib.sha256(repr(things).encode("utf-8", "surrogatepass")).hexdigest()
