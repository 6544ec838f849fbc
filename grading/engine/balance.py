"""Seam balance: the figure of each balance driver at which its seams have their target ease, in every size at once.

The speed of a sew line at a quadrature node is the length of a vector that is linear in the driver, so its square
is a parabola whose three terms are computed once; a length is a weighted sum of the roots of such parabolas, hence
convex in the driver. Newton's steps on the branch where the length grows then cost a few operations a node.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from grading.engine.grade import Drivers
from grading.engine.run import Balance, GradedPiece, SizeRun, regraded
from grading.geometry.arrays import Floats, product_by_size
from grading.geometry.beziers import WEIGHTS
from grading.model.block import Amount, Kind, Seam, Side

__all__ = ["balanced", "resolve", "seam_target"]

#: Newton stops where no size is further than this from its target, mm; a hundredth of the audit's tightest bound.
CLOSE = 1e-6


def balanced(run: SizeRun) -> SizeRun:
    """The run with every balance driver that a seam names solved for, size by size; pieces move by its rules only.

    Drivers are solved one after another in the block's order.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> from grading.engine.run import grade
    >>> for balance in balanced(grade(demo_block(), demo_sizes()[0])).balances:
    ...     print(balance.driver, balance.solved.shape, abs(balance.missed).max() < 0.001)
    foot fullness (6,) True
    """
    for column, value in enumerate(run.block.values):
        seams = [seam for seam in run.block.seams if seam.balance == value.name]
        if value.kind is not Kind.BALANCE or not seams:
            continue
        excess = _Excess.of(run, column, seams)
        change, missed = excess.solve(value.least - value.drafted, value.most - value.drafted)
        values = run.drivers.values.copy()
        values[:, column] = value.drafted + change
        balance = Balance(value.name, tuple(seam.name for seam in seams), values[:, column], missed)
        run = regraded(run, replace(run.drivers, values=values), (*run.balances, balance))
    return run


def seam_target(run: SizeRun, seam: Seam) -> tuple[Floats | float, float]:
    """A seam's target ease as (mm, part of side B); where the block names none it is the base's own, in mm."""
    if seam.target is None:
        a, b = (sum(run.pieces[side.piece].shape.drafted_length(edge) for edge in side.edges) for side in seam.sides)
        return a - b, 0.0
    return resolve(seam.target, run.drivers)


def resolve(amount: Amount, drivers: Drivers) -> tuple[Floats | float, float]:
    """An amount as (mm, part of the other side); a named allowance gives its figure in every size."""
    return (drivers[amount.allowance] if amount.allowance else amount.mm), amount.part


@dataclass(frozen=True, eq=False)
class _Excess:
    """Ease over target as a function of the driver's change f: Σ w √(c + b f + a f²) − fixed, a weight a node.

    ``a`` (nodes, 1), ``b`` and ``c`` (nodes, sizes), ``weights`` (nodes,), ``fixed`` (sizes,).
    """

    a: Floats
    b: Floats
    c: Floats
    weights: Floats
    fixed: Floats

    @classmethod
    def of(cls, run: SizeRun, column: int, seams: list[Seam]) -> _Excess:
        start = run.drivers.change[:, column]
        parts, fixed = [], np.zeros(len(run.sizes))
        for seam in seams:
            mm, part = seam_target(run, seam)
            fixed = fixed + mm
            for side, weight in ((seam.side_a, 1.0), (seam.side_b, -1.0 - part)):
                for (x, y), (dx, dy) in _velocities(run.pieces[side.piece], side, column):
                    x, y = x - start * dx, y - start * dy
                    weights = np.tile(WEIGHTS, len(dx) // len(WEIGHTS)) * weight
                    parts.append((dx * dx + dy * dy, 2 * (x * dx + y * dy), x * x + y * y, weights))
        a, b, c, weights = (np.concatenate(terms) for terms in zip(*parts, strict=True))
        rigid = a[:, 0] == 0
        fixed = fixed - product_by_size("n,ns->s", weights[rigid], np.sqrt(c[rigid]))
        return cls(a[~rigid], b[~rigid], c[~rigid], weights[~rigid], fixed)

    def at(self, f: Floats) -> tuple[Floats, Floats]:
        """The excess and its slope (sizes,) at f (sizes,)."""
        speed = np.sqrt(np.maximum(self.c + f * (self.b + f * self.a), 1e-300))
        slope = (self.b / 2 + f * self.a) / speed
        along, by_driver = (product_by_size("n,ns->s", self.weights, of) for of in (speed, slope))
        return along - self.fixed, by_driver

    def solve(self, least: float, most: float) -> tuple[Floats, Floats]:
        """The change on the growing branch within bounds and what the ease still misses, each (sizes,)."""
        low = self._growing_from(np.full(len(self.fixed), least), most)
        high = np.full(len(self.fixed), most)
        f = np.clip(np.zeros(len(self.fixed)), low, high)
        for _ in range(50):
            value, slope = self.at(f)
            with np.errstate(divide="ignore", invalid="ignore"):
                step = np.where(slope > 0, value / slope, np.where(value < 0, -np.inf, np.inf))
            after = np.clip(f - step, low, high)
            done = (np.abs(value) < CLOSE) | (after == f)
            f = np.where(done, f, after)
            if done.all():
                break
        missed = self.at(f)[0]
        return f, np.where(np.abs(missed) < CLOSE, 0.0, missed)

    def _growing_from(self, low: Floats, most: float) -> Floats:
        """Where the growing branch begins: ``low``, or the change at the least length where that lies above it."""
        falls = self.at(low)[1] < 0
        if not falls.any():
            return low
        left, right = low, np.where(falls, most, low)
        for _ in range(50):
            middle = (left + right) / 2
            falls = self.at(middle)[1] < 0
            left, right = np.where(falls, middle, left), np.where(falls, right, middle)
        return right


def _velocities(piece: GradedPiece, side: Side, column: int) -> list[tuple[Floats, Floats]]:
    """For each edge of a side the velocities (2, nodes, sizes) and what one unit of a driver adds (2, nodes, 1)."""
    pairs = []
    for edge in side.edges:
        stretch = piece.shape.edges[edge]
        loop = piece.loops[stretch.loop]
        moved = loop.velocities(piece.shape.rules[None, column], stretch.segments)
        pairs.append((loop.velocities(piece.points, stretch.segments), moved))
    return pairs
