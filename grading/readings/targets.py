"""What a finished piece is measured against: each measure's figure and tolerances, as a sheet shows them."""

from __future__ import annotations

from dataclasses import dataclass

from grading.engine.run import SizeRun
from grading.model.block import Measure
from grading.readings.measures import measured
from grading.units import DECIMALS, MM_PER, rounded

__all__ = ["Target", "targets"]


@dataclass(frozen=True, slots=True)
class Target:
    """A measure in one size: ``shown`` is its figure, tolerance − and tolerance +, rounded as shown in ``unit``.

    Work is judged by what is shown: nobody can sew to a figure that they were not given.
    """

    measure: Measure
    shown: tuple[float, float, float]
    unit: str

    @property
    def mm(self) -> tuple[float, float, float]:
        """What is shown, in millimetres."""
        figure, minus, plus = (value * float(MM_PER[self.unit]) for value in self.shown)
        return figure, minus, plus


def targets(run: SizeRun, unit: str) -> list[tuple[Target, ...]]:
    """For each size of a run the targets of its finished measures, in the block's order."""
    found = measured(run)

    def shown(mm: float) -> float:
        # Rounded twice, or what is half-way but for the noise of floats would go either way.
        return rounded(round(mm / float(MM_PER[unit]), 6), DECIMALS[unit])

    return [
        tuple(
            Target(
                measure,
                (shown(value), shown(measure.tolerance_minus or 0.0), shown(measure.tolerance_plus or 0.0)),
                unit,
            )
            for measure, value in zip(found.measures, found.values[:, size].tolist(), strict=True)
        )
        for size in range(len(run.sizes))
    ]
