"""Points of measure: what each finished measure comes to in every size, taken on the sew lines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.measuring.ways import WAYS
from grading.model.block import Measure

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Measured", "measured", "taken"]


@dataclass(frozen=True, eq=False)
class Measured:
    """Measures of a run: ``values`` (measures, sizes) in mm, rows in the order of ``measures``.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> from grading.engine.run import grade
    >>> figures = measured(grade(demo_block(), demo_sizes()[0]))
    >>> figures.frame().shape == (len(figures.measures), 6)
    True
    """

    measures: tuple[Measure, ...]
    sizes: tuple[str, ...]
    values: Floats

    def __repr__(self) -> str:
        return f"<Measured: {len(self.measures)} measures, sizes {', '.join(self.sizes)}>"

    def frame(self) -> pd.DataFrame:
        """The figures in mm, angles in degrees: one row a measure and one column a size."""
        import pandas as pd  # slow to import, and a run needs none

        rows = pd.Index(self.names, name="measure")
        return pd.DataFrame(self.values, index=rows, columns=pd.Index(self.sizes, name="size"))

    def __getitem__(self, name: str) -> Floats:
        """One measure in every size. Raises KeyError for an unknown one."""
        rows: dict[str, Floats] = dict(zip(self.names, self.values, strict=True))
        return rows[name]

    def __contains__(self, name: str) -> bool:
        return name in self.names

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(measure.name for measure in self.measures)


def measured(run: SizeRun) -> Measured:
    """The finished measures of a run, those with tolerances: what the spec sheet asks a maker to measure."""
    return taken(run, [measure for measure in run.block.measures if measure.tolerance is not None])


def taken(run: SizeRun, measures: Iterable[Measure]) -> Measured:
    """Some measures in every size, in mm: the length found times the measure's own factor."""
    measures = tuple(measures)
    rows = [WAYS[m.how].taken(run.pieces[m.piece], m.start, m.end) * m.times for m in measures]
    return Measured(measures, run.sizes, np.array(rows).reshape(len(rows), len(run.sizes)))
