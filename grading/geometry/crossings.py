"""Where a loop of Bézier segments crosses a height, and so how wide it is there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats

__all__ = ["extent_at_height"]

#: A parameter is found where the next step is shorter than this; never so many steps are taken.
_NEAR, _MOST_STEPS = 1e-11, 60
#: A height within this of a segment's end counts as crossing there: far below a printed line, far above rounding.
TOUCH = 1e-9


def extent_at_height(beziers: Floats, heights: Floats) -> Floats:
    """The outermost crossings (..., sizes, 2), least and greatest x, of a loop with the horizontal at ``heights``.

    ``beziers`` (sizes, segments, 4, 2) are one loop in every size, ``heights`` (..., sizes) the y's for each size.
    A size whose loop does not reach its height gives NaN.
    """
    *at, segment = np.nonzero(_spans(beziers[..., 1], heights))
    curve = beziers[at[-1], segment]
    cubic, root = _cubic_roots(curve[..., 1] - heights[*at][:, None])
    x = _cubic(curve[cubic, :, 0], root)
    extent = np.empty((*heights.shape, 2))
    extent[..., 0], extent[..., 1] = np.inf, -np.inf
    crossed = tuple(index[cubic] for index in at)
    np.minimum.at(extent[..., 0], crossed, x)
    np.maximum.at(extent[..., 1], crossed, x)
    extent[~np.isfinite(extent)] = np.nan
    return extent


def _spans(y: Floats, heights: Floats) -> NDArray[np.bool_]:
    """Which segments' handles (sizes, segments, 4) reach both sides of the height: a curve stays within its handles."""
    below, above = (y <= (heights + TOUCH)[..., None, None], y >= (heights - TOUCH)[..., None, None])
    return _any_handle(below) & _any_handle(above)


def _any_handle(true: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether any of the four handles is: a plain 'or', which over an axis so short is much the faster."""
    return true[..., 0] | true[..., 1] | true[..., 2] | true[..., 3]


def _cubic_roots(y: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Where in 0…1 cubics with Bézier ordinates ``y`` (n, 4) vanish: numbers (m,) of the cubics, and parameters (m,).

    Each cubic is cut at its own turning points into stretches that only rise or only fall, and a stretch that
    changes sign is searched: slower than a closed formula, and never wrong near a double root. A cut where the
    cubic vanishes, as at a joint of two segments, is a root as it stands.
    """
    a, b, c = (y[:, 3] - 3 * y[:, 2] + 3 * y[:, 1] - y[:, 0], y[:, 2] - 2 * y[:, 1] + y[:, 0], y[:, 1] - y[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        q = -(b + np.copysign(np.sqrt(b * b - a * c), b))
        turning = np.sort(np.nan_to_num(np.stack([q / a, c / q], axis=1), nan=0, posinf=0, neginf=0), axis=1)
    zero = np.zeros((len(y), 1))
    cuts = np.hstack([zero, turning.clip(0, 1), zero + 1])
    at_cuts = _cubic(y[:, None], cuts)
    touches = np.abs(at_cuts) <= TOUCH
    crosses = (at_cuts[:, :-1] * at_cuts[:, 1:] < 0) & ~touches[:, :-1] & ~touches[:, 1:]
    row, stretch = np.nonzero(crosses)
    inside = _crossing(y[row], cuts[row, stretch], cuts[row, stretch + 1])
    touching, cut = np.nonzero(touches)
    return np.concatenate([row, touching]), np.concatenate([inside, cuts[touching, cut]])


def _crossing(y: Floats, low: Floats, high: Floats) -> Floats:
    """The one parameter (n,) between ``low`` and ``high`` (n,) at which each cubic (n, 4) changes sign.

    Newton's steps, and a halving wherever one would leave the stretch in which the sign is known to change. A cubic
    that is settled is left as it is, so that its root does not depend on which others are looked for beside it.
    """
    rises = _cubic(y, low) < 0
    slopes = 3 * np.diff(y, axis=1)
    t, settled = (low + high) / 2, np.zeros(len(y), dtype=bool)
    for _ in range(_MOST_STEPS):
        value, u = _cubic(y, t), 1 - t
        below = (value < 0) == rises
        low, high = np.where(below, t, low), np.where(below, high, t)
        slope = slopes[:, 0] * u * u + 2 * slopes[:, 1] * u * t + slopes[:, 2] * t * t
        step = np.divide(value, slope, out=np.full(len(y), np.inf), where=slope != 0)
        settled |= (np.abs(step) < _NEAR) | (high - low < _NEAR) | (value == 0)
        if settled.all():
            break
        nearer = t - step
        inside = (low < nearer) & (nearer < high)
        t = np.where(settled, t, np.where(inside, nearer, (low + high) / 2))
    return t


def _cubic(y: Floats, t: Floats) -> Floats:
    """The values at ``t`` of cubics with Bézier ordinates ``y`` (..., 4)."""
    u = 1 - t
    y0, y1, y2, y3 = (y[..., i] for i in range(4))
    return u * u * (u * y0 + 3 * t * y1) + t * t * (3 * u * y2 + t * y3)
