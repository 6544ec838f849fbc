"""What explains a row of a size table without one of its figures: lines, curves, the steps all rows share, other rows.

The steps that rows share are fitted by alternating robust regressions (Croux, Filzmoser, Pison, Rousseeuw 2003,
Statistics and Computing 13:23–36). Each witness is a linear model whose coefficients are normal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats

__all__ = ["FEW", "NEAR", "Figures", "Mask", "roundings", "steepness", "witnesses"]

Mask = NDArray[np.bool_]

INCH = 25.4
#: The steps to which figures are rounded, coarsest first, mm: whole and part millimetres and inches.
ROUNDINGS = np.array(
    [50, INCH, 20, INCH / 2, 10, INCH / 4, 5, INCH / 8, INCH / 10, 2, INCH / 16, 1, 0.5, INCH / 100, 0.1]
)
#: A figure this near to a multiple of a rounding step is one, mm.
NEAR = 0.002
#: How a kind of witness is weighed before anything is looked at.
WEIGHTS = {
    "line": 0.30,
    "chosen step": 0.15,
    "curve": 0.05,
    "bend": 0.05,
    "jump": 0.03,
    "two lines": 0.02,
    "ladder": 0.35,
    "ladder and curve": 0.05,
    "another row": 0.15,
    "another family": 0.50,
    "family alongside": 0.25,
}
#: How much a curve, a bend and a jump may come to, in steps of the row.
CURVED, BENT, JUMPED = 0.15, 0.7, 1.5
#: The least and the most that a row is thought to grow by from one size to the next, as a share of it.
GROWTH = 0.01, 0.15
#: No row grows by so large a share from size to size: one that seems to has a slip, and says nothing of the others.
IMPLAUSIBLE = 0.5
#: What a row is thought to grow by where no other row tells: as hands do from one stock size to the next (from memory).
USUAL_GROWTH = 0.06
#: How far a row's growth may be off what rows of its kind grow by, and off what others do, as a share.
ALIKE_IN_KIND, UNLIKE = 0.3, 0.5
#: So many sizes are few: their steps tell little of one another.
FEW = 3


@dataclass(frozen=True, eq=False)
class Figures:
    """A table to judge: ``values`` (rows, sizes) in mm, sizes in order.

    ``kinds`` say which rows grow alike (blank where nothing is known); ``beside`` are the same rows and sizes of other
    families, nan where a family lacks a size; figures that are not ``known`` (rows, sizes) say nothing.
    """

    values: Floats
    kinds: Sequence[str] = ()
    beside: Sequence[Floats] = ()
    known: Mask = field(default_factory=lambda: np.ones((0, 0), dtype=bool))

    def __post_init__(self) -> None:
        if self.known.shape != self.values.shape:
            object.__setattr__(self, "known", np.ones(self.values.shape, dtype=bool))

    @property
    def middle(self) -> Floats:
        """The median of each row's known figures (rows,), mm."""
        middle: Floats = np.median(self.values, axis=1)
        for row in np.flatnonzero(~self.known.all(axis=1) & self.known.any(axis=1)):
            middle[row] = np.median(self.values[row, self.known[row]])
        return middle

    @property
    def level(self) -> Floats:
        """How large the figures of each row are (rows,), 1 mm at least."""
        return np.maximum(np.abs(self.middle), 1)

    def stretch(self, columns: slice) -> Figures:
        """These columns only."""
        beside = [family[:, columns] for family in self.beside]
        return Figures(self.values[:, columns], self.kinds, beside, self.known[:, columns])

    def without(self, row: int, columns: Sequence[int]) -> Figures:
        """With figures of a row taken as unknown."""
        known = self.known.copy()
        known[row, list(columns)] = False
        return replace(self, known=known)

    def exchanged(self, row: int, first: int) -> Figures:
        """With a row's figure and the next one exchanged."""
        values = self.values.copy()
        values[row, [first, first + 1]] = values[row, [first + 1, first]]
        return replace(self, values=values)


def roundings(values: Floats, known: Mask) -> tuple[Floats, Floats]:
    """The step each row is rounded to (rows,), and to which it would be without each of its figures (rows, sizes).

    >>> whole, without = roundings(np.array([[180.0, 185, 192, 195]]), np.ones((1, 4), bool))
    >>> whole.tolist(), without.tolist()
    ([1.0], [[1.0, 1.0, 5.0, 1.0]])
    """
    times = values[..., None] / ROUNDINGS
    odd = (np.abs(times - np.round(times)) * ROUNDINGS > NEAR) & known[..., None]
    count = odd.sum(axis=1)
    whole = ROUNDINGS[np.where((count == 0).any(axis=1), (count == 0).argmax(axis=1), -1)]
    left = count[:, None, :] - odd == 0
    without = ROUNDINGS[np.where(left.any(axis=2), left.argmax(axis=2), -1)]
    return whole, np.where(known, without, whole[:, None])


