"""Call a function on several things at once, on as many processors as the program may use."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from threading import Thread
from typing import Any, Protocol, TypeVar

__all__ = ["Each", "at_once", "in_turn"]

Result = TypeVar("Result")


class Each(Protocol):
    """Called as the builtin ``map`` is; the results come in the order of the things."""

    def __call__(self, function: Callable[..., Result], /, *things: Iterable[Any]) -> Iterator[Result]: ...


def in_turn(function: Callable[..., Result], /, *things: Iterable[Any]) -> Iterator[Result]:
    """The builtin ``map``: calls when a result is asked for."""
    return map(function, *things)


@contextmanager
def at_once(processors: int | None = None) -> Iterator[Each]:
    """A ``map`` whose calls run in processes of their own, as many as there are processors unless told otherwise.

    Function, arguments and results have to be such as `pickle` takes. With one processor, and on systems that cannot
    safely fork a process, it is ``in_turn``. Leaving gives up the calls
    that have not begun.
    """
    # What was imported stays for good: neither this process nor those forked from it need walk through it for garbage.
    gc.freeze()
    processors = processors or _usable()
    if processors < 2:
        yield in_turn
        return
    pool = ProcessPoolExecutor(processors, multiprocessing.get_context("fork"), _begin)
    try:
        yield pool.map
    finally:
        pool.shutdown(cancel_futures=True)


def _usable() -> int:
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1


def _begin() -> None:
    """In a new process: leave Ctrl+C to the program that began it, and end when that ends, however it does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    assert parent is not None
    parent.join()
    os._exit(1)
