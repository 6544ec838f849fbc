"""The last resort: a fault of the program is told in three lines, and its details are written into a file."""

from __future__ import annotations

import datetime as dt
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import NoReturn

from grading.asked import LIBRARIES
from grading.cli.telling import as_typed, say
from grading.version import __version__

__all__ = ["STATUS", "end_with_fault"]

#: What the program ends with where it is itself at fault.
STATUS = 3


def end_with_fault(fault: Exception, words: Sequence[str]) -> NoReturn:
    """Say what the program was doing, that the tables are not at fault, and where the details are, and end it."""
    where = _kept(_details(fault, words))
    kept = f"Please send this file along to whoever looks after the program: {where}"
    say(f"'{as_typed('grading', *words)}' came to a fault of the program ({type(fault).__name__}).", err=True)
    say("Your tables are not at fault, and no file was left half written.", err=True)
    say(kept if where else f"The details could not be kept: {fault}", err=True)
    sys.exit(STATUS)


def _details(fault: Exception, words: Sequence[str]) -> str:
    """All that is needed to find the fault. No figure of the tables is in it, but for one that the fault names."""
    lines = [
        as_typed("grading", *words),
        f"grading {__version__}, Python {platform.python_version()}, {platform.platform()}",
        ", ".join(f"{name} {_version(name)}" for name in LIBRARIES),
        "",
        *traceback.format_exception(fault),
    ]
    return "\n".join(line.rstrip("\n") for line in lines) + "\n"


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "missing"


def _kept(details: str) -> Path | None:
    """Write the details here, else into the folder for temporary files; returns where, None if neither could be."""
    name = f"grading fault {dt.datetime.now():%Y-%m-%d %H%M%S}.txt"
    for folder in (Path.cwd, lambda: Path(tempfile.gettempdir())):
        try:
            path = folder() / name
            with path.open("x", encoding="utf-8", errors="backslashreplace") as file:
                file.write(details)
            return path
        except OSError:
            continue
    return None
