"""What an audit of a graded run looks at: the run and all that is read from it, each read once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import SupportsIndex

import numpy as np

from grading.engine.run import SizeRun
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.model.block import MATERIAL
from grading.readings.measures import Measured, measured
from grading.readings.seams import WalkedSeam, walked_seams

__all__ = ["RunRule", "Subject"]


@dataclass(frozen=True, eq=False)
class Subject:
    """A run under audit."""

    run: SizeRun

    @cached_property
    def measured(self) -> Measured:
        return measured(self.run)

    @cached_property
    def seams(self) -> tuple[WalkedSeam, ...]:
        return walked_seams(self.run)

    def figure(self, name: str) -> Floats:
        """What a limit may name, in every size (sizes,): a measurement, a driver, a measure, or the material's part.

        Raises KeyError for a name that is none of these.
        """
        row = self.run.table.row(name)
        if row is not None:
            return row
        if name in self.run.drivers:
            return self.run.drivers[name]
        if name.casefold() == MATERIAL:
            return np.full(len(self.run.sizes), self.run.block.material_takes)
        return self.measured[name]

    def place(self, size: SupportsIndex, **where: str) -> Place:
        """Where in the run a finding points."""
        return Place(group=self.run.group, size=self.run.sizes[size], **where)


RunRule = Callable[[Subject], Iterator[Finding]]
