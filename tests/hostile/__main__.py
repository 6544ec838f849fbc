"""Prints how many attacks of each class were tried and failed, the slowest and the most memory.

'python tests/hostile 400' makes 400 of each class, 'python tests/hostile 50 drawings' of that one, and
'python tests/hostile =17 drawings' the seventeenth of it, with all that it says.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from attacks import CLASSES, Ended, Workshop


def _tried(kind: str, numbers: Sequence[int]) -> tuple[list[tuple[int, Ended]], float]:
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        workshop = Workshop(Path(folder))
        ended = [(number, workshop.tried(kind, number)) for number in numbers]
        os.chdir("/")
    return ended, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main(words: list[str]) -> None:
    count, kinds = words[0] if words else "100", words[1:] or CLASSES
    numbers = [int(count[1:])] if count.startswith("=") else range(int(count))
    print(f"{'class':28}{'tried':>7}{'refused':>9}{'failed':>8}{'slowest s':>11}{'most MB':>9}")
    failed = []
    with multiprocessing.get_context("fork").Pool(1, maxtasksperchild=1) as pool:
        for kind in kinds:
            ended, most = pool.apply(_tried, (kind, numbers))
            wrong = [(kind, number, one) for number, one in ended if one.wrong]
            refused = sum(one.status != 0 for _, one in ended)
            slowest = max(one.seconds for _, one in ended)
            print(f"{kind:28}{len(ended):7}{refused:9}{len(wrong):8}{slowest:11.1f}{most:9.0f}", flush=True)
            failed += wrong
    for kind, number, one in failed:
        print(f"\n{kind} {number}: {' '.join(one.words)}\n    {one.wrong}")


if __name__ == "__main__":
    main(sys.argv[1:])
