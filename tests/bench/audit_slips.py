"""How many slips the audit of a table finds, how many honest tables it accuses; by kind and by habit.

Run by itself: python tests/bench/audit_slips.py [chance] [slips of a kind and habit]. The chances 1 to 7 are those
that the rules were made with; 8 was kept back for a last honest reading.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "habits"))

from habits import HABITS
from measuring import measured
from slips import KINDS


def main(chance: int = 1, times: int = 10) -> None:
    began = time.perf_counter()
    tally = measured(chance, times)
    print(tally.shown())
    print(f"{len(HABITS)} habits, {len(KINDS)} kinds of slip, chance {chance}; {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