def _weighted_median(values: Floats, weights: Floats) -> Floats:
    """Along the first axis; where half the weight lies on each side of a gap, its middle."""
    order = np.argsort(values, axis=0)
    values, weights = np.take_along_axis(values, order, 0), np.take_along_axis(weights, order, 0)
    share = np.cumsum(weights, axis=0)
    half = share[-1:] / 2
    low = np.take_along_axis(values, (share >= half - 1e-12).argmax(axis=0)[None], 0)[0]
    high = np.take_along_axis(values, (share > half + 1e-12).argmax(axis=0)[None], 0)[0]
    middle: Floats = (low + high) / 2
    return middle


def steepness(values: Floats) -> Floats:
    """The step of each row (rows,): the median slope of all pairs of figures (Theil 1950, Sen 1968), of a few if many.

    >>> steepness(np.array([[180.0, 192, 240, 216]])).tolist()
    [12.0]
    """
    values = values[:, :: max(values.shape[1] // 50, 1)]
    if values.shape[1] < 2:
        return np.zeros(len(values))
    one, other = np.triu_indices(values.shape[1], 1)
    return np.median((values[:, other] - values[:, one]) / (other - one), axis=1)


def _step(row: Floats, known: Mask) -> float:
    """The median slope of all pairs of a row's known figures."""
    columns = np.flatnonzero(known)
    one, other = np.triu_indices(len(columns), 1)
    if not len(one):
        return 0.0
    return float(np.median((row[columns[other]] - row[columns[one]]) / (columns[other] - columns[one])))


def _shared_ladder(values: Floats, known: Mask, rounding: Floats) -> tuple[Floats, Floats, Floats]:
    """Where the sizes stand along the run as rows share it: for each row left out, (rows, sizes); and by each row.

    Returns the places as the other rows have them, the places as each row by itself has them, and each row's step
    (rows,), of the sign with which it runs. Places count in mean steps. Where no other row grows, they are nan.
    """
    rows, sizes = values.shape
    one, other = np.triu_indices(sizes, 1)
    steps = np.median((values[:, other] - values[:, one]) / (other - one), axis=1) if sizes > 1 else np.zeros(rows)
    for row in np.flatnonzero(~known.all(axis=1)):
        steps[row] = _step(values[row], known[row])
    middle = np.median(np.where(known, values, np.median(values, axis=1, keepdims=True)), axis=1)
    places = np.arange(sizes) - (sizes - 1) / 2
    growing = np.abs(steps) > 1e-6

    def by_each_row() -> tuple[Floats, Floats]:
        """The places as each row by itself has them, and what its word weighs."""
        safe = np.where(growing, steps, 1)
        weights = np.where(known & growing[:, None], (np.abs(safe) / rounding)[:, None], 0)
        return (values - middle[:, None]) / safe[:, None], weights

    for _ in range(4):
        own, weights = by_each_row()
        if not growing.any():
            break
        places = _weighted_median(own, weights)
        error = 0.5 * rounding[:, None]
        weight = known.astype(float)
        for _ in range(4):
            total = np.maximum(weight.sum(axis=1, keepdims=True), 1e-9)
            at, of = (weight * places).sum(1, keepdims=True) / total, (weight * values).sum(1, keepdims=True) / total
            spread = (weight * (places - at) ** 2).sum(1, keepdims=True)
            slope = (weight * (places - at) * (values - of)).sum(1, keepdims=True) / np.maximum(spread, 1e-9)
            off = values - of - slope * (places - at)
            scale = np.maximum(np.median(np.abs(off), axis=1, keepdims=True), error)
            weight = known / (1 + (off / scale / 2) ** 2)
        steps, middle = np.where(growing, slope[:, 0], 0), (of - slope * at)[:, 0]
        growing &= np.abs(steps) > 1e-6
    own, weights = by_each_row()
    others = np.repeat(weights[:, None, :], rows, axis=1)
    others[np.arange(rows), np.arange(rows)] = 0
    left_out = np.full((rows, sizes), np.nan)
    told = others.sum(axis=0) > 0
    if told.any():
        median = _weighted_median(np.repeat(own[:, None, :], rows, axis=1), others)
        left_out = np.where(told.all(axis=1, keepdims=True), median, np.nan)
    own = np.where((known & growing[:, None]).all(axis=1, keepdims=True), own, np.nan)
    return left_out, own, steps


def _growth(figures: Figures, grown: Floats) -> tuple[Floats, Floats]:
    """What each row is thought to grow by from size to size, a share of it, and how far that may be off, a share of it.

    Rows of one kind, as girths, grow alike; those of others a little less so.
    """
    rows = len(grown)
    usual, spread = np.full(rows, USUAL_GROWTH), np.full(rows, UNLIKE)
    tells = (figures.known.sum(axis=1) > 1) & (grown < IMPLAUSIBLE)
    kinds = np.array(figures.kinds if len(figures.kinds) else [""] * rows)
    for row in range(rows):
        others = tells & (np.arange(rows) != row)
        alike = others & (kinds == kinds[row]) & (kinds[row] != "")
        if alike.sum() > 1:
            usual[row], spread[row] = np.median(grown[alike]), ALIKE_IN_KIND
        elif others.any():
            usual[row] = 0.85 * np.median(grown[others])
    return np.clip(usual, *GROWTH), spread


def witnesses(figures: Figures, rounding: Floats) -> tuple[Floats, Floats, Floats]:
    """Every witness of every row: bases (rows, witnesses, sizes, 4) scaled to unit spread, means, and weights."""
    values, known, beside = figures.values, figures.known, figures.beside
    rows, sizes = values.shape
    index = np.arange(sizes) - (sizes - 1) / 2
    left_out, own, steps = _shared_ladder(values, known, rounding)
    level = figures.level
    grown = np.abs(steps) / level
    usual, spread = _growth(figures, grown)
    fallen = (np.sign(steps)[:, None] < 0) & (np.eye(rows) == 0) & (grown < IMPLAUSIBLE)[:, None]
    sign = np.where(fallen.sum(axis=0) > (rows - 1) / 2, -1.0, 1.0)
    step = sign * usual * level
    unsure = np.median(rounding / level) / max(sizes - 1, 1)  # by the rounding of the others
    loose = np.maximum(np.hypot(spread * usual, unsure) * level, np.minimum(rounding, np.median(rounding)))
    size_of_step = np.maximum(np.abs(steps), 0.5 * np.abs(step))
    curve = (index**2 - np.mean(index**2)) / 2
    line, fixed = np.repeat(index[None], rows, axis=0), np.zeros(rows)
    of_all: list[tuple[Floats, Floats, Floats]] = []

    def add(
        along: Floats, weight: float, *more: tuple[Floats, float], step: Floats = step, loose: Floats = loose
    ) -> None:
        """A witness by which a row goes ``along``, and in ``more`` shapes, each with its spread in steps of the row."""
        usable = np.logical_and.reduce(np.isfinite(along), axis=1)
        along = np.where(usable[:, None], along, 0)
        bases = [np.repeat((3 * level)[:, None], sizes, axis=1), along * loose[:, None]]
        bases += [size_of_step[:, None] * sd * shape for shape, sd in more]
        bases += [np.zeros((rows, sizes))] * (4 - len(bases))
        of_all.append((np.stack(bases, axis=-1), along * step[:, None], np.where(usable, weight, 0)))

    def bend(knot: int) -> Floats:
        rise = np.maximum(np.arange(sizes) - knot, 0.0)
        return np.asarray(rise - rise.mean(), dtype=float)

    add(line, WEIGHTS["line"])
    add(left_out, WEIGHTS["ladder"])
    # steps that are a whole number of the row's rounding, as people choose them: nothing is left to fit but the start
    chosen = np.round(steps / rounding) * rounding
    add(line, WEIGHTS["chosen step"] * (sizes > FEW), step=chosen, loose=fixed)
    if sizes >= 5:
        add(line, WEIGHTS["curve"], (curve, CURVED))
        add(left_out, WEIGHTS["ladder and curve"], (curve, CURVED / 2))
    knots = range(2, sizes - 2)
    for knot in knots:
        add(line, WEIGHTS["bend"] / len(knots), (bend(knot), BENT))
    jumps = range(2, sizes - 1)
    for knot in jumps:
        jump = np.where(np.arange(sizes) >= knot, 0.5, -0.5)
        add(line, WEIGHTS["jump"] / len(jumps), (jump, JUMPED))
        if 3 <= knot <= sizes - 3:
            add(line, WEIGHTS["two lines"] / len(jumps), (jump, 2 * JUMPED), (bend(knot), BENT))
    for other in range(rows):
        along = np.repeat(own[other][None], rows, axis=0)
        along[other] = np.nan
        add(along, WEIGHTS["another row"] / max(rows - 1, 1))
    for family in beside:
        share = np.where(np.abs(steps) > 1e-6, steps, np.nan)[:, None]
        centred = family - np.nanmedian(family, axis=1, keepdims=True)
        add(centred / share, WEIGHTS["another family"] / len(beside))
        # as far from the other family in every size: nothing is left to fit but how far
        add(centred, WEIGHTS["family alongside"] / len(beside), step=np.ones(rows), loose=fixed)
    basis, mean, weights = (np.stack(each, 1) for each in zip(*of_all, strict=True))
    return basis, mean, weights
