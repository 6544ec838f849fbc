"""Prints what becomes of wrong but plausible changes to the demo's tables.

'python tests/sweep' tries all of them, which takes some ten minutes; 'python tests/sweep 20' every 20th, and
'python tests/sweep 1 Moves Points' all of those sheets. A change is made again by its number:
'python tests/sweep =8943'.
"""

from __future__ import annotations

import sys

from telling import crashes, harmful, table
from verdicts import LATENT, Sweep, Verdict


def main(words: list[str]) -> None:
    sweep = Sweep()
    if words and words[0].startswith("="):
        verdict = sweep.verdict(sweep.changes[int(words[0][1:]) - 1])
        print(f"{verdict}\n{verdict.told or f'silent, {verdict.kind}'} {', '.join(verdict.codes)}")
        return
    tried = [change for change in sweep.changes if not words[1:] or change.sheet in words[1:]]
    verdicts = list(_tried(sweep, tried[:: int(words[0]) if words else 1]))
    print(f"{len(verdicts)} of {len(sweep.changes)} changes\n\n{table(verdicts)}")
    print("\n## Crashes\n\n" + crashes(verdicts))
    print("\n## Silent and harmful\n\n" + harmful(verdicts))
    print("\n## Silent until an allowance is changed\n\n" + harmful(verdicts, LATENT))


def _tried(sweep: Sweep, changes: list) -> list[Verdict]:
    verdicts = []
    for number, change in enumerate(changes, 1):
        verdicts.append(sweep.verdict(change))
        if number % 100 == 0 and sys.stderr.isatty():
            print(f"\r{number} of {len(changes)}", end="", file=sys.stderr)
    return verdicts


main(sys.argv[1:])
