"""What a finished piece is measured against: each measure's figure and tolerances, as a sheet shows them."""

from __future__ import annotations

from dataclasses import dataclass

from grading.engine.run import SizeRun
from grading.model.block import Measure
from grading.model.returns import TargetGiven
from grading.readings.measures import measured
from grading.units import MM_PER, as_shown, rounded, show

__all__ = ["Target", "targets"]


Lengths = tuple[float, float, float]

#: What a tape in each unit is read to, in that unit: as finely as figures are shown, and no finer.
_READ_TO = {"mm": 0.1, "cm": 0.01, "in": 1 / 16}


@dataclass(frozen=True, slots=True)
class Target:
    """A measure in one size: ``shown`` is its figure, tolerance − and tolerance +, as shown in ``unit``; ``drawn`` is
    the figure as graded, mm.

    Work is judged by what is shown: nobody can sew to a figure that they were not given. Inches go to sixteenths.
    """

    measure: Measure
    shown: Lengths
    unit: str
    drawn: float

    @property
    def mm(self) -> Lengths:
        """What is shown, in millimetres."""
        figure, minus, plus = (value * float(MM_PER[self.unit]) for value in self.shown)
        return figure, minus, plus

    @property
    def figure(self) -> str:
        """The figure as it is written."""
        return show(self.mm[0], self.unit) if self.unit == "in" else f"{self.shown[0]:g}"

    @property
    def bounds(self) -> Lengths:
        """The least that passes, the figure, and the most that passes, as shown."""
        figure, minus, plus = self.shown
        return round(figure - minus, 6), figure, round(figure + plus, 6)

    @property
    def apart(self) -> float:
        """How far left and right of a pair may differ, as shown: no finer than a tape is read."""
        most = TargetGiven(*self.mm, self.measure.pair_within).apart / float(MM_PER[self.unit])
        step = _READ_TO[self.unit]
        return round(step * max(1.0, rounded(most / step, 0)), 6)


def targets(run: SizeRun, unit: str) -> list[tuple[Target, ...]]:
    """For each size of a run the targets of its finished measures, in the block's order."""
    taken = measured(run)
    allowed = [
        (_tolerance(measure.tolerance_minus or 0.0, unit), _tolerance(measure.tolerance_plus or 0.0, unit))
        for measure in taken.measures
    ]
    return [
        tuple(
            Target(measure, (_shown(value, unit), *tolerances), unit, value)
            for measure, tolerances, value in zip(taken.measures, allowed, of_size, strict=True)
        )
        for of_size in taken.values.T.tolist()
    ]


def _shown(mm: float, unit: str) -> float:
    return float(as_shown(mm, unit) / MM_PER[unit])


def _tolerance(mm: float, unit: str) -> float:
    """As shown, but in inches a sixteenth at least: a tape tells no less."""
    return max(_shown(mm, unit), _READ_TO["in"]) if unit == "in" and mm else _shown(mm, unit)
