"""Runs programs as processes of their own, and takes their time and their peak memory."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = ["ROOT", "Taken", "run"]

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Taken:
    """What a process took: seconds on the clock, peak resident memory in MB, and what it printed."""

    seconds: float
    megabytes: float
    printed: str


def run(words: Sequence[str], environment: Mapping[str, str] | None = None) -> Taken:
    """Run this Python with the words given, in the repository. Raises RuntimeError where it does not end well."""
    # As on a maker's machine, what was imported once is compiled.
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *words],
        cwd=ROOT,
        env={**usual, **(environment or {})},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert process.stdout is not None
    printed = process.stdout.read()
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    process.stdout.close()
    if process.returncode != 0:
        raise RuntimeError(f"ended with status {process.returncode}: {' '.join(words)}\n{printed}")
    unit = 1 if sys.platform == "darwin" else 1024
    return Taken(seconds, used.ru_maxrss * unit / 1e6, printed)
