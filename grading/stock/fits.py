"""Which fists and hand lengths each size fits: half a step either side, as far as its ease leaves room to move."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.model.stock import Terms
from grading.readings.measures import measured

__all__ = ["Fit", "Fits", "fits", "length_fits"]


@dataclass(frozen=True, slots=True)
class Fit:
    """The girths or lengths that a size fits, from ``least`` to ``most``, and its ``own``, mm."""

    size: str
    own: float
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Fits:
    """What each size of a group fits, smaller ones first: where one ends, the next begins.

    ``by`` is the measurement that is meant, ``by_ease`` says that some size ends sooner than half-way to the next.
    """

    group: str
    by: str
    sizes: tuple[Fit, ...]
    by_ease: bool

    def __getitem__(self, size: str) -> Fit:
        """The fit of that size. Raises KeyError."""
        return {fit.size: fit for fit in self.sizes}[size]


def fits(run: SizeRun, terms: Terms) -> Fits | None:
    """Whom each size of a run fits; None if its table lacks the measurement that fists are told by.

    A size reaches half a step beyond its girth. It ends before that where less than the ``room_to_move`` would be left
    of the ease, which is what the pattern measures round the fist less the fist, and of which the material takes its
    part; but never below its own girth. The next size begins there. The first begins where a size a step smaller would
    end, and the ease is that of the pattern's first measure that follows the fist; without such a measure only half
    steps count.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> from grading.drafting.stock_scenario import demo_stock
    >>> from grading.engine.run import grade
    >>> found = fits(grade(demo_block("Women"), demo_sizes()[0]), demo_stock().terms)
    >>> [(fit.size, fit.least, fit.own, fit.most) for fit in found.sizes][:2]
    [('W1', 174.0, 180.0, 186.0), ('W2', 186.0, 192.0, 198.0)]
    """
    girths = run.table.row(terms.fist_row)
    return None if girths is None else _ranges(run, terms.fist_row, girths, _room(run, terms), terms.girth_tolerance)


def length_fits(run: SizeRun, terms: Terms) -> Fits | None:
    """The hand lengths that each size of a run fits, half a step either side; None if no measure of it follows them.

    What is closed over the finger tips is made to the hand's length; what is open there is not.
    """
    lengths = run.table.row(terms.length_row)
    if lengths is None or not any(measure.follows == terms.length_row for measure in run.block.measures):
        return None
    return _ranges(run, terms.length_row, lengths, np.full(len(lengths), np.inf), terms.length_tolerance)


def _ranges(run: SizeRun, by: str, figures: Floats, left: Floats, tolerance: float) -> Fits:
    """What each size fits by figures (sizes,), each at most ``left`` (sizes,) mm larger; a lone one by a tolerance."""
    order = np.argsort(figures, kind="stable")
    own = figures[order]
    steps = np.diff(own) if len(own) > 1 else np.array([2 * tolerance])
    half = np.append(steps, steps[-1]) / 2
    reach = np.clip(left[order], 0.0, half)
    most = own + reach
    first = own[0] - steps[0] + min(reach[0], steps[0] / 2)
    least = np.append(first, most[:-1])
    sizes = tuple(
        Fit(run.sizes[number], *map(float, (own[place], least[place], most[place])))
        for place, number in enumerate(order.tolist())
    )
    return Fits(run.group, by, sizes, bool(np.any(reach < half - 1e-9)))


def _room(run: SizeRun, terms: Terms) -> Floats:
    """How much larger than its own each size's fist may be, mm (sizes,): its ease, less what is taken and left."""
    measures, girths = measured(run), run.table.row(terms.fist_row)
    following = [
        one for one in measures.measures if one.follows == terms.fist_row and one.tells_size and one.follows_share
    ]
    if not following or girths is None:
        return np.full(len(run.sizes), np.inf)
    round_ = measures[following[0].name] / following[0].follows_share
    return round_ - girths - run.block.material_takes - terms.room_to_move
