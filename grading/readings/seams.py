"""Seams walked on sew lines: how long each side is in every size, and how much of it has to be eased in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from grading.engine.balance import resolve, seam_target
from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.model.block import Amount, Seam, Side

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["WalkedSeam", "WalkedSeams", "walked_seams"]


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

    def __repr__(self) -> str:
        return f"<WalkedSeam {self.seam.name}: {len(self.side_a)} sizes>"

    @property
    def ease(self) -> Floats:
        return self.side_a - self.side_b

    @property
    def where_it_lies(self) -> Floats:
        """The ease as a share (sizes,) of that part of side B along which it is taken up."""
        return self.ease / (self.side_b * (1 - self.seam.without_ease))


class WalkedSeams(tuple[WalkedSeam, ...]):
    """The seams of a run, in the block's order, and the names of its ``sizes``."""

    sizes: tuple[str, ...]

    def __repr__(self) -> str:
        return f"<WalkedSeams: {', '.join(one.seam.name for one in self)}>"

    def frame(self) -> pd.DataFrame:
        """All in mm: one row a seam and size; lengths of side A and side B, ease, and what it is held to.

        A bound that the block does not set is NaN.
        """
        import pandas as pd  # slow to import, and a run needs none

        keys = [(one.seam.name, size) for one in self for size in self.sizes]
        columns = ("side_a", "side_b", "ease", "least", "most", "target")
        figures = {
            column.replace("_", " "): np.concatenate([np.zeros(0), *(getattr(one, column) for one in self)])
            for column in columns
        }
        return pd.DataFrame(figures, index=pd.MultiIndex.from_tuples(keys, names=("seam", "size")))


def walked_seams(run: SizeRun) -> WalkedSeams:
    """Every seam of the run's block, in the block's order.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> from grading.engine.balance import balanced
    >>> from grading.engine.run import grade
    >>> run = balanced(grade(demo_block(), demo_sizes()[0]))
    >>> seams = walked_seams(run).frame()
    >>> bool(seams.loc["side seam", "ease"].abs().max() < 0.01)
    True
    """
    seams = WalkedSeams(_walked_seam(run, seam) for seam in run.block.seams)
    seams.sizes = run.sizes
    return seams


def _walked_seam(run: SizeRun, seam: Seam) -> WalkedSeam:
    side_a, side_b = (_side_length(run, side) for side in seam.sides)

    def bound(amount: Amount | None) -> Floats:
        if amount is None:
            return np.full(len(run.sizes), np.nan)
        mm, part = resolve(amount, run.drivers)
        return mm + part * side_b

    mm, part = seam_target(run, seam)
    return WalkedSeam(seam, side_a, side_b, bound(seam.least), bound(seam.most), mm + part * side_b)


def _side_length(run: SizeRun, side: Side) -> Floats:
    """The length (sizes,) of the edges of one side together."""
    lengths = [run.pieces[side.piece].edge_lengths(edge) for edge in side.edges]
    total: Floats = np.sum(lengths, axis=0)
    return total
