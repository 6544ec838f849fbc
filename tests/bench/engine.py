"""Grading, measuring and balancing many hands beside bare numpy, one thread; and how that grows with the sizes.

Run as a process of its own: python tests/bench/engine.py prints its figures as JSON.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

import numpy as np
from numpy.typing import NDArray

from grading.drafting.scenario import demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.geometry.beziers import WEIGHTS
from grading.model.block import Block
from grading.model.sizes import SizeTable
from grading.readings.measures import measured

__all__ = ["figures"]

Floats = NDArray[np.float64]
HANDS, GROWTH, TIMES = 10_000, (100, 1_000, 10_000), 9


def figures() -> dict[str, object]:
    """Seconds of the engine and of the floor, in turns; and the engine's growth as a log-log slope."""
    block = demo_block()
    table = _hands(HANDS)
    floor = _floor(balanced(grade(block, table)))
    ours, least = [], []
    for _ in range(TIMES + 1):
        ours.append(_seconds(lambda: _engine(block, table)))
        least.append(_seconds(floor))
    grown = [
        median(_seconds(lambda t=t: _engine(block, t)) for _ in range(TIMES))  # type: ignore[misc]
        for t in map(_hands, GROWTH)
    ]
    run = grade(block, table)
    return {
        "hands": HANDS,
        "points": sum(len(piece.shape.names) for piece in run.pieces.values()),
        "drivers": len(block.values),
        "measures": len(measured(grade(block, _hands(2))).measures),
        "engine_s": round(median(ours[1:]), 4),
        "floor_s": round(median(least[1:]), 4),
        "ratio": round(median(a / b for a, b in zip(ours[1:], least[1:], strict=True)), 2),
        "growth": {
            "sizes": list(GROWTH),
            "seconds": [round(one, 4) for one in grown],
            "slope": round(float(np.polyfit(np.log(GROWTH), np.log(grown), 1)[0]), 3),
            "steepest": round(float(np.max(np.diff(np.log(grown)) / np.diff(np.log(GROWTH)))), 3),
        },
    }


def _engine(block: Block, table: SizeTable) -> None:
    measured(balanced(grade(block, table)))


def _floor(run: SizeRun) -> Callable[[], None]:
    """The one array product and each measured length once, on matrices made ready beforehand.

    A width across is a length of two evaluated points; a length along, or a side of a seam that is balanced, is
    the quadrature that the engine too comes to.
    """
    start = np.concatenate([piece.shape.points.ravel() for piece in run.pieces.values()])
    rules = np.concatenate([piece.shape.rules.reshape(len(run.drivers.base), -1) for piece in run.pieces.values()], 1)
    change = run.drivers.change
    firsts = dict(zip(run.pieces, np.cumsum([0, *(2 * len(p.shape.names) for p in run.pieces.values())]), strict=False))
    straight: list[tuple[Floats, Floats]] = []
    along: list[tuple[Floats, Floats]] = []

    def difference(piece: str, a: str, b: str) -> None:
        """The two rows that give b − a in x and in y."""
        rows = np.zeros((2, len(start)))
        for name, sign in ((a, -1.0), (b, 1.0)):
            for axis in (0, 1):
                plain = name.removesuffix("'")
                turned = -1.0 if axis == 0 and name.endswith("'") else 1.0
                rows[axis, firsts[piece] + 2 * run.pieces[piece].shape.names.index(plain) + axis] += sign * turned
        straight.append((rows[0], rows[1]))

    def walked(piece: str, loop: str, segments: NDArray[np.intp]) -> None:
        """The rows that give the derivative at every node of some segments."""
        shape = run.pieces[piece].shape
        own = np.zeros((2, len(start), len(segments) * len(WEIGHTS)))
        for column in range(len(shape.names)):
            unit = np.zeros((1, len(shape.names), 2))
            unit[0, column] = 1
            nodes = shape.loops[loop].velocities(unit, segments)[..., 0]
            for axis in (0, 1):
                own[axis, firsts[piece] + 2 * column + axis] = nodes[axis]
        used = np.flatnonzero(own.any(axis=(0, 2)))
        along.append((used, own[:, used]))

    for measure in measured(run).measures:
        shape = run.pieces[measure.piece].shape
        if measure.how == "along":
            loop = run.pieces[measure.piece].loop_of(measure.start)
            walked(measure.piece, loop, shape.loops[loop].segments(measure.start, measure.end))
        elif measure.how == "perimeter":
            loop = measure.start or "boundary"
            walked(measure.piece, loop, np.arange(len(shape.loops[loop].names)))
        else:
            end = measure.end if measure.end in shape.names else next(n for n in shape.names if n != measure.start)
            difference(measure.piece, measure.start, end)
    for seam in run.block.seams:
        for side in (seam.side_a, seam.side_b) if seam.balance else ():
            for edge in side.edges:
                stretch = run.pieces[side.piece].shape.edges[edge]
                walked(side.piece, stretch.loop, stretch.segments)
    apart = np.stack([np.stack(pair) for pair in straight], axis=1)

    def once() -> None:
        points = start + change @ rules
        across, up = points @ apart[0].T, points @ apart[1].T
        np.sqrt(across * across + up * up)
        for used, nodes in along:
            own = points[:, used]
            x, y = own @ nodes[0], own @ nodes[1]
            np.sqrt(x * x + y * y) @ np.tile(WEIGHTS, nodes.shape[2] // len(WEIGHTS))

    return once


def _hands(count: int) -> SizeTable:
    """So many hands, each its own: between the first of the women's sizes and the last, and a little off the line."""
    women = demo_sizes()[0]
    random = np.random.default_rng(8)
    part = random.random(count)
    values = women.values[:, :1] + (women.values[:, -1:] - women.values[:, :1]) * part
    values *= 1 + 0.01 * random.standard_normal(values.shape)
    return replace(women, sizes=tuple(f"hand {i}" for i in range(count)), values=values)


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


if __name__ == "__main__":
    print(json.dumps(figures()))
