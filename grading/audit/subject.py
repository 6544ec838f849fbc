"""What an audit of a graded run looks at: the run and all that is read from it, each read once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import SupportsIndex

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.engine.run import SizeRun
from grading.findings import Place
from grading.geometry.arrays import Floats
from grading.geometry.beziers import evaluate
from grading.model.block import LEATHER, LINING, MATERIAL
from grading.readings.measures import Measured, taken
from grading.readings.seams import WalkedSeam, walked_seams

__all__ = ["STEPS", "Subject"]

#: Points a segment where a curve is drawn as chords; it leaves them by far less than it misses a neighbour.
STEPS = np.linspace(0, 1, 9)[:-1]


@dataclass(frozen=True, eq=False)
class Subject:
    """A run under audit."""

    run: SizeRun

    @cached_property
    def measured(self) -> Measured:
        """Every measure of the block, those that stand on no spec sheet with them."""
        return taken(self.run, self.run.block.measures)

    @cached_property
    def seams(self) -> tuple[WalkedSeam, ...]:
        return walked_seams(self.run)

    @cached_property
    def ordered(self) -> bool:
        """Whether each size is larger than the one before it, by the table's first measurement; hands need not be."""
        return bool(np.all(np.diff(self.run.table.values[0]) > 0))

    @cached_property
    def rings(self) -> Mapping[tuple[str, str], NDArray[np.object_]]:
        """Every loop as polygons, one a size, by piece and loop."""
        return {
            (name, loop): shapely.polygons(evaluate(beziers, STEPS).reshape(len(beziers), -1, 2))
            for name, piece in self.run.pieces.items()
            for loop, beziers in piece.beziers.items()
        }

    def figure(self, name: str) -> Floats:
        """What a limit may name, in every size (sizes,): a measurement, a driver, a measure, a seam type's allowance,
        the material's part, the leather's, or the lining's.

        Raises KeyError for a name that is none of these.
        """
        row = self.run.table.row(name)
        if row is not None:
            return row
        if name in self.run.drivers:
            return self.run.drivers[name]
        block = self.run.block
        fixed = {kind.name: kind.allowance for kind in block.seam_types if kind.name not in self.measured}
        fixed |= {MATERIAL: block.material_takes, LEATHER: block.leather_takes, LINING: block.lining_takes}
        return np.full(len(self.run.sizes), fixed[name]) if name in fixed else self.measured[name]

    def place_of(self, name: str) -> Place:
        """Where the figure stands that is the same in every size: an allowance of the table or block, a seam type."""
        if self.run.table.row(name) is not None:
            return self.run.table.place(name)
        kinds = [kind for kind in self.run.block.seam_types if kind.name == name]
        value = self.run.block.value(name)
        where = value.place if value is not None else kinds[0].place if kinds else Place()
        return replace(where, group=self.run.group, measure=name)

    def place(self, size: SupportsIndex, **where: str) -> Place:
        """Where in the run a finding points."""
        return Place(group=self.run.group, size=self.run.sizes[size], **where)
