"""'grading run --watch': run again whenever a workbook was saved, until Ctrl+C."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from grading.asked import Tables
from grading.cli.telling import say

__all__ = ["watch"]

#: Seconds between two looks at the workbooks, and for how long a file that cannot be read is taken for half saved.
LOOK_EVERY, PATIENCE = 0.03, 10.0

#: What a look sees of each workbook: when it was changed and its size, None where it is not there.
Seen = dict[Path, tuple[int, int] | None]


def watch(run: Callable[[], None], make_ready: Callable[[], None], tables: Tables) -> None:
    """Call ``run`` now and after each change of the tables, as soon as what was saved can be read.

    ``make_ready`` is called once, while the first change is waited for.

    Returns at Ctrl+C. A workbook that is just being saved may be missing, incomplete or locked: it is waited for. If it
    stays so, ``run`` is called all the same, and tells what is wrong with it.
    """
    seen: Seen = {}
    changed_at = 0.0
    try:
        while True:
            now = _look(tables)
            if now != seen:
                first = not seen
                if not first:
                    changed = {path.name for path in {*seen, *now} if seen.get(path) != now.get(path)}
                    say(f"{time.strftime('%H:%M:%S')} saved: {', '.join(sorted(changed))}")
                changed_at = time.monotonic()
                while not all(map(_whole, now)) and time.monotonic() - changed_at < PATIENCE:
                    time.sleep(LOOK_EVERY)
                    now = _look(tables)
                seen = now
                run()
                say("Watching the tables; Ctrl+C ends it.")
                if first:
                    make_ready()
            time.sleep(LOOK_EVERY)
    except KeyboardInterrupt:
        say("\nStopped watching.")


def _look(tables: Tables) -> Seen:
    return {path: _stamp(path) for path in tables.files}


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size


def _whole(path: Path) -> bool:
    """Whether a file can be opened and, if it is a workbook, is saved to its end."""
    try:
        data = path.read_bytes()
    except OSError:
        return False
    # A zip archive ends with its list of parts (PKWARE APPNOTE, 4.3.16), but for a remark of up to 64 kB.
    return bool(data) and (path.suffix.lower() not in (".xlsx", ".xlsm", ".ods") or b"PK\x05\x06" in data[-66_000:])
