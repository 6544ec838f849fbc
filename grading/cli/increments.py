"""Increments as they are printed: a table with marks, a small chart for each row, and figures that are suspected."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from fractions import Fraction

import numpy as np

from grading.audit.increments import Increments
from grading.cli.telling import columns, parted
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.findings import counted
from grading.geometry.arrays import Floats
from grading.model.names import Names, plain_words
from grading.units import UNIT_WORDS, as_shown, show

__all__ = ["increments_told", "sparkline"]

#: Heights of a step from nothing to the largest of its row, and plainer signs for a console that lacks them.
BARS, PLAIN_BARS = "▁▂▃▄▅▆▇█", "12345678"
#: The names by which rows are known for body measurements.
BODY = Names(HOW_TO_MEASURE)
#: Words by which rows are known for finished measures.
_FINISHED = {"width", "widths", "opening", "openings", "finished", "seam", "seams"}
#: A step that falls.
FALLS = "-"


def increments_told(one: Increments, unit: str) -> str:
    """What was looked at, its increments in as many tables as the window's width takes, and what is suspected."""
    parts = [f"{one.group}: {_taken_for(one.names)} in {counted(len(one.sizes), 'size')}, {UNIT_WORDS[unit]}"]
    bars = BARS if _can_show(BARS) else PLAIN_BARS
    lines = (sparkline(steps, bars) for steps in one.steps)
    longest = max(map(len, one.names), default=0)
    names = [f"{name.ljust(longest)}  {line}" for name, line in zip(one.names, lines, strict=True)]
    columns_of_steps = [
        [f"to {one.sizes[number + 1]}", *_marked(steps, one.flagged[:, number + 1], unit)]
        for number, steps in enumerate(_steps_as_shown(one, unit))
    ]
    begun = [[one.sizes[0], *_marked(one.values[:, 0].tolist(), one.flagged[:, 0], unit)]]
    headings, *rows_of_steps = zip(["increment", *names], *begun, *columns_of_steps, strict=True)
    parts.append(parted(headings, rows_of_steps))
    if one.suspected:
        rows = [
            (suspicion.measurement, suspicion.size, show(suspicion.figure, unit), show(suspicion.regular, unit))
            for suspicion in one.suspected
        ]
        parts.append(columns(["suspected", "size", "figure", "regular"], rows))
    return "\n".join(parts)


def _taken_for(names: Sequence[str]) -> str:
    """In words, what the rows of a chart were taken for by their names."""
    body = sum(name in BODY for name in names)
    finished = body or any(_FINISHED.intersection(plain_words(name)) for name in names)
    told = [(body, "body measurement"), (len(names) - body, "finished measure" if finished else "row")]
    return " and ".join(counted(count, word) for count, word in told if count)


def sparkline(steps: Floats, bars: str = BARS) -> str:
    """A sign for each step, as high as it is a share of the row's largest, of eight ``bars`` from low to high.

    >>> sparkline(np.array([12.0, 12, 24, -1]))
    '▄▄█-'
    """
    largest = max(float(steps.max(initial=0)), 1e-9)
    return "".join(FALLS if step < -1e-9 else bars[max(round(step / largest * 8), 1) - 1] for step in steps.tolist())


def _can_show(text: str) -> bool:
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _steps_as_shown(one: Increments, unit: str) -> list[list[Fraction]]:
    """The steps to each size, worked out from figures as they are shown, so that they add up on paper."""
    shown = [[as_shown(mm, unit) for mm in row] for row in one.values.tolist()]
    return [[row[at + 1] - row[at] for row in shown] for at in range(len(one.sizes) - 1)]


def _marked(
    steps: Iterable[Fraction | float], flags: np.ndarray[tuple[int], np.dtype[np.bool_]], unit: str
) -> list[str]:
    return [show(step, unit) + ("!" if flag else " ") for step, flag in zip(steps, flags, strict=True)]
