"""What a run is asked for, as one sum: where it is equal the files are, and need not be made a second time.

Nothing heavy is imported here: these sums are all that an unchanged run works out.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from grading.publish.disk import sum_on_disk
from grading.publish.planning import open_elsewhere

__all__ = ["LIBRARIES", "asked", "blocks_beside", "program", "releases", "sum_of"]

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


def blocks_beside(sizes: Path) -> tuple[Path, ...]:
    """The blocks that stand beside size tables, 'block*.xlsx', else .ods; without any those in the folder 'tables'."""
    tables = Path("tables")
    for folder in (sizes.parent, tables):
        for ending in (".xlsx", ".ods"):
            if found := sorted(folder.glob(f"block*{ending}")):
                return tuple(found)
    return (tables / "block.xlsx",)


def asked(sizes: Path, blocks: Sequence[Path], groups: Sequence[str], choices: object) -> str:
    """The sum of the tables, the groups and the options (by their ``repr``) that a run was given, and of the program.

    Blank where a table cannot be read. Which files are open in a spreadsheet program counts, since it is told.
    """
    paths = (sizes, *(blocks or blocks_beside(sizes)))
    try:
        tables = [(path.name, sum_on_disk(path), open_elsewhere(path)) for path in paths]
    except OSError:
        return ""
    if any(digest is None for _, digest, _ in tables):
        return ""
    return sum_of(tables, bool(blocks), tuple(groups), choices, program())


def program() -> str:
    """The sum of the program: what lies in its folder, its libraries, Python, and the date that is asked for."""
    return sum_of(_installed(), os.environ.get("SOURCE_DATE_EPOCH"))


@cache
def _installed() -> str:
    """The sum of the program as it is installed: taken once, since what runs is what was there when it began."""
    home = Path(__file__).parent
    files = sorted(path for ending in ("*.py", "*.ttf") for path in home.rglob(ending))
    sources = [(path.relative_to(home).as_posix(), hashlib.sha256(path.read_bytes()).hexdigest()) for path in files]
    return sum_of(sources, releases(), sys.version)


def releases() -> list[str]:
    """The folders in which installers tell which version of a library is there, such as 'numpy-2.4.0.dist-info'."""
    # By their names alone: to import importlib.metadata takes as long as all the rest of an unchanged run.
    ours = tuple(f"{name.lower()}-" for name in LIBRARIES)
    names = {entry.name for folder in map(Path, sys.path) if folder.is_dir() for entry in folder.iterdir()}
    return sorted(name for name in names if name.lower().startswith(ours) and name.endswith(("-info", ".egg")))


def sum_of(*things: object) -> str:
    """The SHA-256 of what things are, by their ``repr``."""
    return hashlib.sha256(repr(things).encode("utf-8", "surrogatepass")).hexdigest()
