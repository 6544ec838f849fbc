"""Seams walked on sew lines: how long each side is in every size, and how much of it has to be eased in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from grading.engine.balance import resolve, seam_target
from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.model.block import Amount, Seam, Side

__all__ = ["WalkedSeam", "walked_seams"]


@dataclass(frozen=True, eq=False)
class WalkedSeam:
    """One seam in every size, all (sizes,) in mm; ``ease`` is side A less side B, signed.

    ``least`` and ``most`` are the bounds that the block sets the ease, NaN where it sets none; ``target`` is what
    it aims at, or the ease of the block as drafted.
    """

    seam: Seam
    side_a: Floats
    side_b: Floats
    least: Floats
    most: Floats
    target: Floats

    @property
    def ease(self) -> Floats:
        ease: Floats = self.side_a - self.side_b
        return ease


def walked_seams(run: SizeRun) -> tuple[WalkedSeam, ...]:
    """Every seam of the run's block, in the block's order."""
    return tuple(_walked(run, seam) for seam in run.block.seams)


def _walked(run: SizeRun, seam: Seam) -> WalkedSeam:
    side_a, side_b = (_length(run, side) for side in (seam.side_a, seam.side_b))

    def bound(amount: Amount | None) -> Floats:
        if amount is None:
            return np.full(len(run.sizes), np.nan)
        mm, part = resolve(amount, run.drivers)
        return mm + part * side_b

    mm, part = seam_target(run, seam)
    return WalkedSeam(seam, side_a, side_b, bound(seam.least), bound(seam.most), mm + part * side_b)


def _length(run: SizeRun, side: Side) -> Floats:
    """The length (sizes,) of the edges of one side together."""
    lengths = [run.pieces[side.piece].edge_lengths(edge) for edge in side.edges]
    total: Floats = np.sum(lengths, axis=0)
    return total
