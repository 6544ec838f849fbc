"""Where a loop of Bézier segments crosses a height, and so how wide it is there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats

__all__ = ["extent_at_height"]

#: A height within this of a segment's end counts as crossing there: far below a printed line, far above rounding.
TOUCH = 1e-9


def extent_at_height(beziers: Floats, heights: Floats) -> Floats:
    """The outermost crossings (..., sizes, 2), least and greatest x, of a loop with the horizontal at ``heights``.

    ``beziers`` (sizes, segments, 4, 2) are one loop in every size, ``heights`` (..., sizes) the y's for each size.
    A size whose loop does not reach its height gives NaN.
    """
    *at, segment = np.nonzero(_spans(beziers[..., 1], heights))
    curve = beziers[at[-1], segment]
    found, root = _cubic_roots(curve[..., 1] - heights[*at][:, None])
    x = _cubic(curve[found, :, 0], root)
    extent = np.empty((*heights.shape, 2))
    extent[..., 0], extent[..., 1] = np.inf, -np.inf
    crossed = tuple(index[found] for index in at)
    np.minimum.at(extent[..., 0], crossed, x)
    np.maximum.at(extent[..., 1], crossed, x)
    extent[~np.isfinite(extent)] = np.nan
    return extent


def _spans(y: Floats, heights: Floats) -> NDArray[np.bool_]:
    """Which segments' handles (sizes, segments, 4) reach both sides of the height: a curve stays within its handles."""
    below, above = (y <= (heights + TOUCH)[..., None, None], y >= (heights - TOUCH)[..., None, None])
    reached: NDArray[np.bool_] = _any_handle(below) & _any_handle(above)
    return reached


def _any_handle(true: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether any of the four handles is: a plain 'or', which over an axis so short is much the faster."""
    any_handle: NDArray[np.bool_] = true[..., 0] | true[..., 1] | true[..., 2] | true[..., 3]
    return any_handle


def _cubic_roots(y: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Where in 0…1 cubics with Bézier ordinates ``y`` (n, 4) vanish: numbers (m,) of the cubics, and parameters (m,).

    Each cubic is cut at its own turning points into stretches that only rise or only fall, and a stretch that
    changes sign is bisected: slower than a closed formula, and never wrong near a double root. A cut where the
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
    inside = _bisected(y[row], cuts[row, stretch], cuts[row, stretch + 1])
    touching, cut = np.nonzero(touches)
    return np.concatenate([row, touching]), np.concatenate([inside, cuts[touching, cut]])


def _bisected(y: Floats, low: Floats, high: Floats) -> Floats:
    """The one parameter (n,) between ``low`` and ``high`` (n,) at which each cubic (n, 4) changes sign.

    Halved so often, a stretch is shorter than 1e-8, and a cubic as good as straight there: its chord finds the rest.
    """
    rises = _cubic(y, low) < 0
    for _ in range(27):
        middle = (low + high) / 2
        right = (_cubic(y, middle) < 0) == rises
        low, high = np.where(right, middle, low), np.where(right, high, middle)
    at_low, at_high = _cubic(y, low), _cubic(y, high)
    rise = at_high - at_low
    part = np.divide(-at_low, rise, out=np.full(len(y), 0.5), where=rise != 0)
    root: Floats = low + part.clip(0, 1) * (high - low)
    return root


def _cubic(y: Floats, t: Floats) -> Floats:
    """The values at ``t`` of cubics with Bézier ordinates ``y`` (..., 4)."""
    u = 1 - t
    y0, y1, y2, y3 = (y[..., i] for i in range(4))
    return u * u * (u * y0 + 3 * t * y1) + t * t * (3 * u * y2 + t * y3)
